package cli

import (
	"fmt"

	datev1 "google.golang.org/genproto/googleapis/type/date"

	intakev1 "tackfree/proto/tackfree/intake/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

// answerFlags are what a client said, and how.
type answerFlags struct {
	timed
	By  string `help:"Who answered: the client, or who spoke for them. Without it: the client." placeholder:"NAME"`
	How string `help:"How it was said." enum:"in-person,by-phone,in-writing" required:"" placeholder:"in-person|by-phone|in-writing"`
}

var answerHows = map[string]intakev1.ClientAnswer_How{"in-person": intakev1.ClientAnswer_HOW_IN_PERSON, "by-phone": intakev1.ClientAnswer_HOW_BY_PHONE, "in-writing": intakev1.ClientAnswer_HOW_IN_WRITING}

func (f *answerFlags) read(e *env, shop *client.Shop, of *intakev1.CommissionOrder, reason string) (*intakev1.ClientAnswer, error) {
	a := &intakev1.ClientAnswer{By: f.By, How: answerHows[f.How], Reason: reason}
	if a.By == "" {
		a.By = of.ClientName
	}
	var err error
	a.Time, err = f.at(e.ctx, shop)
	return a, err
}

type approveEstimateCmd struct {
	answerFlags
	Commission string `arg:"" help:"Its number."`
	Version    int32  `arg:"" help:"The version that the client saw."`
}

func (c *approveEstimateCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		is, err := shop.Commission(e.ctx, c.Commission)
		if err != nil {
			return err
		}
		r := &intakev1.ApproveEstimateRequest{RequestId: c.request(), Commission: is.Name, Version: c.Version}
		if r.Answer, err = c.read(e, shop, is, ""); err != nil {
			return err
		}
		resp, err := shop.Commissions.ApproveEstimate(e.ctx, r)
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error {
			o := resp.Commission
			fmt.Fprintf(e.out, "Version %d of commission %d is approved by %s: %s.\n", c.Version, o.GetNumber(), r.Answer.By, report.Money(o.GetInvoice().GetTotal()))
			return printPromise(e, o, resp.PromiseToMake)
		})
	})
}

// printPromise says which promise somebody has still to make; nothing where there is none.
func printPromise(e *env, o *intakev1.CommissionOrder, day *datev1.Date) error {
	if day == nil {
		return nil
	}
	if o.GetPieceTag() == 0 {
		_, err := fmt.Fprintf(e.out, "It is to be done by %s; the floor does not know yet. Promise it once the piece is brought: shop piece promise TAG --by %s\n", dayWords(day), dayWords(day))
		return err
	}
	_, err := fmt.Fprintf(e.out, "It is to be done by %s; the floor does not know yet. Promise it: shop piece promise %d --by %s\n", dayWords(day), o.PieceTag, dayWords(day))
	return err
}

type declineEstimateCmd struct {
	answerFlags
	Commission string `arg:"" help:"Its number."`
	Version    int32  `arg:"" help:"The version that the client saw."`
	Reason     string `help:"Why they do not agree." required:""`
}

func (c *declineEstimateCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		is, err := shop.Commission(e.ctx, c.Commission)
		if err != nil {
			return err
		}
		r := &intakev1.DeclineEstimateRequest{RequestId: c.request(), Commission: is.Name, Version: c.Version}
		if r.Answer, err = c.read(e, shop, is, c.Reason); err != nil {
			return err
		}
		resp, err := shop.Commissions.DeclineEstimate(e.ctx, r)
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error {
			_, err := fmt.Fprintf(e.out, "Version %d of commission %d is declined: %s.\n", c.Version, is.Number, c.Reason)
			return err
		})
	})
}

type changeOrderCmd struct {
	Add     addChangeOrderCmd     `cmd:"" help:"Ask for more, because of what was found."`
	Approve approveChangeOrderCmd `cmd:"" help:"Note that the client agrees to a change order."`
	Decline declineChangeOrderCmd `cmd:"" help:"Note that the client does not agree, and why."`
}

type addChangeOrderCmd struct {
	timed
	Commission string   `arg:"" help:"Its number."`
	Reason     string   `help:"What was found, such as hidden damage." required:""`
	Labour     []string `help:"Work, as of an estimate. Repeat for each." placeholder:"LINE" sep:"none"`
	Material   []string `help:"Material, as of an estimate. Repeat for each." placeholder:"LINE" sep:"none"`
	Other      []string `help:"Anything else, as of an estimate. Repeat for each." placeholder:"LINE" sep:"none"`
	Untaxed    []string `help:"Which lines are not taxed, by what they are. Repeat for each." placeholder:"WHAT" sep:"none"`
	DoneBy     string   `help:"The day by which it would be done with this; without it, as before." placeholder:"DAY"`
}

func (c *addChangeOrderCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		is, terms, err := commissionAndTerms(e, shop, c.Commission)
		if err != nil {
			return err
		}
		r := &intakev1.AddChangeOrderRequest{RequestId: c.request(), Commission: is.Name, Reason: c.Reason}
		if r.Lines, err = readLines(terms, c.Labour, c.Material, c.Other, c.Untaxed); err != nil {
			return err
		}
		if r.Promised, err = client.Day(c.DoneBy); err != nil {
			return err
		}
		if r.AddTime, err = c.at(e.ctx, shop); err != nil {
			return err
		}
		resp, err := shop.Commissions.AddChangeOrder(e.ctx, r)
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error {
			all := resp.Commission.GetChangeOrders()
			return printChangeOrder(e, all[len(all)-1])
		})
	})
}

type approveChangeOrderCmd struct {
	answerFlags
	Commission string `arg:"" help:"Its number."`
	Order      int32  `arg:"" help:"The number of the change order."`
}

func (c *approveChangeOrderCmd) Run(e *env) error {
	return answerChangeOrder(e, &c.answerFlags, c.Commission, &intakev1.AnswerChangeOrderRequest{Number: c.Order, Approve: true}, "")
}

type declineChangeOrderCmd struct {
	answerFlags
	Commission string `arg:"" help:"Its number."`
	Order      int32  `arg:"" help:"The number of the change order."`
	Reason     string `help:"Why they do not agree." required:""`
}

func (c *declineChangeOrderCmd) Run(e *env) error {
	return answerChangeOrder(e, &c.answerFlags, c.Commission, &intakev1.AnswerChangeOrderRequest{Number: c.Order}, c.Reason)
}

func answerChangeOrder(e *env, f *answerFlags, ref string, r *intakev1.AnswerChangeOrderRequest, reason string) error {
	return e.with(func(shop *client.Shop) error {
		is, err := shop.Commission(e.ctx, ref)
		if err != nil {
			return err
		}
		r.RequestId, r.Commission = f.request(), is.Name
		if r.Answer, err = f.read(e, shop, is, reason); err != nil {
			return err
		}
		resp, err := shop.Commissions.AnswerChangeOrder(e.ctx, r)
		if err != nil {
			return err
		}
		return f.print(e, resp, func() error {
			answered := "declined: " + reason
			if r.Approve {
				answered = "approved; in all " + report.Money(resp.Commission.GetInvoice().GetTotal())
			}
			fmt.Fprintf(e.out, "Change order %d of commission %d is %s.\n", r.Number, is.Number, answered)
			return printPromise(e, resp.Commission, resp.PromiseToMake)
		})
	})
}
