package cli

import (
	"context"
	"fmt"
	"strings"

	salesv1 "tackfree/proto/tackfree/sales/v1"
	"tackfree/services/shop/internal/client"
)

// hold is the hold by which a piece is sold; empty: by none. What was found out is kept, for afterwards the hold is open no longer.
func (c *sellCmd) hold(e *env, shop *client.Shop) (string, error) {
	switch {
	case c.Hold != "":
		return "holds/" + strings.ToLower(bare(c.Hold)), nil
	case !c.Held:
		return "", nil
	}
	open, err := holdsOf(e.ctx, shop, c.Piece, salesv1.Hold_STATE_OPEN)
	if err != nil {
		return "", err
	}
	if len(open) == 0 {
		return "", fmt.Errorf("piece %s is held for nobody; leave --held away, or look at `shop hold list %s`", c.Piece, c.Piece)
	}
	c.fixed.flags = append(c.fixed.flags, "--hold", bare(open[0].Name))
	return open[0].Name, nil
}

// hold is the hold by which a piece of the set is sold, its newest: open, or sold already where the command is given again; empty: by none.
func (c *sellSetCmd) hold(ctx context.Context, shop *client.Shop, piece string) (string, error) {
	if !c.Held {
		return "", nil
	}
	r, err := shop.Holds.ListHolds(ctx, &salesv1.ListHoldsRequest{Piece: piece, PageSize: 1})
	for _, h := range r.GetHolds() {
		if h.State == salesv1.Hold_STATE_OPEN || h.State == salesv1.Hold_STATE_SOLD {
			return h.Name, err
		}
	}
	return "", err
}
