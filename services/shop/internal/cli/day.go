package cli

import (
	"fmt"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type dayCmd struct {
	output
	Who  string `arg:"" help:"Display name."`
	Date string `help:"The day; without it, today." placeholder:"DAY"`
}

func (c *dayCmd) Run(e *env) error {
	date, err := client.Day(c.Date)
	if err != nil {
		return err
	}
	return e.with(func(shop *client.Shop) error {
		who, err := shop.Person(e.ctx, c.Who)
		if err != nil {
			return err
		}
		resp, err := shop.Floor.GetDay(e.ctx, &workflowv1.GetDayRequest{Person: who.Name, Date: date})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printDay(e, shop, resp) })
	})
}

// printDay prints somebody's day: when they work, what they did, what is theirs and what
// they could do next.
func printDay(e *env, shop *client.Shop, d *workflowv1.GetDayResponse) error {
	terms, err := shop.Terms(e.ctx)
	if err != nil {
		return err
	}
	fmt.Fprintf(e.out, "%s, %s: %s; %s on pieces, %s on what belongs to none.\n", d.Person.GetDisplayName(), client.WriteDay(d.Date), shiftOf(terms, d),
		report.Hours(d.LabourTime), report.Hours(d.IndirectTime))
	if d.OpenReviews > 0 {
		fmt.Fprintf(e.out, "Of their clocks the lead has to settle: %d.\n", d.OpenReviews)
	}
	for _, part := range []struct {
		heading string
		entries []*workflowv1.ClockEntry
	}{{"On the clock", d.Running}, {"Paused", d.Paused}, {"Entries", d.ClockEntries}} {
		if len(part.entries) == 0 {
			continue
		}
		fmt.Fprintf(e.out, "\n%s\n", part.heading)
		if err := printEntries(e, shop, part.entries); err != nil {
			return err
		}
	}
	for _, part := range []struct {
		heading string
		stages  []*workflowv1.NextStage
	}{{"Theirs", d.Assigned}, {"They could also do", d.NextStages}} {
		if len(part.stages) == 0 {
			continue
		}
		fmt.Fprintf(e.out, "\n%s\n", part.heading)
		if err := printNext(e, shop, part.stages); err != nil {
			return err
		}
	}
	if d.MoreNextStages > 0 {
		fmt.Fprintf(e.out, "… and %d more (`shop stage next --most 50` shows them)\n", d.MoreNextStages)
	}
	return nil
}

// shiftOf is when somebody works on the day, or why not.
func shiftOf(terms client.Terms, d *workflowv1.GetDayResponse) string {
	s := d.Shift
	if s == nil {
		return orDash(d.Absence)
	}
	text := terms.Clock(s.StartTime) + " to " + terms.Clock(s.EndTime)
	for _, b := range s.Breaks {
		text += ", break " + terms.Clock(b.StartTime) + " to " + terms.Clock(b.EndTime)
	}
	return text
}
