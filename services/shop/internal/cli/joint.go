package cli

import (
	"fmt"
	"strings"

	intakev1 "tackfree/proto/tackfree/intake/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type lotCmd struct {
	Show  showLotCmd  `cmd:"" help:"Show a lot: its price, and what of it is whose."`
	List  listLotsCmd `cmd:"" help:"List what was bought together."`
	Split splitLotCmd `cmd:"" help:"Split the price of a lot otherwise, because the guess was wrong; also after pieces were sold or scrapped."`
}

// ofJoint names what was bought together.
type ofJoint struct {
	Lot string `arg:"" help:"The tag number of one of its pieces, or its name as lot list --json has it."`
}

type showLotCmd struct {
	output
	ofJoint
}

func (c *showLotCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		l, err := shop.PieceLot(e.ctx, c.Lot)
		if err != nil {
			return err
		}
		return c.print(e, l, func() error { return printJoint(e, shop, l) })
	})
}

// splitWords are how people call the splits.
var splitWords = map[intakev1.Lot_Split]string{
	intakev1.Lot_SPLIT_BY_VALUE: "split by what each is expected to sell for", intakev1.Lot_SPLIT_EQUALLY: "split equally", intakev1.Lot_SPLIT_BY_HAND: "split by hand",
}

// onScrapWords say what becomes of the share of a scrapped piece.
var onScrapWords = map[intakev1.Lot_OnScrap]string{
	intakev1.Lot_ON_SCRAP_KEEPS:      "A piece that is scrapped keeps its share, which is lost with it.",
	intakev1.Lot_ON_SCRAP_TAKES_OVER: "The share of a piece that is scrapped goes to those that are then still there; what each costs then is on its cost sheet.",
}

// printJoint prints a lot as it stands, and before it what was said of it before.
func printJoint(e *env, shop *client.Shop, l *intakev1.Lot) error {
	terms, err := shop.Terms(e.ctx)
	if err != nil {
		return err
	}
	for _, t := range l.Terms {
		line := fmt.Sprintf("%s from %s, %s, set %s", report.Money(t.Price), l.Source, splitWords[t.Split], terms.Clock(t.SetTime))
		if t.Reason != "" {
			line += ": " + t.Reason
		}
		fmt.Fprintln(e.out, line)
	}
	fmt.Fprintf(e.out, "%s\n\n", onScrapWords[l.OnScrap])
	table := &report.Table{Headings: []string{" tag", "piece", "state", " expected", " share"}}
	for _, s := range inForce(l).GetShares() {
		table.Add(fmt.Sprint(s.Tag), s.Title, report.State(s.State.String()), report.Money(s.ExpectedValue), report.Money(s.Share))
	}
	return table.Print(e.out)
}

// inForce are the terms of a lot that are in force.
func inForce(l *intakev1.Lot) *intakev1.Lot_Terms {
	if len(l.Terms) == 0 {
		return nil
	}
	return l.Terms[len(l.Terms)-1]
}

type listLotsCmd struct{ output }

func (c *listLotsCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		lots, err := shop.AllPieceLots(e.ctx)
		if err != nil {
			return err
		}
		return c.print(e, &intakev1.ListLotsResponse{Lots: lots}, func() error { return printJoints(e, lots) })
	})
}

func printJoints(e *env, lots []*intakev1.Lot) error {
	t := &report.Table{Headings: []string{"bought", "from", " price", "how", "pieces"}}
	for _, l := range lots {
		var tags []string
		for _, s := range inForce(l).GetShares() {
			tags = append(tags, fmt.Sprint(s.Tag))
		}
		t.Add(client.WriteDay(l.Date), l.Source, report.Money(inForce(l).GetPrice()), splitWords[inForce(l).GetSplit()], strings.Join(tags, ", "))
	}
	return t.Print(e.out)
}
