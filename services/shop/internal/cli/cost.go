package cli

import (
	"fmt"

	costingv1 "tackfree/proto/tackfree/costing/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type costCmd struct {
	Show          showCostCmd  `cmd:"" help:"Show what a piece cost and earned, and who worked on it."`
	List          listCostsCmd `cmd:"" help:"List all pieces with their sums, and the shop's."`
	Shop          shopCostCmd  `cmd:"" help:"Show the sums over all pieces and the accounts of the books."`
	Event         eventCmd     `cmd:"" help:"Show what an event put into the books."`
	Watch         watchCostCmd `cmd:"" help:"Show a piece's cost, or how the shop stands, now and at each change, until Ctrl-C."`
	Plan          actualsCmd   `cmd:"" help:"What stages took against what was planned, in hours and in money."`
	Earnings      earningsCmd  `cmd:"" help:"What sold pieces earned, in all and for each hour."`
	Sources       sourcesCmd   `cmd:"" help:"What came of the pieces from each source, so that two can be compared."`
	Wip           wipCmd       `cmd:"" help:"What is unfinished or unsold, how long it has been here and what stands in it."`
	Cash          cashCmd      `cmd:"" help:"What of the shop's money is in materials and pieces."`
	Rework        reworkCmd    `cmd:"" help:"What doing things again cost."`
	WhatIf        whatIfCmd    `cmd:"" help:"What a piece would earn at a price."`
	Journal       journalCmd   `cmd:"" help:"Write the general journal, for a bookkeeper or another program."`
	Standard      standardCmd  `cmd:"" help:"What an hour should cost; stages are measured by it."`
	Rate          rateCmd      `cmd:"" help:"Say what an hour of somebody costs from a day on."`
	Rates         ratesCmd     `cmd:"" help:"List the pay rates."`
	Rule          payruleCmd   `cmd:"" help:"What the shop pays by: overtime, paid breaks, rounding of the clock."`
	Burden        burdenCmd    `cmd:"" help:"What the employer pays on top of wages: taxes, insurance."`
	Payroll       payrollCmd   `cmd:"" help:"What everybody worked in a week."`
	Overhead      overheadCmd  `cmd:"" help:"Rent, power, tools, insurance: what an hour on a piece carries of it, and what was really spent."`
	Month         monthCmd     `cmd:"" help:"The months of the books: how they stand, and closing them."`
	TrialBalance  trialCmd     `cmd:"" help:"Show what each account comes to."`
	ProfitAndLoss profitCmd    `cmd:"" help:"Show what some months earned and spent."`
	BalanceSheet  balanceCmd   `cmd:"" help:"Show what the shop owns, owes and has earned."`
	Accounts      accountsCmd  `cmd:"" help:"Show the accounts and the rules by which the shop books; until it has its own, those that come with the program."`
	Verify        verifyCmd    `cmd:"" help:"Recompute the books from all events and compare; exits 1 at a difference, and where an event could not be booked."`
	Rebuild       rebuildCmd   `cmd:"" help:"Recompute the books and put the new ones in place."`
	Dead          deadCmd      `cmd:"" help:"List the events that could not be booked."`
	Retry         retryCmd     `cmd:"" help:"Book one of them again."`
	Progress      progressCmd  `cmd:"" help:"Say how far the books are behind the shop."`
}

type showCostCmd struct {
	tabular
	Piece string `arg:"" help:"Tag number."`
	Lines bool   `help:"Also each line of the ledger behind it, and what brought it about; with --csv, these alone."`
	All   bool   `help:"With --lines, also the other sides and what moved cost on."`
}

func (c *showCostCmd) Run(e *env) error {
	if c.All && !c.Lines {
		return fmt.Errorf("--all is of the lines of a piece; say --lines too")
	}
	return e.with(func(shop *client.Shop) error {
		p, err := shop.Piece(e.ctx, c.Piece)
		if err != nil {
			return err
		}
		resp, err := shop.Costing.GetPieceCost(e.ctx, &costingv1.GetPieceCostRequest{Piece: p.Name})
		if err != nil {
			return err
		}
		if !c.Lines {
			return c.print(e, resp.PieceCost, func() error { return report.PieceCSV(e.out, resp.PieceCost) }, func() error { return report.Piece(e.out, resp.PieceCost) })
		}
		lines, err := costLines(e, shop, &costingv1.ListCostLinesRequest{Piece: p.Name, All: c.All})
		if err != nil {
			return err
		}
		return c.printLines(e, shop, lines, func() error { return report.Piece(e.out, resp.PieceCost) })
	})
}

type shopCostCmd struct{ listOutput }

func (c *shopCostCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		resp, err := shop.Costing.GetShopCost(e.ctx, &costingv1.GetShopCostRequest{})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error {
			terms, err := shop.Terms(e.ctx)
			if err != nil {
				return err
			}
			if err := report.Total(e.out, resp, terms.Currency); err != nil {
				return err
			}
			fmt.Fprintln(e.out)
			return report.Accounts(e.out, resp.Accounts, terms.Currency)
		})
	})
}
