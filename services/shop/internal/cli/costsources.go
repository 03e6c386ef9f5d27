package cli

import (
	"cmp"
	"fmt"
	"math"

	moneyv1 "google.golang.org/genproto/googleapis/type/money"

	costingv1 "tackfree/proto/tackfree/costing/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type sourcesCmd struct {
	listOutput
	span
}

// Help implements kong.HelpProvider.
func (sourcesCmd) Help() string {
	return `Pieces count by the day on which they came in. What an hour earns in the long run lies nineteen times in twenty between the two figures, by Student's t over the sold pieces; ` +
		`drawn is the same drawn towards the average of all sources, the further the fewer pieces say it. Compare two sources by drawn, and mind the interval: where two overlap, either can be the better one.`
}

func (c *sourcesCmd) Run(e *env) error {
	r := &costingv1.CompareSourcesRequest{}
	var err error
	if r.FromDate, r.ToDate, err = c.days(); err != nil {
		return err
	}
	return e.with(func(shop *client.Shop) error {
		resp, err := shop.Answers.CompareSources(e.ctx, r)
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printSources(e, resp) })
	})
}

func printSources(e *env, r *costingv1.CompareSourcesResponse) error {
	t := &report.Table{Headings: []string{"source", " bought", " unsold", " sold", " given up", " lost", " median days", " paid", " profit", " hours", " per hour", " from", " to", " drawn"}}
	few := false
	add := func(title string, s *costingv1.SourceCompared) {
		drawn := moneyOrDash(s.PerHourPooled)
		if s.Few && s.Sold > 0 {
			few, drawn = true, drawn+"*"
		}
		t.Add(report.Clip(title, 40), fmt.Sprint(s.Bought), fmt.Sprint(s.Unsold), fmt.Sprint(s.Sold), fmt.Sprint(s.GivenUp), report.Money(s.Lost), daysWord(s), report.Money(s.Paid), report.Money(s.Profit),
			report.Hours(s.Time), moneyOrDash(s.ProfitPerLabourHour), moneyOrDash(s.PerHourLow), moneyOrDash(s.PerHourHigh), drawn)
	}
	for _, s := range r.Sources {
		add(cmp.Or(oneLine(s.Title), "not said"), s)
	}
	t.Add()
	add("all", r.Total)
	if err := t.Print(e.out); err != nil {
		return err
	}
	if few {
		return printBelow(e, []string{"*  fewer than five were sold: one more piece can turn it round."})
	}
	return nil
}

func moneyOrDash(m *moneyv1.Money) string {
	if m == nil {
		return orDash("")
	}
	return report.Money(m)
}

func daysWord(s *costingv1.SourceCompared) string {
	if s.MedianDays == nil {
		return orDash("")
	}
	return fmt.Sprint(math.Round(s.GetMedianDays()*10) / 10)
}
