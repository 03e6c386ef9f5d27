package cli

import (
	"context"
	"fmt"

	"google.golang.org/protobuf/types/known/timestamppb"

	costingv1 "tackfree/proto/tackfree/costing/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type monthCmd struct {
	Close  closeMonthCmd  `cmd:"" help:"Close a month: what it came to stays, and what becomes known later counts in a later month."`
	Reopen reopenMonthCmd `cmd:"" help:"Take the last close back: what it settled is reversed, and the month is open until it is closed again."`
	List   listMonthsCmd  `cmd:"" help:"List the months with the overhead that pieces carried and what was really spent."`
}

type closeMonthCmd struct {
	command
	Month        string `arg:"" help:"Which, such as 2026-03. The first that is ever closed takes in all before it."`
	To           string `help:"Where overhead goes that pieces carried too little of, or too much: to cost of goods sold in one line, or prorated over the pieces by what each carried." enum:"cost-of-goods-sold,prorated" default:"cost-of-goods-sold"`
	WithIndirect bool   `help:"Labour on no piece counts as overhead that was really spent."`
}

// settlements are what becomes of the difference, as they are typed.
var settlements = map[string]costingv1.Month_Settlement{
	"cost-of-goods-sold": costingv1.Month_SETTLEMENT_COST_OF_GOODS_SOLD,
	"prorated":           costingv1.Month_SETTLEMENT_PRORATED,
}

func (c *closeMonthCmd) Run(e *env) error {
	month, err := client.Month(c.Month)
	if err != nil {
		return err
	}
	return e.with(func(shop *client.Shop) error {
		resp, err := shop.Months.CloseMonth(e.ctx, &costingv1.CloseMonthRequest{
			RequestId: c.request(), Month: month, Settlement: settlements[c.To], WithIndirectLabour: c.WithIndirect})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error {
			if err := report.Months(e.out, []*costingv1.Month{resp.Month}); err != nil {
				return err
			}
			return report.Closed(e.out, resp.Month)
		})
	})
}

type reopenMonthCmd struct {
	command
	Month  string `arg:"" help:"The last that is closed, such as 2026-03."`
	Reason string `help:"Why." required:""`
}

func (c *reopenMonthCmd) Run(e *env) error {
	month, err := client.Month(c.Month)
	if err != nil {
		return err
	}
	return e.with(func(shop *client.Shop) error {
		resp, err := shop.Months.ReopenMonth(e.ctx, &costingv1.ReopenMonthRequest{RequestId: c.request(), Month: month, Reason: c.Reason})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error {
			if err := report.Months(e.out, []*costingv1.Month{resp.Month}); err != nil {
				return err
			}
			return report.Reopened(e.out, resp.Month)
		})
	})
}

type listMonthsCmd struct{ output }

func (c *listMonthsCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		resp, err := shop.Months.ListMonths(e.ctx, &costingv1.ListMonthsRequest{})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return report.Months(e.out, resp.Months) })
	})
}

type trialCmd struct {
	output
	At string `help:"What happened before: '2026-04-01 00:00' by the shop's clock, or the beginning of a day, 2026-04-01. Without it: all so far." placeholder:"TIME"`
}

func (c *trialCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		at, err := beginning(e.ctx, shop, c.At)
		if err != nil {
			return err
		}
		resp, err := shop.Months.GetTrialBalance(e.ctx, &costingv1.GetTrialBalanceRequest{Time: at})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return e.stated(shop, resp, func() error { return report.Trial(e.out, resp) }) })
	})
}

// beginning reads a time that a person typed, or a day as its first instant; none stays absent, and asks
// nobody.
func beginning(ctx context.Context, shop *client.Shop, text string) (*timestamppb.Timestamp, error) {
	if text == "" {
		return nil, nil
	}
	terms, err := shop.Terms(ctx)
	if err != nil {
		return nil, err
	}
	return terms.Beginning(text)
}

// stated writes when a statement stands, and then the statement.
func (e *env) stated(shop *client.Shop, s stands, statement func() error) error {
	terms, err := shop.Terms(e.ctx)
	if err != nil {
		return err
	}
	if _, err := fmt.Fprintf(e.out, "What happened before %s.\n\n", terms.Clock(s.GetTime())); err != nil {
		return err
	}
	return statement()
}

type balanceCmd struct {
	output
	At string `help:"What happened before: '2026-04-01 00:00' by the shop's clock, or the beginning of a day, 2026-04-01. Without it: all so far." placeholder:"TIME"`
}

func (c *balanceCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		at, err := beginning(e.ctx, shop, c.At)
		if err != nil {
			return err
		}
		resp, err := shop.Months.GetBalanceSheet(e.ctx, &costingv1.GetBalanceSheetRequest{Time: at})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return e.stated(shop, resp, func() error { return report.Balance(e.out, resp) }) })
	})
}

type profitCmd struct {
	output
	From string `help:"The first month, such as 2026-01." required:"" placeholder:"MONTH"`
	To   string `help:"The last; without it, only the first." placeholder:"MONTH"`
}

func (c *profitCmd) Run(e *env) error {
	from, err := client.Month(c.From)
	if err != nil {
		return err
	}
	to, err := client.Month(c.To)
	if err != nil {
		return err
	}
	return e.with(func(shop *client.Shop) error {
		resp, err := shop.Months.GetProfitAndLoss(e.ctx, &costingv1.GetProfitAndLossRequest{FromMonth: from, ToMonth: to})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return report.ProfitAndLoss(e.out, resp) })
	})
}
