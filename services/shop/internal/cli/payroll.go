package cli

import (
	"fmt"
	"time"

	"tackfree/pkg/money"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type payrollCmd struct {
	Show showWeekCmd `cmd:"" help:"Show what each person worked in a week and what they are owed."`
	Lock lockWeekCmd `cmd:"" help:"Close a week: its hours stay as they are, and what becomes known later counts in a later week."`
}

type showWeekCmd struct {
	output
	Day string `arg:"" help:"Any day of the week, such as 2026-03-16."`
}

func (c *showWeekCmd) Run(e *env) error {
	date, err := client.Day(c.Day)
	if err != nil {
		return err
	}
	return e.with(func(shop *client.Shop) error {
		resp, err := shop.Payroll.GetPayrollWeek(e.ctx, &costingv1.GetPayrollWeekRequest{Date: date})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printWeek(e, shop, resp.PayrollWeek) })
	})
}

type lockWeekCmd struct {
	command
	Day string `arg:"" help:"Any day of the week, such as 2026-03-16."`
}

func (c *lockWeekCmd) Run(e *env) error {
	date, err := client.Day(c.Day)
	if err != nil {
		return err
	}
	return e.with(func(shop *client.Shop) error {
		resp, err := shop.Payroll.LockPayrollWeek(e.ctx, &costingv1.LockPayrollWeekRequest{RequestId: c.request(), Date: date})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printWeek(e, shop, resp.PayrollWeek) })
	})
}

func printWeek(e *env, shop *client.Shop, w *costingv1.PayrollWeek) error {
	terms, err := shop.Terms(e.ctx)
	if err != nil {
		return err
	}
	if _, err := fmt.Fprintf(e.out, "%s\n\n", weekHead(terms, w)); err != nil {
		return err
	}
	t := &report.Table{Headings: []string{"who", " labour", " rework", " on no piece", " late", " hours", " pay"}}
	var labour, rework, indirect, late, all time.Duration
	var pay money.Amount
	for _, l := range w.GetLines() {
		t.Add(l.PersonName, report.Hours(l.LabourTime), report.Hours(l.ReworkTime), report.Hours(l.IndirectTime), report.Hours(l.LateTime), report.Hours(l.Time), report.Money(l.Pay))
		labour, rework, indirect = labour+l.LabourTime.AsDuration(), rework+l.ReworkTime.AsDuration(), indirect+l.IndirectTime.AsDuration()
		late, all, pay = late+l.LateTime.AsDuration(), all+l.Time.AsDuration(), pay+amountOf(l.Pay, terms.Currency)
	}
	t.Add()
	t.Add("all", report.Length(labour), report.Length(rework), report.Length(indirect), report.Length(late), report.Length(all), terms.Currency.Format(pay))
	if err := t.Print(e.out); err != nil {
		return err
	}
	return printMissing(e, w)
}

// printMissing says what keeps the week from being closed.
func printMissing(e *env, w *costingv1.PayrollWeek) (err error) {
	for _, l := range w.GetLines() {
		for _, note := range l.Notes {
			if _, err = fmt.Fprintf(e.out, "\n%s: %s.\n", l.PersonName, note); err != nil {
				return err
			}
		}
	}
	return nil
}

// weekHead says which week it is and whether it is closed.
func weekHead(terms client.Terms, w *costingv1.PayrollWeek) string {
	text := "Week of " + client.WriteDay(w.GetWeek())
	if w.GetLockTime() == nil {
		return text + ", open."
	}
	return fmt.Sprintf("%s, closed %s by %s.", text, terms.Clock(w.LockTime), w.LockedBy)
}
