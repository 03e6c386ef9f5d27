package cli

import (
	"context"
	"fmt"
	"strings"

	intakev1 "tackfree/proto/tackfree/intake/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type payCmd struct {
	Record   recordPaymentCmd `cmd:"" help:"Note what a buyer paid of the last sale of a piece, or with --sale of an earlier one."`
	Void     voidPaymentCmd   `cmd:"" help:"Note that a payment was none: it bounced, or was a mistake."`
	Show     showPaymentsCmd  `cmd:"" help:"Show what was paid of a sale, and what is due."`
	Due      listDueCmd       `cmd:"" help:"List who owes what since when, the oldest first."`
	CashStep cashStepCmd      `cmd:"" help:"Show the smallest step in which the shop takes cash; with a step, state it."`
}

// ofSale names a sale by its piece.
type ofSale struct {
	Piece string `arg:"" help:"Tag number."`
	Sale  string `help:"An earlier sale of the piece, by its id as sale show lists it; without it, the last." placeholder:"ID"`
}

func (o ofSale) find(e *env, shop *client.Shop) (*intakev1.Piece, *salesv1.Sale, error) {
	p, err := shop.Piece(e.ctx, o.Piece)
	if err != nil {
		return nil, nil, err
	}
	sale, err := (&refundCmd{Sale: o.Sale}).find(e, shop, p)
	return p, sale, err
}

type recordPaymentCmd struct {
	timed
	ofSale
	Amount string `arg:"" optional:"" help:"How much was paid; without it, all that is due, in cash rounded to the cash step."`
	Method string `help:"How: cash, card, transfer, check or other." placeholder:"METHOD"`
	Note   string `help:"Anything to remember with it."`
}

func (c *recordPaymentCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		p, sale, err := c.find(e, shop)
		if err != nil {
			return err
		}
		r := &salesv1.RecordPaymentRequest{RequestId: c.request(), Sale: sale.Name, Note: c.Note}
		if r.Method, err = readMethod(c.Method); err != nil {
			return err
		}
		terms, err := shop.Terms(e.ctx)
		if err != nil {
			return err
		}
		if r.Amount, err = terms.Amount(c.Amount); err != nil {
			return err
		}
		if r.PaymentTime, err = c.at(e.ctx, shop); err != nil {
			return err
		}
		if c.Sale == "" {
			c.fixed.flags = append(c.fixed.flags, "--sale", bare(sale.Name))
		}
		resp, err := shop.Payments.RecordPayment(e.ctx, r)
		if err != nil {
			return err
		}
		err = c.print(e, resp, func() error { return printPayments(e, shop, p.Tag, resp.Sale) })
		noteClosed(e, shop, r.PaymentTime)
		return err
	})
}

// readMethod reads how something was paid; nothing is nothing.
func readMethod(word string) (salesv1.PaymentMethod, error) {
	if word == "" {
		return 0, nil
	}
	m, err := readEnum[salesv1.PaymentMethod]("PAYMENT_METHOD_", word, salesv1.PaymentMethod_value)
	if err != nil {
		return 0, fmt.Errorf("--method: %w", err)
	}
	return m, nil
}

type voidPaymentCmd struct {
	timed
	ofSale
	Payment string `help:"Which payment, by its id as pay show lists it." required:"" placeholder:"ID"`
	Reason  string `help:"Why." required:""`
}

func (c *voidPaymentCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		p, sale, err := c.find(e, shop)
		if err != nil {
			return err
		}
		r := &salesv1.VoidPaymentRequest{RequestId: c.request(), Sale: sale.Name, Payment: "payments/" + bare(c.Payment), Reason: c.Reason}
		if r.VoidTime, err = c.at(e.ctx, shop); err != nil {
			return err
		}
		resp, err := shop.Payments.VoidPayment(e.ctx, r)
		if err != nil {
			return err
		}
		err = c.print(e, resp, func() error { return printPayments(e, shop, p.Tag, resp.Sale) })
		noteClosed(e, shop, r.VoidTime)
		return err
	})
}

type showPaymentsCmd struct {
	listOutput
	ofSale
}

func (c *showPaymentsCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		p, sale, err := c.find(e, shop)
		if err != nil {
			return err
		}
		return c.print(e, sale, func() error { return printPayments(e, shop, p.Tag, sale) })
	})
}

func printPayments(e *env, shop *client.Shop, tag int32, s *salesv1.Sale) error {
	terms, err := shop.Terms(e.ctx)
	if err != nil {
		return err
	}
	fmt.Fprintf(e.out, "Piece %d was sold for %s and a tax of %s; %s is paid and %s is due.\n\n", tag, report.Money(s.Price), report.Money(s.Tax), report.Money(s.Paid), report.Money(s.Due))
	t := &report.Table{Headings: []string{"payment", "when", " amount", "method", " rounding", "remark"}}
	for _, p := range s.Payments {
		remark := p.Note
		if p.VoidTime != nil {
			remark = "none since " + terms.Clock(p.VoidTime) + ": " + p.VoidReason
		}
		rounding := "–"
		if p.Rounding != nil {
			rounding = report.Money(p.Rounding)
		}
		t.Add(bare(p.Name), terms.Clock(p.PaymentTime), report.Money(p.Amount), orDash(methodWord(p.Method)), rounding, orDash(remark))
	}
	return t.Print(e.out)
}

func methodWord(m salesv1.PaymentMethod) string {
	if m == 0 {
		return ""
	}
	return strings.ToLower(strings.TrimPrefix(m.String(), "PAYMENT_METHOD_"))
}

type listDueCmd struct {
	listOutput
}

func (c *listDueCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		all, err := client.All(e.ctx, func(ctx context.Context, token string) ([]*salesv1.ListDueResponse_Due, string, error) {
			r, err := shop.Payments.ListDue(ctx, &salesv1.ListDueRequest{PageSize: 1000, PageToken: token})
			return r.GetDue(), r.GetNextPageToken(), err
		})
		if err != nil {
			return err
		}
		return c.print(e, &salesv1.ListDueResponse{Due: all}, func() error { return printDue(e, shop, all) })
	})
}

func printDue(e *env, shop *client.Shop, all []*salesv1.ListDueResponse_Due) error {
	if len(all) == 0 {
		_, err := fmt.Fprintln(e.out, "Nobody owes anything.")
		return err
	}
	terms, err := shop.Terms(e.ctx)
	if err != nil {
		return err
	}
	t := &report.Table{Headings: []string{" tag", "buyer", "since", " paid", " due"}}
	for _, d := range all {
		t.Add(fmt.Sprint(d.Tag), orDash(d.Sale.GetBuyer()), terms.Clock(d.Sale.GetSaleTime()), report.Money(d.Sale.GetPaid()), report.Money(d.Sale.GetDue()))
	}
	return t.Print(e.out)
}

type cashStepCmd struct {
	command
	Step string `arg:"" optional:"" help:"The smallest step, such as 0.05; 0: cash is not rounded."`
}

func (c *cashStepCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		if c.Step == "" {
			resp, err := shop.Payments.GetCashStep(e.ctx, &salesv1.GetCashStepRequest{})
			if err != nil {
				return err
			}
			return c.print(e, resp, func() error { return printCashStep(e, resp.CashStep) })
		}
		terms, err := shop.Terms(e.ctx)
		if err != nil {
			return err
		}
		r := &salesv1.SetCashStepRequest{RequestId: c.request()}
		if r.Step, err = terms.Amount(c.Step); err != nil {
			return err
		}
		resp, err := shop.Payments.SetCashStep(e.ctx, r)
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printCashStep(e, resp.CashStep) })
	})
}

func printCashStep(e *env, c *salesv1.CashStep) error {
	if c.Step == nil {
		_, err := fmt.Fprintln(e.out, "Cash is not rounded.")
		return err
	}
	_, err := fmt.Fprintf(e.out, "Cash that settles a sale is rounded to the nearest %s, a half up.\n", report.Money(c.Step))
	return err
}
