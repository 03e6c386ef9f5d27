package cli

import (
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
	WithEarlier  bool   `help:"The first close may settle the overhead of months before its own with it."`
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
			RequestId: c.request(), Month: month, Settlement: settlements[c.To], WithIndirectLabour: c.WithIndirect, WithEarlier: c.WithEarlier})
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

type listMonthsCmd struct{ tabular }

func (c *listMonthsCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		resp, err := shop.Months.ListMonths(e.ctx, &costingv1.ListMonthsRequest{})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return report.MonthsCSV(e.out, resp.Months) }, func() error { return report.Months(e.out, resp.Months) })
	})
}
