package cli

import (
	"context"
	"errors"
	"fmt"

	materialsv1 "tackfree/proto/tackfree/materials/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type listNeedsCmd struct {
	listOutput
	Product string `help:"Only of this product." placeholder:"NAME"`
	Piece   string `help:"Only of this piece." placeholder:"TAG"`
	State   string `help:"open, done or dropped; without it, those that are open." placeholder:"STATE"`
}

func (c *listNeedsCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		filter := &materialsv1.ListNeedsRequest{PageSize: 1000}
		var err error
		if c.State != "" {
			if filter.State, err = readEnum[materialsv1.Need_State]("STATE_", c.State, materialsv1.Need_State_value); err != nil {
				return err
			}
		}
		if filter.Product, err = optionalProduct(e, shop, c.Product); err != nil {
			return err
		}
		if filter.Piece, err = optionalPiece(e, shop, c.Piece); err != nil {
			return err
		}
		needs, err := client.All(e.ctx, func(ctx context.Context, token string) ([]*materialsv1.Need, string, error) {
			filter.PageToken = token
			r, err := shop.Needs.ListNeeds(ctx, filter)
			return r.GetNeeds(), r.GetNextPageToken(), err
		})
		if err != nil {
			return err
		}
		return c.print(e, &materialsv1.ListNeedsResponse{Needs: needs}, func() error { return printPlannedNeeds(e, shop, needs) })
	})
}

func printPlannedNeeds(e *env, shop *client.Shop, needs []*materialsv1.Need) error {
	terms, err := shop.Terms(e.ctx)
	if err != nil {
		return err
	}
	tags := newStageWords(e, shop)
	t := &report.Table{Headings: []string{"wanted from", "must begin by", "product", " piece", "stage", " planned", " expected", " issued", " reserved", "state"}}
	for _, n := range needs {
		tag, title, err := tags.of(n.Stage, n.StageTitle)
		if err != nil {
			return err
		}
		state := report.State(n.State.String())
		if n.Pass > 1 {
			state += fmt.Sprintf(", pass %d", n.Pass)
		}
		t.Add(terms.Clock(n.WantedTime), terms.Clock(n.LatestTime), orDash(n.ProductName), tag, title, report.Quantity(n.Planned), report.Quantity(n.Expected),
			report.Quantity(n.Issued), report.Quantity(n.Reserved), state)
	}
	return t.Print(e.out)
}

type usageCmd struct {
	listOutput
	Product string `arg:"" optional:"" help:"Display name; without it, of all products."`
	Method  string `help:"Only by this method: brush, hvlp …" placeholder:"WORD"`
	Stages  bool   `help:"Show the finished stages of the product that this is learned from, and those that are left out."`
}

func (c *usageCmd) Run(e *env) error {
	if c.Stages && (c.Product == "" || c.Method != "") {
		return errors.New("--stages shows those of one product: name it, and no --method")
	}
	return e.with(func(shop *client.Shop) error {
		product, err := optionalProduct(e, shop, c.Product)
		if err != nil {
			return err
		}
		if c.Stages {
			return c.stages(e, shop, product)
		}
		all, err := client.All(e.ctx, func(ctx context.Context, token string) ([]*materialsv1.Usage, string, error) {
			r, err := shop.Needs.GetUsage(ctx, &materialsv1.GetUsageRequest{Product: product, Method: c.Method, PageSize: 1000, PageToken: token})
			return r.GetUsage(), r.GetNextPageToken(), err
		})
		if err != nil {
			return err
		}
		return c.print(e, &materialsv1.GetUsageResponse{Usage: all}, func() error { return printUsage(e, all) })
	})
}

func printUsage(e *env, all []*materialsv1.Usage) error {
	t := &report.Table{Headings: []string{"product", "put on by", " stages", " left out", " planned", " taken", " ratio", " the shop takes", " nine times in ten"}}
	for _, u := range all {
		t.Add(u.ProductName, orDash(u.Method), fmt.Sprint(u.StageCount), fmt.Sprint(u.LeftOutCount), report.Quantity(u.Planned), report.Quantity(u.Actual),
			timesPlanned(u.Ratio), timesPlanned(u.UsageFactor), fmt.Sprintf("%.2f to %.2f", u.UsageFactorLow, u.UsageFactorHigh))
	}
	return t.Print(e.out)
}

// timesPlanned is how much is taken for each unit that is planned; none is a dash.
func timesPlanned(factor float64) string {
	if factor == 0 {
		return "–"
	}
	return fmt.Sprintf("%.2f", factor)
}

func (c *usageCmd) stages(e *env, shop *client.Shop, product string) error {
	all, err := client.All(e.ctx, func(ctx context.Context, token string) ([]*materialsv1.StageUsage, string, error) {
		r, err := shop.Needs.ListStageUsage(ctx, &materialsv1.ListStageUsageRequest{Product: product, PageSize: 1000, PageToken: token})
		return r.GetStages(), r.GetNextPageToken(), err
	})
	if err != nil {
		return err
	}
	return c.print(e, &materialsv1.ListStageUsageResponse{Stages: all}, func() error { return printStageUsage(e, shop, all) })
}

func printStageUsage(e *env, shop *client.Shop, all []*materialsv1.StageUsage) error {
	terms, err := shop.Terms(e.ctx)
	if err != nil {
		return err
	}
	words := newStageWords(e, shop)
	t := &report.Table{Headings: []string{"done", " piece", "stage", " pass", "put on by", " planned", " taken", " ratio", "remark"}}
	for _, u := range all {
		tag, title, err := words.of(u.Stage, u.StageTitle)
		if err != nil {
			return err
		}
		remark := ""
		if u.LeftOutBecause != "" {
			remark = "left out: " + u.LeftOutBecause
		}
		t.Add(terms.Clock(u.DoneTime), tag, title, fmt.Sprint(u.Pass), orDash(u.Method), report.Quantity(u.Planned), report.Quantity(u.Actual), timesPlanned(u.Ratio), remark)
	}
	return t.Print(e.out)
}
