package commissions

import (
	"net/http"
	"net/url"
	"path"

	intakev1 "tackfree/proto/tackfree/intake/v1"
	"tackfree/services/gateway/internal/typed"
	"tackfree/services/gateway/internal/web"
	"tackfree/services/gateway/internal/words"
)

// draft is a form of lines: of a first estimate, of its next version, of a change order.
type draft struct {
	Kind   string // new, revise or change
	Path   string // where it is sent
	Client *intakev1.Client
	Order  *intakev1.CommissionOrder // absent of the first
	Values url.Values
	Lines  []lineRow
	Etag   string
	Usual  *intakev1.CommissionTerms
	Wanted wanted
	Says   []string // what a suggestion rests on, and what whoever does the work must know
}

// V is what a field has.
func (d draft) V(field string) string { return d.Values.Get(field) }

// Sorts are what a line may be of.
func (draft) Sorts() []string { return sorts }

// draftOf reads the form. Faults: those of linesOf.
func draftOf(f *typed.Form) (*intakev1.EstimateDraft, error) {
	d := &intakev1.EstimateDraft{TaxPercent: percent(f, f.Text("tax")), ValidUntil: f.Day("valid"), Promised: f.Day("promised"), Notes: f.Text("notes")}
	d.Discount, d.DiscountPercent = amountOrPercent(f, "discount")
	d.Deposit, d.DepositPercent = amountOrPercent(f, "deposit")
	if err := f.Err(); err != nil {
		return nil, err
	}
	var err error
	d.Lines, err = linesOf(f)
	return d, err
}

// draftValues writes an estimate as the form takes it. How long it is valid the terms say anew.
func draftValues(v *words.Voice, e *intakev1.Estimate) url.Values {
	d := e.GetDraft()
	q := url.Values{"tax": {d.GetTaxPercent()}, "promised": {typed.Day(d.GetPromised())}, "notes": {d.GetNotes()},
		"discount": {eitherOf(typed.Money(d.GetDiscount(), v.Currency), d.GetDiscountPercent())}, "deposit": {eitherOf(typed.Money(d.GetDeposit(), v.Currency), d.GetDepositPercent())}}
	return q
}

func eitherOf(amount, percent string) string {
	if percent != "" {
		return percent + " %"
	}
	return amount
}

// lay reads what the form shows beside what is typed.
func (d *draft) lay(a *web.Asked, rows []lineRow, blanks int) error {
	r, err := a.Kit.Suite.Commissions.GetCommissionTerms(a.Context(), &intakev1.GetCommissionTermsRequest{})
	if err != nil {
		return err
	}
	d.Usual, d.Lines, d.Wanted = r.Terms, withBlanks(rows, blanks), wantedOf(a.Voice, d.Values)
	return nil
}

// step does what a form asks for beside keeping it: more lines, or lines that are suggested; false: it is to be kept.
func (d *draft) step(w http.ResponseWriter, a *web.Asked, title string) (bool, error) {
	rows, blanks, then := rowsIn(a.PostForm), blankLines, a.Typed("then")
	var refused error
	switch then {
	case "more":
		blanks = moreLines
	case "suggest":
		var more []lineRow
		if more, d.Says, refused = d.suggested(a); refused != nil && !web.Refusal(refused) {
			return true, refused
		}
		rows = append(more, rows...)
	default:
		return false, nil
	}
	if err := d.lay(a, rows, blanks); err != nil {
		return true, err
	}
	return true, show(w, a, title, page{Tab: "commissions", Draft: d}, refused)
}

// again shows the form with what was typed, and why it was refused.
func (d *draft) again(w http.ResponseWriter, a *web.Asked, title string, refused error) error {
	if !web.Refusal(refused) {
		return refused
	}
	if err := d.lay(a, rowsIn(a.PostForm), blankLines); err != nil {
		return err
	}
	return show(w, a, title, page{Tab: "commissions", Draft: d}, refused)
}

func addressOf(c *intakev1.CommissionOrder) string { return "/commissions/" + path.Base(c.GetName()) }

func clientAddress(name string) string { return "/clients/" + path.Base(name) }
