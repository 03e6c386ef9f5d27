package cli

import (
	"errors"
	"fmt"

	"google.golang.org/genproto/googleapis/type/date"

	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

// theWeek is a day of the week that `shop demo --scenario week` plays.
var theWeek = &date.Date{Year: 2026, Month: 3, Day: 16}

// mostPieces are so many of sixty as fit on a screen.
const mostPieces = 12

// printTheWeek prints what everybody worked, counted three ways, and the pieces with the most
// work in them; for programs, what the pieces cost. That the ways differ is an error.
func printTheWeek(e *env, shop *client.Shop, worked []client.Worked, asJSON bool) error {
	if asJSON {
		return errors.Join(printCosts(e, shop, true), agreed(worked))
	}
	terms, err := shop.Terms(e.ctx)
	if err != nil {
		return err
	}
	if err := workedTable(e, worked); err != nil {
		return err
	}
	fmt.Fprint(e.out, "\nThe cost sheets of the pieces with what belongs to none, the clock entries and the payroll agree, to the second.\n\n")
	c, err := readCosts(e.ctx, shop)
	if err != nil {
		return err
	}
	if err := report.Longest(e.out, c.pieces, mostPieces, terms.Currency); err != nil {
		return err
	}
	fmt.Fprintln(e.out)
	return report.Accounts(e.out, c.shop.Accounts, terms.Currency)
}

// agreed names those whose hours differ. That nobody worked is an error too.
func agreed(worked []client.Worked) (err error) {
	if len(worked) == 0 {
		return errors.New("nobody worked in that week")
	}
	for _, w := range worked {
		if !w.Agrees() {
			err = errors.Join(err, fmt.Errorf("the hours of %s differ", w.Person))
		}
	}
	return err
}

// workedTable prints a line for each person. Ways that differ are an error.
func workedTable(e *env, worked []client.Worked) error {
	t := &report.Table{Headings: []string{"who", " on pieces", " on none", " together", " clocked", " payroll"}}
	var all client.Worked
	for _, w := range worked {
		t.Add(w.Person, report.Length(w.Pieces), report.Length(w.Indirect), report.Length(w.Pieces+w.Indirect), report.Length(w.Clocked), report.Length(w.Payroll))
		all.Pieces, all.Indirect, all.Clocked, all.Payroll = all.Pieces+w.Pieces, all.Indirect+w.Indirect, all.Clocked+w.Clocked, all.Payroll+w.Payroll
	}
	t.Add()
	t.Add("all", report.Length(all.Pieces), report.Length(all.Indirect), report.Length(all.Pieces+all.Indirect), report.Length(all.Clocked), report.Length(all.Payroll))
	return errors.Join(t.Print(e.out), agreed(worked))
}
