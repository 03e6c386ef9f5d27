package e2e_test

import (
	"testing"

	moneyv1 "google.golang.org/genproto/googleapis/type/money"

	"tackfree/pkg/money"
	"tackfree/pkg/wire"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
)

// joins buys three chairs at one price, of which one is scrapped and taken over by the others; puts
// right what they were guessed to bring and what they cost; buys a stool and puts its price right; and
// sells the two chairs together, of which one comes back. It returns the pieces, the stool last.
func (h hand) joins() []*intakev1.Piece {
	h.Helper()
	item := func(title string, worth int64) *intakev1.TakeInLotRequest_Item {
		return &intakev1.TakeInLotRequest_Item{Title: title, Kind: "chair", Parts: []*intakev1.Part{{Label: "whole"}}, Weight: expected(worth)}
	}
	bought := done[*intakev1.TakeInLotResponse](h)(h.PieceLots.TakeInLot(h.ctx, &intakev1.TakeInLotRequest{RequestId: newID(), Price: dollars(180), Source: "house clearance",
		Split: intakev1.Lot_SPLIT_BY_VALUE, OnScrap: intakev1.Lot_ON_SCRAP_TAKES_OVER, TakenInTime: ago(48),
		Items: []*intakev1.TakeInLotRequest_Item{item("Oak chair", 60), item("Walnut chair", 250), item("Elm chair", 95)}}))
	oak, walnut, elm := bought.Pieces[0], bought.Pieces[1], bought.Pieces[2]
	done[*intakev1.ScrapPieceResponse](h)(h.Intake.ScrapPiece(h.ctx, &intakev1.ScrapPieceRequest{RequestId: newID(), Piece: elm.Name, Reason: "worm", ScrapTime: ago(40)}))
	done[*intakev1.ReviseLotSplitResponse](h)(h.PieceLots.ReviseLotSplit(h.ctx, &intakev1.ReviseLotSplitRequest{RequestId: newID(), Lot: bought.Lot.Name, Split: intakev1.Lot_SPLIT_BY_VALUE,
		Items:  []*intakev1.ReviseLotSplitRequest_Item{{Piece: oak.Name, Weight: expected(100)}, {Piece: walnut.Name, Weight: expected(100)}, {Piece: elm.Name, Weight: expected(200)}},
		Reason: "the walnut is veneer", ReviseTime: ago(30)}))
	done[*intakev1.CorrectPurchaseResponse](h)(h.PieceLots.CorrectPurchase(h.ctx, &intakev1.CorrectPurchaseRequest{RequestId: newID(), Price: dollars(200), Reason: "the premium",
		Purchase: &intakev1.CorrectPurchaseRequest_Lot{Lot: bought.Lot.Name}, CorrectTime: ago(20)}))
	stool := done[*intakev1.TakeInPieceResponse](h)(h.Intake.TakeInPiece(h.ctx, &intakev1.TakeInPieceRequest{RequestId: newID(), Title: "Stool", Kind: "stool", Parts: []*intakev1.Part{{Label: "whole"}},
		Origin: &intakev1.TakeInPieceRequest_Purchase{Purchase: &intakev1.Purchase{Price: dollars(45), Source: "kerb"}}, TakenInTime: ago(40)})).Piece
	done[*intakev1.CorrectPurchaseResponse](h)(h.PieceLots.CorrectPurchase(h.ctx, &intakev1.CorrectPurchaseRequest{RequestId: newID(), Price: dollars(42), Reason: "the receipt",
		Purchase: &intakev1.CorrectPurchaseRequest_Piece{Piece: stool.Name}}))
	h.sellsTogether(oak, walnut)
	return append(bought.Pieces, stool)
}

// sellsTogether sells one listed and one unlisted piece at one price, of which the second comes back.
func (h hand) sellsTogether(one, other *intakev1.Piece) {
	h.Helper()
	done[*salesv1.CreateListingResponse](h)(h.Sales.CreateListing(h.ctx, &salesv1.CreateListingRequest{RequestId: newID(), Piece: one.Name, Channel: "shop floor", AskingPrice: dollars(150)}))
	sold := done[*salesv1.SellSetResponse](h)(h.Sets.SellSet(h.ctx, &salesv1.SellSetRequest{RequestId: newID(), Price: dollars(540), Fee: dollars(60), Buyer: "R. Okafor",
		Items: []*salesv1.SellSetRequest_Item{{Piece: one.Name}, {Piece: other.Name, Weight: dollars(450)}}}))
	done[*salesv1.RefundSaleResponse](h)(h.Sales.RefundSale(h.ctx, &salesv1.RefundSaleRequest{RequestId: newID(), Sale: sold.Set.Parts[1].Sale.Name,
		Price: dollars(405), PieceReturned: true, Reason: "too low"}))
}

func expected(units int64) *intakev1.Weight {
	return &intakev1.Weight{By: &intakev1.Weight_ExpectedValue{ExpectedValue: dollars(units)}}
}

// What was bought and sold together is in the books to the cent, piece by piece: of 200.00 the scrapped
// chair's half goes to the other two. The books are proven, and made anew they are the same.
func TestStory_BoughtAndSoldTogether(t *testing.T) {
	s := open(t, nil)
	h := stockhand(t, s.Shop)
	pieces := h.joins()
	amount := func(m *moneyv1.Money) money.Amount {
		a, _ := wire.FromMoney(m, 2)
		return a
	}
	check := func() {
		t.Helper()
		verified(t, s.Shop)
		for i, want := range []struct{ cost, earned, fees money.Amount }{{10_000, 13_500, 1_500}, {10_000, 0, 4_500}, {0, 0, 0}, {4_200, 0, 0}} {
			r := done[*costingv1.GetPieceCostResponse](h)(s.Shop.Costing.GetPieceCost(t.Context(), &costingv1.GetPieceCostRequest{Piece: pieces[i].Name}))
			p := r.PieceCost.Sums
			if amount(p.Cost) != want.cost || amount(p.Revenue) != want.earned || amount(p.Fees) != want.fees {
				t.Errorf("%s cost %v, earned %v, less %v; want %+v", r.PieceCost.Title, p.Cost, p.Revenue, p.Fees, want)
			}
		}
	}
	check()
	done[*costingv1.RebuildResponse](h)(s.Shop.Books.Rebuild(t.Context(), &costingv1.RebuildRequest{}))
	check()
}
