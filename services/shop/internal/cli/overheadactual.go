package cli

import (
	"context"
	"fmt"

	"tackfree/pkg/money"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type actualCmd struct {
	Add      addActualCmd      `cmd:"" help:"Enter what was spent."`
	List     listActualsCmd    `cmd:"" help:"List what was spent."`
	TakeBack takeBackActualCmd `cmd:"" help:"Take back what was entered wrongly; it stays, and a row with the opposite amount is added."`
}

type addActualCmd struct {
	command
	What   string `arg:"" help:"What it was, such as 'rent of March'."`
	Amount string `help:"What was spent." required:"" placeholder:"AMOUNT"`
	Day    string `help:"The day for which it counts, such as 2026-03-02." required:"" placeholder:"DAY"`
	Note   string `help:"Anything to remember with it."`
}

func (c *addActualCmd) Run(e *env) error {
	day, err := client.Day(c.Day)
	if err != nil {
		return err
	}
	return e.with(func(shop *client.Shop) error {
		terms, err := shop.Terms(e.ctx)
		if err != nil {
			return err
		}
		r := &costingv1.EnterOverheadActualRequest{RequestId: c.request(), Date: day, What: c.What, Note: c.Note}
		if r.Amount, err = terms.Amount(c.Amount); err != nil {
			return err
		}
		resp, err := shop.Overhead.EnterOverheadActual(e.ctx, r)
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error {
			a := resp.OverheadActual
			_, err := fmt.Fprintf(e.out, "%s for %s on %s, entered as %s.\n", report.Money(a.Amount), a.What, client.WriteDay(a.Date), bare(a.Name))
			return err
		})
	})
}

type listActualsCmd struct {
	listOutput
	Month string `help:"Only those of a month, such as 2026-03." placeholder:"MONTH"`
}

func (c *listActualsCmd) Run(e *env) error {
	month, err := client.Month(c.Month)
	if err != nil {
		return err
	}
	return e.with(func(shop *client.Shop) error {
		actuals, err := client.All(e.ctx, func(ctx context.Context, token string) ([]*costingv1.OverheadActual, string, error) {
			r, err := shop.Overhead.ListOverheadActuals(ctx, &costingv1.ListOverheadActualsRequest{PageSize: 1000, PageToken: token, Month: month})
			return r.GetOverheadActuals(), r.GetNextPageToken(), err
		})
		if err != nil {
			return err
		}
		return c.print(e, &costingv1.ListOverheadActualsResponse{OverheadActuals: actuals}, func() error { return printActuals(e, shop, actuals) })
	})
}

func printActuals(e *env, shop *client.Shop, actuals []*costingv1.OverheadActual) error {
	terms, err := shop.Terms(e.ctx)
	if err != nil {
		return err
	}
	t := &report.Table{Headings: []string{"id", "day", "what", " amount", "note", "entered by"}}
	var all money.Amount
	for _, a := range actuals {
		t.Add(bare(a.Name), client.WriteDay(a.Date), a.What, report.Money(a.Amount), remark(a), a.Actor)
		all += amountOf(a.Amount, terms.Currency)
	}
	t.Add()
	t.Add("all", "", "", terms.Currency.Format(all), "", "")
	return t.Print(e.out)
}

// remark is a row's note, or what became of it.
func remark(a *costingv1.OverheadActual) string {
	switch {
	case a.TakesBack != "":
		return "takes back " + bare(a.TakesBack) + ": " + a.Reason
	case a.TakenBackBy != "":
		return "taken back"
	}
	return a.Note
}

type takeBackActualCmd struct {
	command
	Actual string `arg:"" help:"Its id, as the list shows it."`
	Reason string `help:"Why." required:""`
}

func (c *takeBackActualCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		resp, err := shop.Overhead.TakeBackOverheadActual(e.ctx, &costingv1.TakeBackOverheadActualRequest{
			RequestId: c.request(), Name: "overheadActuals/" + bare(c.Actual), Reason: c.Reason})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error {
			a := resp.OverheadActual
			_, err := fmt.Fprintf(e.out, "%s for %s, counted on %s: taken back.\n", report.Money(a.Amount), a.What, client.WriteDay(a.Date))
			return err
		})
	})
}
