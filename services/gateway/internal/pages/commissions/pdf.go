package commissions

import (
	"bytes"
	"cmp"
	"fmt"
	"net/http"
	"path"
	"strconv"

	"tackfree/pkg/fault"
	"tackfree/pkg/printed"
	"tackfree/pkg/printed/commissioned"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	"tackfree/services/gateway/internal/web"
)

func estimatePDF(w http.ResponseWriter, a *web.Asked) error {
	version, err := number(a.URL.Query().Get("version"))
	if err != nil {
		return err
	}
	return letter(w, a, "estimate", func(o commissioned.Order) (printed.Document, error) { return commissioned.Estimate(o, version) })
}

func changePDF(w http.ResponseWriter, a *web.Asked) error {
	order, err := number(a.PathValue("order"))
	if err != nil {
		return err
	}
	return letter(w, a, "change-order-"+strconv.Itoa(int(order)), func(o commissioned.Order) (printed.Document, error) { return commissioned.ChangeOrder(o, order) })
}

// invoicePDF takes of what was sold what sales says was paid, and else what is asked for with the file.
func invoicePDF(w http.ResponseWriter, a *web.Asked) error {
	paid, err := paidOf(a, a.URL.Query().Get("paid"))
	if err != nil {
		return err
	}
	return letter(w, a, "invoice", func(o commissioned.Order) (printed.Document, error) {
		if o.Sale, err = invoicedBy(a, o.Commission); err != nil {
			return printed.Document{}, err
		}
		o.Paid = paid
		return commissioned.Invoice(o)
	})
}

// number reads a number of an address; empty: 0.
func number(text string) (int32, error) {
	n, err := strconv.ParseInt(cmp.Or(text, "0"), 10, 32)
	if err != nil {
		return 0, fault.New(fault.NotFound, "LINK_TO_NOTHING", "%q is not a number.", text)
	}
	return int32(n), nil
}

// letter answers with a letter of the commission in the address, in the reader's language or the one that is asked for.
func letter(w http.ResponseWriter, a *web.Asked, what string, write func(commissioned.Order) (printed.Document, error)) error {
	c, err := ordered(a)
	if err != nil {
		return err
	}
	head, err := a.Kit.Suite.Intake.GetLetterhead(a.Context(), &intakev1.GetLetterheadRequest{})
	if err != nil {
		return err
	}
	whose, err := a.Kit.Suite.Clients.GetClient(a.Context(), &intakev1.GetClientRequest{Name: c.Client})
	if err != nil {
		return err
	}
	q := a.URL.Query()
	d, err := write(commissioned.Order{Commission: c, Client: whose.Client, Letterhead: head.Letterhead, Currency: a.Voice.Currency, Zone: a.Voice.Zone,
		Language: cmp.Or(q.Get("lang"), a.Voice.Language), Paper: q.Get("paper"), Hours: q.Get("hours") != "", Now: a.Now()})
	if err != nil {
		return err
	}
	var b bytes.Buffer
	if err := printed.Write(&b, d); err != nil {
		return err
	}
	h := w.Header()
	h.Set("Content-Type", "application/pdf")
	h.Set("Content-Disposition", fmt.Sprintf("attachment; filename=%q", fmt.Sprintf("%s-%d.pdf", what, c.Number)))
	_, _ = w.Write(b.Bytes()) // whoever left does not read it
	return nil
}

// invoicedBy is the sale that is a commission's invoice; nil: there is none.
func invoicedBy(a *web.Asked, c *intakev1.CommissionOrder) (*salesv1.Sale, error) {
	if c.Piece == "" {
		return nil, nil
	}
	r, err := a.Kit.Suite.Sales.GetListing(a.Context(), &salesv1.GetListingRequest{Name: "listings/" + path.Base(c.Piece)})
	if fault.Is(err, "LISTING_NOT_FOUND") {
		return nil, nil
	}
	return commissioned.SaleOf(c, r.GetListing()), err
}
