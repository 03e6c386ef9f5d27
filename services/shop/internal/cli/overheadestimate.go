package cli

import (
	"encoding/json"
	"fmt"
	"time"

	"tackfree/pkg/ledger"
	"tackfree/pkg/money"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type estimateOverheadCmd struct {
	listOutput
	Items []string   `arg:"" help:"What a year costs that belongs to no piece, each as rent=24000."`
	Hours wholeHours `help:"Hours that the pieces of a year take, of labour or of machines, such as 6240h." required:""`
}

// estimate is what is reckoned.
type estimate struct {
	Items   []estimateItem `json:"items"`
	Yearly  string         `json:"yearly"`
	Hours   int32          `json:"hours"`
	PerHour string         `json:"perHour"`
}

type estimateItem struct {
	What   string `json:"what"`
	Amount string `json:"amount"`
}

func (c *estimateOverheadCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		terms, err := shop.Terms(e.ctx)
		if err != nil {
			return err
		}
		est := estimate{Hours: c.Hours.count()}
		yearly, err := est.read(c.Items, terms.Currency)
		if err != nil {
			return err
		}
		rate, err := ledger.SuggestOverheadRate(yearly, time.Duration(c.Hours.count())*time.Hour)
		if err != nil {
			return err
		}
		est.Yearly, est.PerHour = terms.Currency.Format(yearly), terms.Currency.Format(rate)
		if c.CSV {
			return est.writeCSV(e)
		}
		if c.JSON {
			b, err := json.Marshal(est)
			if err != nil {
				return err
			}
			return writeJSON(e.out, b)
		}
		return est.print(e)
	})
}

// read reads the items and adds them up.
func (est *estimate) read(items []string, currency money.Currency) (yearly money.Amount, err error) {
	for _, text := range items {
		what, amount, err := pair(text, "rent=24000")
		if err != nil {
			return 0, err
		}
		a, err := currency.Parse(amount)
		if err != nil {
			return 0, err
		}
		est.Items = append(est.Items, estimateItem{what, currency.Format(a)})
		yearly += a
	}
	return yearly, nil
}

func (est *estimate) print(e *env) error {
	t := &report.Table{Headings: []string{"a year", " amount"}}
	for _, i := range est.Items {
		t.Add(i.What, i.Amount)
	}
	t.Add()
	t.Add("overhead", est.Yearly)
	if err := t.Print(e.out); err != nil {
		return err
	}
	_, err := fmt.Fprintf(e.out, "\nBy %d hours, an hour should carry %s. Set it with: shop cost overhead set --per-hour %s --from DAY\n", est.Hours, est.PerHour, est.PerHour)
	return err
}

// writeCSV writes what a year costs, and what an hour carries of it.
func (est *estimate) writeCSV(e *env) error {
	t := report.NewCSV(e.out, "what", "amount", "hours", "per_hour")
	for _, i := range est.Items {
		t.Row(report.Free(i.What), i.Amount, "", "")
	}
	t.Row("all", est.Yearly, fmt.Sprint(est.Hours), est.PerHour)
	return t.Flush()
}
