// Package commissioned says what stands on the letters that a client's commission brings about: estimate, change order,
// invoice; and on the receipt of what was sold. Plumbing.
//
//	commission, client, letterhead ─▶ Order ─┬▶ Estimate ────┐
//	                                         ├▶ ChangeOrder ─┼▶ printed.Document ─▶ printed.Write
//	                                         └▶ Invoice ─────┘
//
// Nothing here reckons: each figure is one that intake or sales gave, but for sums of those, which are exact. What a letter
// says beside what people typed is in the catalogue here, in each language; pages and the command line print the same letters.
// The same values give the same bytes: a letter is dated by what it is about, and an invoice by the day that it is given.
package commissioned

import (
	"path"
	"strings"
	"time"

	moneyv1 "google.golang.org/genproto/googleapis/type/money"

	"tackfree/pkg/fault"
	"tackfree/pkg/money"
	"tackfree/pkg/printed"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
)

// Order is what letters are made of.
type Order struct {
	Commission *intakev1.CommissionOrder
	Client     *intakev1.Client
	Letterhead *intakev1.Letterhead
	Sale       *salesv1.Sale  // of its piece to the client, which is the invoice; nil: it was not sold yet
	Paid       *moneyv1.Money // so far, where there is no sale that says it; nil: nothing
	Currency   money.Currency
	Zone       *time.Location
	Language   string    // one of Languages
	Paper      string    // a4 or letter; empty: as the letterhead says
	Hours      bool      // the hours of work are shown, and between what they make the price
	Now        time.Time // of an invoice of what was not sold yet: its date
}

// check refuses what no letter is made of. Faults: LETTERHEAD_MISSING, LANGUAGE_UNKNOWN.
func (o Order) check() error {
	switch {
	case o.Letterhead.GetShopName() == "":
		return fault.New(fault.Precondition, "LETTERHEAD_MISSING", "Nobody said yet what stands at the head of the shop's letters; say it once, on the page of the letterhead or with: shop letterhead --name \"Reedmere Refinishing\" --paper a4.")
	case texts[o.Language] == nil:
		return fault.New(fault.Invalid, "LANGUAGE_UNKNOWN", "Letters are written in %s.", strings.Join(Languages, " or ")).At("lang")
	}
	return nil
}

// paper is what it is printed on. Fault: PAPER_UNKNOWN.
func (o Order) paper() (printed.Paper, error) {
	switch {
	case o.Paper != "":
		return printed.PaperNamed(strings.ToLower(o.Paper))
	case o.Letterhead.Paper == intakev1.Letterhead_PAPER_LETTER:
		return printed.Letter, nil
	}
	return printed.A4, nil
}

// letter is what all letters of an order have, under a title. Faults: LETTERHEAD_MISSING, LANGUAGE_UNKNOWN, PAPER_UNKNOWN.
func (o Order) letter(title string, at time.Time) (d printed.Document, err error) {
	on, err := o.paper()
	if err != nil {
		return d, err
	}
	shop := o.Letterhead.ShopName
	return printed.Document{Info: printed.Info{Title: title + " · " + shop, Author: shop, Language: o.Language, Created: at.UTC()}, Paper: on, Title: title,
		Head: printed.Letterhead{Name: shop, Lines: o.headLines()}, To: o.to(), Footer: shop + " · " + title,
		PageOf: func(page, pages int) string { return o.t("page", page, pages) }}, nil
}

func (o Order) headLines() []string {
	h := o.Letterhead
	lines := append([]string{}, h.Address...)
	if reached := strings.Join(filled(h.Phone, h.Email, h.Web), " · "); reached != "" {
		lines = append(lines, reached)
	}
	return append(lines, filled(h.TaxNumber)...)
}

func (o Order) to() []string {
	d := o.Client.GetDetails()
	if d.GetDisplayName() == "" {
		return filled(o.Commission.ClientName)
	}
	return append([]string{d.DisplayName}, d.Address...)
}

// filled are those texts that say something.
func filled(all ...string) (out []string) {
	for _, s := range all {
		if s != "" {
			out = append(out, s)
		}
	}
	return out
}

// piece is the fact of which piece it is; none before it was brought.
func (o Order) piece() []printed.Fact {
	if o.Commission.PieceTag == 0 {
		return nil
	}
	return []printed.Fact{{Name: o.t("piece"), Text: o.t("tag", o.Commission.PieceTag)}}
}

// saleNumber is by what a sale is found again: the end of its id.
func saleNumber(s *salesv1.Sale) string {
	id := strings.ReplaceAll(path.Base(s.GetName()), "-", "")
	return strings.ToUpper(id[max(0, len(id)-8):])
}
