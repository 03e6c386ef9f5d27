package cli

import (
	"fmt"

	costingv1 "tackfree/proto/tackfree/costing/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type payrollCmd struct {
	Show   showWeekCmd   `cmd:"" help:"Show what each person worked in a week and what they are owed."`
	Export exportWeekCmd `cmd:"" help:"Give a week's payroll as a table of values separated by commas, a line for each person."`
	Lock   lockWeekCmd   `cmd:"" help:"Close a week for good: its hours stay as they are. What is corrected in it later is late pay of the next week that is open."`
}

type showWeekCmd struct {
	listOutput
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
		return c.print(e, resp, func() error {
			if err := printWeek(e, shop, resp.PayrollWeek); err != nil {
				return err
			}
			_, err := fmt.Fprintln(e.out, "\nThis is final: the week cannot be opened again. Go on correcting its hours (shop clock correct) and rates; what that changes is late pay of the next week that is open.")
			return err
		})
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
	columns := payColumns(w, terms.Currency)
	t := &report.Table{Headings: []string{"who"}}
	all := []string{"all"}
	for _, c := range columns {
		t.Headings = append(t.Headings, " "+c.heading)
		all = append(all, c.total(w, terms.Currency))
	}
	for _, l := range w.GetLines() {
		row := []string{l.PersonName}
		for _, c := range columns {
			row = append(row, c.of(l))
		}
		t.Add(row...)
	}
	t.Add()
	t.Add(all...)
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
