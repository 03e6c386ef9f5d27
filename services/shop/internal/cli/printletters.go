package cli

import (
	"bytes"
	"fmt"
	"path"
	"time"

	moneyv1 "google.golang.org/genproto/googleapis/type/money"

	"tackfree/pkg/fault"
	"tackfree/pkg/printed"
	"tackfree/pkg/printed/commissioned"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	"tackfree/services/shop/internal/client"
)

// letterFlags are where a letter goes, and how it is written.
type letterFlags struct {
	Commission string `arg:"" help:"The number of the commission."`
	Out        string `help:"The PDF to write." type:"path" placeholder:"FILE" required:""`
	Force      bool   `help:"Write over the file if it is there."`
	Paper      string `help:"a4 or letter; without it, as the letterhead says." placeholder:"PAPER"`
	Lang       string `help:"The language of the letter: en or es." default:"en" placeholder:"LANGUAGE"`
	Hours      bool   `help:"Show the hours of work, and between what they make the price."`
}

type printEstimateCmd struct {
	letterFlags
	Version int32 `help:"Which version; without it, the newest." placeholder:"NUMBER"`
}

func (c *printEstimateCmd) Run(e *env) error {
	return c.print(e, func(o commissioned.Order) (printed.Document, error) { return commissioned.Estimate(o, c.Version) }, nil)
}

type printChangeOrderCmd struct {
	letterFlags
	Order int32 `arg:"" help:"The number of the change order."`
}

func (c *printChangeOrderCmd) Run(e *env) error {
	return c.print(e, func(o commissioned.Order) (printed.Document, error) { return commissioned.ChangeOrder(o, c.Order) }, nil)
}

type printInvoiceCmd struct {
	letterFlags
	Paid string `help:"What the client paid so far, such as the deposit; of what was sold, sales knows it." placeholder:"AMOUNT"`
}

func (c *printInvoiceCmd) Run(e *env) error {
	return c.print(e, commissioned.Invoice, func(terms client.Terms) (*moneyv1.Money, error) { return terms.Amount(c.Paid) })
}

// print makes the file of a letter; paid, where it is not nil, says what was paid.
func (f *letterFlags) print(e *env, letter func(commissioned.Order) (printed.Document, error), paid func(client.Terms) (*moneyv1.Money, error)) error {
	return e.with(func(shop *client.Shop) error {
		o, err := f.order(e, shop, paid)
		if err != nil {
			return err
		}
		d, err := letter(o)
		if err != nil {
			return err
		}
		var b bytes.Buffer
		if err := printed.Write(&b, d); err != nil {
			return err
		}
		if err := (printing{Out: f.Out, Force: f.Force}).save(b.Bytes()); err != nil {
			return err
		}
		_, err = fmt.Fprintf(e.out, "%s is in %s.\n", d.Title, f.Out)
		return err
	})
}

// order gathers what a letter is made of.
func (f *letterFlags) order(e *env, shop *client.Shop, paid func(client.Terms) (*moneyv1.Money, error)) (o commissioned.Order, err error) {
	is, terms, err := commissionAndTerms(e, shop, f.Commission)
	if err != nil {
		return o, err
	}
	head, err := shop.Intake.GetLetterhead(e.ctx, &intakev1.GetLetterheadRequest{})
	if err != nil {
		return o, err
	}
	whose, err := shop.Clients.GetClient(e.ctx, &intakev1.GetClientRequest{Name: is.Client})
	if err != nil {
		return o, err
	}
	o = commissioned.Order{Commission: is, Client: whose.Client, Letterhead: head.Letterhead, Currency: terms.Currency, Zone: terms.Zone, Language: f.Lang, Paper: f.Paper, Hours: f.Hours, Now: time.Now()}
	if paid == nil {
		return o, nil
	}
	if o.Paid, err = paid(terms); err != nil {
		return o, err
	}
	o.Sale, err = invoicedBy(e, shop, is)
	return o, err
}

// invoicedBy is the sale of a commission's piece that is its invoice; nil: it was not sold, or another commission of the
// piece was.
func invoicedBy(e *env, shop *client.Shop, c *intakev1.CommissionOrder) (*salesv1.Sale, error) {
	if c.Piece == "" {
		return nil, nil
	}
	r, err := shop.Sales.GetListing(e.ctx, &salesv1.GetListingRequest{Name: "listings/" + path.Base(c.Piece)})
	if fault.Is(err, "LISTING_NOT_FOUND") {
		return nil, nil
	}
	return commissioned.SaleOf(c, r.GetListing()), err
}
