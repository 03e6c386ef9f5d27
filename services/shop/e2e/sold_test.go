package e2e_test

import (
	"context"
	"slices"
	"testing"

	moneyv1 "google.golang.org/genproto/googleapis/type/money"

	"tackfree/pkg/caller"
	"tackfree/pkg/id"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/client"
)

// sellAsItIs sells a piece, done or not, and gives the sale.
func sellAsItIs(ctx context.Context, t *testing.T, shop *client.Shop, piece string) string {
	t.Helper()
	r, err := shop.Sales.SellPiece(ctx, &salesv1.SellPieceRequest{RequestId: id.New().String(), Piece: piece, Price: &moneyv1.Money{CurrencyCode: "USD", Units: 120}, Buyer: "Ines"})
	if err != nil {
		t.Fatal(err)
	}
	return r.Sale.Name
}

// In the demo's shop a piece is sold with work left on it. It is gone from the board, from the floor's plan and from
// what everybody is offered; the buyer brings it back, and all of it is work again.
func TestSold_LeavesTheFloor(t *testing.T) {
	s := open(t, nil)
	play(t, s.Shop, func(int, int) {})
	ctx := caller.With(t.Context(), caller.Caller{Actor: "Odile"})
	board := func() []*workflowv1.BoardLine {
		r, err := s.Shop.Floor.ListBoard(ctx, &workflowv1.ListBoardRequest{PageSize: 1000})
		if err != nil {
			t.Fatal(err)
		}
		return r.Lines
	}
	at := slices.IndexFunc(board(), func(l *workflowv1.BoardLine) bool { return l.State == workflowv1.BoardLine_STATE_READY })
	if at < 0 {
		t.Fatal("nothing is ready in the demo's shop")
	}
	piece := board()[at].Piece
	shown := func() bool {
		return slices.ContainsFunc(board(), func(l *workflowv1.BoardLine) bool { return l.Piece == piece })
	}
	planned := func() bool {
		r, err := s.Shop.Planning.GetFloorPlan(ctx, &workflowv1.GetFloorPlanRequest{})
		if err != nil {
			t.Fatal(err)
		}
		return slices.ContainsFunc(r.Plan.Pieces, func(p *workflowv1.PieceOutlook) bool { return p.Piece == piece })
	}
	offered := func() bool {
		people, err := s.Shop.AllPeople(ctx)
		if err != nil {
			t.Fatal(err)
		}
		for _, p := range people {
			r, err := s.Shop.Stages.ListNextStages(ctx, &workflowv1.ListNextStagesRequest{Person: p.Name, PageSize: 50})
			if err != nil {
				t.Fatal(err)
			}
			if slices.ContainsFunc(r.NextStages, func(n *workflowv1.NextStage) bool { return n.Piece == piece }) {
				return true
			}
		}
		return false
	}
	if !shown() || !planned() {
		t.Fatalf("before the sale it is on the board: %t, planned: %t; want both", shown(), planned())
	}
	sale := sellAsItIs(ctx, t, s.Shop, piece)
	eventually(t, "gone from the board", func() bool { return !shown() })
	if planned() || offered() {
		t.Errorf("sold it is planned: %t, offered: %t; want neither", planned(), offered())
	}
	if _, err := s.Shop.Sales.RefundSale(ctx, &salesv1.RefundSaleRequest{RequestId: id.New().String(), Sale: sale, PieceReturned: true, Reason: "it did not fit through the door"}); err != nil {
		t.Fatal(err)
	}
	eventually(t, "back on the board", shown)
	if !planned() {
		t.Error("what came back is not planned")
	}
}
