package server_test

import (
	"testing"

	"google.golang.org/genproto/googleapis/type/money"

	"tackfree/pkg/fault"
	"tackfree/pkg/svctest"
	salesv1 "tackfree/proto/tackfree/sales/v1"
)

// The stall keeps a tenth of 240.00 and 30 cents.
func TestServer_SellPiece_FeeFromChannel(t *testing.T) {
	b := setup(t)
	b.channel(t, stall())
	for name, c := range map[string]struct {
		change func(*salesv1.SellPieceRequest)
		fee    *money.Money
		from   bool
	}{
		"NobodySaysTheFee": {func(r *salesv1.SellPieceRequest) { r.Fee = nil }, cents(24_30), true},
		"SaidIsSaid":       {func(r *salesv1.SellPieceRequest) { r.Fee = usd(3) }, usd(3), false},
		"SaidToBeNothing":  {func(r *salesv1.SellPieceRequest) { r.Fee = usd(0) }, usd(0), false},
		"AtLeast":          {func(r *salesv1.SellPieceRequest) { r.Fee, r.Price = nil, usd(20) }, usd(5), true},
		"AtMost":           {func(r *salesv1.SellPieceRequest) { r.Fee, r.Price = nil, usd(900) }, usd(40), true},
		"OtherChannel":     {func(r *salesv1.SellPieceRequest) { r.Fee, r.Channel = nil, "cousin" }, usd(0), false},
	} {
		t.Run(name, func(t *testing.T) {
			piece := b.piece()
			b.list(t, piece)
			r := sell(piece)
			c.change(r)
			sold, err := b.SellPiece(svctest.Ctx(t), r)
			if err != nil {
				t.Fatal(err)
			}
			differ(t, "fee", c.fee, sold.Sale.Fee)
			e := b.Last(t).GetPieceSold()
			differ(t, "fee of the event", c.fee, e.Fee)
			if kept := b.get(t, piece).Sales[0]; sold.Sale.FeeFromChannel != c.from || kept.FeeFromChannel != c.from || e.FeeFromChannel != c.from {
				t.Errorf("from the channel: answered %t, kept %t, told %t, want %t", sold.Sale.FeeFromChannel, kept.FeeFromChannel, e.FeeFromChannel, c.from)
			}
		})
	}
}

func TestServer_SellPiece_FeeFromChannel_Refuses(t *testing.T) {
	b := setup(t)
	b.channel(t, stall())
	piece, sold := b.piece(), b.piece()
	b.list(t, piece)
	b.sell(t, sold)
	low := sell(piece)
	low.Fee, low.Tax, low.Price = nil, nil, usd(4) // the stall keeps 5 at least
	fields(t, svctest.Refused(t, b.Service, b.SellPiece, low, fault.Invalid, "FEE_ABOVE_PRICE"), "fee")
	low.Price = usd(0)
	svctest.Refused(t, b.Service, b.SellPiece, low, fault.Invalid, "PRICE_ZERO")
	again := sell(sold)
	again.Fee, again.Channel = nil, "market stall"
	svctest.Refused(t, b.Service, b.SellPiece, again, fault.Precondition, "PIECE_SOLD")
}

// A set has one price, and the channel keeps its fee of that: 20 % of 500.00 and 10 % of the rest, of what the buyers pay.
func TestServer_SellSet_FeeFromChannel(t *testing.T) {
	b := setup(t)
	r := stall()
	r.Fees = tiered()
	b.channel(t, r)
	one, two := b.piece(), b.piece()
	b.list(t, one)
	b.list(t, two)
	sold, err := b.SellSet(svctest.Ctx(t), &salesv1.SellSetRequest{RequestId: svctest.NewID(), Items: []*salesv1.SellSetRequest_Item{{Piece: one}, {Piece: two}},
		Price: usd(560), Tax: usd(40), SaleTime: then})
	if err != nil {
		t.Fatal(err)
	}
	differ(t, "fee of the set", usd(110), sold.Set.Fee)
	differ(t, "fee of a piece", usd(55), sold.Set.Parts[0].Sale.Fee)
	shown, err := b.GetSet(t.Context(), &salesv1.GetSetRequest{Name: sold.Set.Name})
	if err != nil {
		t.Fatal(err)
	}
	differ(t, "GetSet", sold.Set, shown.Set)
	if !shown.Set.FeeFromChannel || !b.get(t, two).Sales[0].FeeFromChannel {
		t.Error("the set does not say that its fee follows from the channel")
	}
}
