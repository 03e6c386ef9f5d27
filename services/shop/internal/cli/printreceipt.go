package cli

import (
	"bytes"
	"fmt"

	"tackfree/pkg/printed"
	"tackfree/pkg/printed/commissioned"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	"tackfree/services/shop/internal/client"
)

type printReceiptCmd struct {
	ofSale
	Out   string `help:"The PDF to write." type:"path" placeholder:"FILE" required:""`
	Force bool   `help:"Write over the file if it is there."`
	Paper string `help:"a4 or letter; without it, as the letterhead says." placeholder:"PAPER"`
	Lang  string `help:"The language of the receipt: en or es." default:"en" placeholder:"LANGUAGE"`
}

func (c *printReceiptCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		_, sale, err := c.find(e, shop)
		if err != nil {
			return err
		}
		r, err := shop.Receipts.GetReceipt(e.ctx, &salesv1.GetReceiptRequest{Sale: sale.Name})
		if err != nil {
			return err
		}
		head, err := shop.Intake.GetLetterhead(e.ctx, &intakev1.GetLetterheadRequest{})
		if err != nil {
			return err
		}
		terms, err := shop.Terms(e.ctx)
		if err != nil {
			return err
		}
		d, err := commissioned.Receipt(commissioned.Order{Letterhead: head.Letterhead, Currency: terms.Currency, Zone: terms.Zone, Language: c.Lang, Paper: c.Paper}, r.Receipt)
		if err != nil {
			return err
		}
		var b bytes.Buffer
		if err := printed.Write(&b, d); err != nil {
			return err
		}
		if err := (printing{Out: c.Out, Force: c.Force}).save(b.Bytes()); err != nil {
			return err
		}
		_, err = fmt.Fprintf(e.out, "%s is in %s.\n", d.Title, c.Out)
		return err
	})
}
