package cli

import (
	"context"
	"encoding/json"
	"fmt"

	costingv1 "tackfree/proto/tackfree/costing/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type listCostsCmd struct{ tabular }

func (c *listCostsCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		if !c.CSV {
			return printCosts(e, shop, c.JSON)
		}
		all, err := readCosts(e.ctx, shop)
		if err != nil {
			return err
		}
		return report.PiecesCSV(e.out, all.pieces)
	})
}

// costs are all pieces and the shop.
type costs struct {
	pieces []*costingv1.PieceCost
	shop   *costingv1.GetShopCostResponse
}

// printCosts prints all pieces and the shop.
func printCosts(e *env, shop *client.Shop, asJSON bool) error {
	c, err := readCosts(e.ctx, shop)
	if err != nil {
		return err
	}
	if asJSON {
		return c.writeJSON(e)
	}
	terms, err := shop.Terms(e.ctx)
	if err != nil {
		return err
	}
	if err := report.Pieces(e.out, c.pieces, terms.Currency); err != nil {
		return err
	}
	fmt.Fprintln(e.out)
	if err := report.Groups(e.out, c.pieces, terms.Currency); err != nil {
		return err
	}
	fmt.Fprintln(e.out)
	return report.Accounts(e.out, c.shop.Accounts, terms.Currency)
}

func readCosts(ctx context.Context, shop *client.Shop) (c costs, err error) {
	c.pieces, err = client.All(ctx, func(ctx context.Context, token string) ([]*costingv1.PieceCost, string, error) {
		r, err := shop.Costing.ListPieceCosts(ctx, &costingv1.ListPieceCostsRequest{PageSize: 1000, PageToken: token})
		return r.GetPieceCosts(), r.GetNextPageToken(), err
	})
	if err != nil {
		return c, err
	}
	c.shop, err = shop.Costing.GetShopCost(ctx, &costingv1.GetShopCostRequest{})
	return c, err
}

// writeJSON writes one object of what two calls answered.
func (c costs) writeJSON(e *env) (err error) {
	var all struct {
		PieceCosts []json.RawMessage `json:"pieceCosts"`
		Total      json.RawMessage   `json:"total"`
		Accounts   []json.RawMessage `json:"accounts"`
	}
	if all.PieceCosts, err = rawJSONs(c.pieces); err != nil {
		return err
	}
	if all.Total, err = rawJSON(c.shop.Total); err != nil {
		return err
	}
	if all.Accounts, err = rawJSONs(c.shop.Accounts); err != nil {
		return err
	}
	b, err := json.Marshal(all)
	if err != nil {
		return err
	}
	return writeJSON(e.out, b)
}
