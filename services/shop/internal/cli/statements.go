package cli

import (
	"context"
	"fmt"

	datev1 "google.golang.org/genproto/googleapis/type/date"
	"google.golang.org/protobuf/types/known/timestamppb"

	costingv1 "tackfree/proto/tackfree/costing/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

// moment is for when a statement is asked for.
type moment struct {
	At string `help:"What happened before: '2026-04-01 00:00' by the shop's clock, or the beginning of a day, 2026-04-01. Without it: all so far. Within a closed month it is what the close had counted up to that time; closed months are kept by the day, so where more became known of that day since, it is told for the beginning of the day, and the heading says so." placeholder:"TIME"`
}

type trialCmd struct {
	tabular
	moment
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
		return c.print(e, resp, func() error { return report.TrialCSV(e.out, resp) }, func() error {
			return e.stated(shop, at, resp, func() error { return report.Trial(e.out, resp) })
		})
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

// stated writes when a statement stands, and then the statement. One that is not for the time that was
// asked for says so above and below.
func (e *env) stated(shop *client.Shop, asked *timestamppb.Timestamp, s stands, statement func() error) error {
	terms, err := shop.Terms(e.ctx)
	if err != nil {
		return err
	}
	above, below := "", ""
	if asked != nil && s.GetTime().AsTime().Before(asked.AsTime()) {
		above = ", the beginning of the day: what happened later on that day is not in it"
		below = fmt.Sprintf("You asked for %s. That is in a closed month, which is kept by the day, and more became known of that day since it was closed: what the close had counted up to that hour cannot be told any more.\n", terms.Clock(asked))
	}
	if _, err := fmt.Fprintf(e.out, "What happened before %s%s.\n\n", terms.Clock(s.GetTime()), above); err != nil {
		return err
	}
	if err := statement(); err != nil {
		return err
	}
	_, err = fmt.Fprint(e.out, below)
	return err
}

// byMonth is how statements of several months are asked for.
type byMonth struct {
	By string `help:"By month: a column for each." enum:",month" default:"" placeholder:"month"`
}

type balanceCmd struct {
	tabular
	moment
	byMonth
	From string `help:"With --by month: how it stood at the end of each month from that one on, such as 2026-01." placeholder:"MONTH"`
	To   string `help:"Until the end of that one; without it, only the first." placeholder:"MONTH"`
}

// Validate refuses an instant and months at once, and months without saying that each is meant.
func (c *balanceCmd) Validate() error {
	switch months := c.From != ""; {
	case c.At != "" && (months || c.By != ""):
		return fmt.Errorf("--at is one time and --by month are several; say one of the two")
	case months != (c.By != ""), c.To != "" && !months:
		return fmt.Errorf("say --from MONTH --to MONTH --by month for the end of each month, or --at TIME")
	}
	return c.tabular.Validate()
}

func (c *balanceCmd) Run(e *env) error {
	from, to, err := monthsTyped(c.From, c.To)
	if err != nil {
		return err
	}
	return e.with(func(shop *client.Shop) error {
		at, err := beginning(e.ctx, shop, c.At)
		if err != nil {
			return err
		}
		resp, err := shop.Months.GetBalanceSheet(e.ctx, &costingv1.GetBalanceSheetRequest{Time: at, FromMonth: from, ToMonth: to})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return report.BalanceCSV(e.out, resp) }, func() error {
			return e.stated(shop, at, resp, func() error { return report.Balance(e.out, resp) })
		})
	})
}

type profitCmd struct {
	tabular
	byMonth
	From string `help:"The first month, such as 2026-01." required:"" placeholder:"MONTH"`
	To   string `help:"The last; without it, only the first." placeholder:"MONTH"`
}

func (c *profitCmd) Run(e *env) error {
	from, to, err := monthsTyped(c.From, c.To)
	if err != nil {
		return err
	}
	return e.with(func(shop *client.Shop) error {
		resp, err := shop.Months.GetProfitAndLoss(e.ctx, &costingv1.GetProfitAndLossRequest{FromMonth: from, ToMonth: to, ByMonth: c.By != ""})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return report.ProfitAndLossCSV(e.out, resp) }, func() error { return report.ProfitAndLoss(e.out, resp) })
	})
}

// monthsTyped reads the first month and the last; none stays absent.
func monthsTyped(first, last string) (from, to *datev1.Date, err error) {
	if from, err = client.Month(first); err != nil {
		return nil, nil, err
	}
	to, err = client.Month(last)
	return from, to, err
}
