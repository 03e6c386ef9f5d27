package cli

import (
	"cmp"
	"context"
	"fmt"
	"strings"

	moneyv1 "google.golang.org/genproto/googleapis/type/money"

	intakev1 "tackfree/proto/tackfree/intake/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type splitLotCmd struct {
	timed
	ofJoint
	Weights []string `arg:"" optional:"" name:"weight" help:"What each piece is expected to sell for, or its share, such as '12 = 60'; none where the split is equal." sep:"none"`
	By      string   `help:"How the price is split: by what each is expected to sell for (value), equally, or as each piece says (hand)." enum:"value,equally,hand" required:"" placeholder:"value|equally|hand"`
	Reason  string   `help:"Why." required:""`
}

func (c *splitLotCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		l, err := shop.PieceLot(e.ctx, c.Lot)
		if err != nil {
			return err
		}
		r := &intakev1.ReviseLotSplitRequest{RequestId: c.request(), Lot: l.Name, Split: splitsByWord[c.By], Reason: c.Reason}
		if r.Items, err = c.items(e.ctx, shop); err != nil {
			return err
		}
		if r.ReviseTime, err = c.at(e.ctx, shop); err != nil {
			return err
		}
		resp, err := shop.PieceLots.ReviseLotSplit(e.ctx, r)
		if err != nil {
			return err
		}
		err = c.print(e, resp, func() error { return printJoint(e, shop, resp.Lot) })
		noteClosed(e, shop, r.ReviseTime)
		return err
	})
}

// items reads the pieces and what they count for.
func (c *splitLotCmd) items(ctx context.Context, shop *client.Shop) (all []*intakev1.ReviseLotSplitRequest_Item, err error) {
	terms, err := shop.Terms(ctx)
	if err != nil {
		return nil, err
	}
	for _, text := range c.Weights {
		tag, amount, _ := strings.Cut(text, "=")
		p, err := shop.Piece(ctx, strings.TrimSpace(tag))
		if err != nil {
			return nil, err
		}
		item := &intakev1.ReviseLotSplitRequest_Item{Piece: p.Name}
		if item.Weight, err = weightOf(strings.TrimSpace(amount), splitsByWord[c.By], terms); err != nil {
			return nil, fmt.Errorf("piece %d: %w", p.Tag, err)
		}
		all = append(all, item)
	}
	return all, nil
}

type fixPriceCmd struct {
	timed
	Piece  string `arg:"" help:"Tag number."`
	Price  string `arg:"" help:"What it really cost."`
	Lot    bool   `help:"It is the price of the whole lot that the piece is of."`
	Reason string `help:"Why." required:""`
}

func (c *fixPriceCmd) Run(e *env) error {
	return e.withPiecePrice(c.Piece, c.Price, func(shop *client.Shop, p *intakev1.Piece, price *moneyv1.Money) error {
		r := &intakev1.CorrectPurchaseRequest{RequestId: c.request(), Price: price, Reason: c.Reason,
			Purchase: &intakev1.CorrectPurchaseRequest_Piece{Piece: p.Name}}
		if c.Lot {
			l, err := shop.PieceLot(e.ctx, p.Name)
			if err != nil {
				return err
			}
			r.Purchase = &intakev1.CorrectPurchaseRequest_Lot{Lot: l.Name}
		}
		var err error
		if r.CorrectTime, err = c.at(e.ctx, shop); err != nil {
			return err
		}
		resp, err := shop.PieceLots.CorrectPurchase(e.ctx, r)
		if err != nil {
			return err
		}
		err = c.print(e, resp, func() error {
			if c.Lot {
				return printJoint(e, shop, resp.GetLot())
			}
			_, err := fmt.Fprintf(e.out, "Piece %d cost %s.\n", p.Tag, report.Money(resp.GetPiece().GetPurchase().GetPrice()))
			return err
		})
		noteClosed(e, shop, cmp.Or(resp.GetPiece().GetTakenInTime(), resp.GetLot().GetTakenInTime())) // it counts from then
		return err
	})
}
