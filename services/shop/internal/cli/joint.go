package cli

import (
	"fmt"
	"strings"

	costingv1 "tackfree/proto/tackfree/costing/v1"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"

	moneyv1 "google.golang.org/genproto/googleapis/type/money"
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
	listOutput
	ofJoint
}

func (c *showLotCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		l, err := shop.PieceLot(e.ctx, c.Lot)
		if err != nil {
			return err
		}
		return c.print(e, l, func() error {
			sheets, err := shop.SheetsOf(e.ctx, inForce(l).GetShares())
			if err != nil {
				return err
			}
			return printLotSheets(e, shop, l, sheets)
		})
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

// printJoint prints a lot after a change of it, which the sheets do not have yet.
func printJoint(e *env, shop *client.Shop, l *intakev1.Lot) error {
	if err := printTerms(e, shop, l); err != nil {
		return err
	}
	table := &report.Table{Headings: []string{" tag", "piece", " expected", " share before anything was given up"}}
	for _, s := range inForce(l).GetShares() {
		table.Add(fmt.Sprint(s.Tag), s.Title, report.Money(s.ExpectedValue), report.Money(s.Share))
	}
	return table.Print(e.out)
}

// printLotSheets prints a lot as it stands: what its pieces cost and where they are, as their sheets have it.
func printLotSheets(e *env, shop *client.Shop, l *intakev1.Lot, sheets map[string]*costingv1.PieceCost) error {
	if err := printTerms(e, shop, l); err != nil {
		return err
	}
	table := &report.Table{Headings: []string{" tag", "piece", "state", " expected", " share before anything was given up", " on its sheet"}}
	for _, s := range inForce(l).GetShares() {
		state, sheet := unknownYet, sheets[s.Piece]
		if sheet != nil {
			state = report.StateOf(sheet)
		}
		table.Add(fmt.Sprint(s.Tag), s.Title, state, report.Money(s.ExpectedValue), report.Money(s.Share), report.Money(sheet.GetSums().GetAcquisition()))
	}
	return table.Print(e.out)
}

// unknownYet stands for the state of a piece of which the books have not heard yet.
const unknownYet = "–"

// printTerms prints what was said of a lot, the latest last.
func printTerms(e *env, shop *client.Shop, l *intakev1.Lot) error {
	terms, err := shop.Terms(e.ctx)
	if err != nil {
		return err
	}
	for _, t := range l.Terms {
		line := fmt.Sprintf("%sfrom %s, %s, set %s", paid(t.Price), l.Source, splitWords[t.Split], terms.Clock(t.SetTime))
		if t.Reason != "" {
			line += ": " + t.Reason
		}
		fmt.Fprintln(e.out, line)
	}
	_, err = fmt.Fprintf(e.out, "%s\n\n", onScrapWords[l.OnScrap])
	return err
}

// inForce are the terms of a lot that are in force.
func inForce(l *intakev1.Lot) *intakev1.Lot_Terms {
	if len(l.Terms) == 0 {
		return nil
	}
	return l.Terms[len(l.Terms)-1]
}

type listLotsCmd struct{ listOutput }

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

// paid is an amount before where it was paid; nothing for who is not told it.
func paid(price *moneyv1.Money) string {
	if price == nil {
		return ""
	}
	return report.Money(price) + " "
}
