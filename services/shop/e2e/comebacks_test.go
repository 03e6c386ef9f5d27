package e2e_test

import (
	"context"
	"testing"

	"tackfree/pkg/caller"
	"tackfree/pkg/id"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/client"
)

// comesBack has a piece come back that the story sold, for a loose joint, and judges and closes it.
func comesBack(t *testing.T, shop *client.Shop) *workflowv1.Comeback {
	t.Helper()
	ctx := caller.With(t.Context(), caller.Caller{Actor: "Odile"})
	piece := soldOne(ctx, t, shop)
	var opened *workflowv1.OpenComebackResponse
	eventually(t, "the floor to know of the sale", func() (known bool) {
		var err error
		opened, err = shop.Comebacks.OpenComeback(ctx, &workflowv1.OpenComebackRequest{RequestId: id.New().String(), Piece: piece, ReportedBy: "R. Okafor",
			Faults: []*workflowv1.Defect{{Kind: "joint_loose", Note: "the left leg"}}})
		return err == nil
	})
	comeback := opened.Comeback.Name
	if _, err := shop.Comebacks.PlanComeback(ctx, &workflowv1.PlanComebackRequest{RequestId: id.New().String(), Comeback: comeback}); err != nil {
		t.Fatal(err)
	}
	if _, err := shop.Comebacks.JudgeComeback(ctx, &workflowv1.JudgeComebackRequest{RequestId: id.New().String(), Comeback: comeback,
		Judgement: &workflowv1.Judgement{Source: workflowv1.Judgement_SOURCE_PIECE, Certainty: workflowv1.Judgement_CERTAINTY_LIKELY, Note: "old glue"}}); err != nil {
		t.Fatal(err)
	}
	closed, err := shop.Comebacks.CloseComeback(ctx, &workflowv1.CloseComebackRequest{RequestId: id.New().String(), Comeback: comeback, Outcome: workflowv1.Comeback_OUTCOME_REFUNDED})
	if err != nil {
		t.Fatal(err)
	}
	return closed.Comeback
}

// soldOne is a piece that was sold.
func soldOne(ctx context.Context, t *testing.T, shop *client.Shop) string {
	t.Helper()
	costs, err := shop.Costing.ListPieceCosts(ctx, &costingv1.ListPieceCostsRequest{PageSize: 500})
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range costs.PieceCosts {
		if c.State == costingv1.PieceCost_STATE_SOLD {
			return c.Piece
		}
	}
	t.Fatal("the story sold no piece")
	return ""
}

// The books of a shop in which something came back prove to the row, and say what mending it cost.
func TestComebacks(t *testing.T) {
	t.Parallel()
	r := open(t, nil)
	play(t, r.Shop, func(int, int) {})
	back := comesBack(t, r.Shop)
	if len(back.Stages) != 0 || back.Outcome != workflowv1.Comeback_OUTCOME_REFUNDED || back.Judgement == nil {
		t.Errorf("it became %v", back)
	}
	eventually(t, "books that prove", func() bool {
		v, err := r.Shop.Books.Verify(t.Context(), &costingv1.VerifyRequest{})
		return err == nil && v.Clean
	})
	cost, err := r.Shop.Answers.ListRework(t.Context(), &costingv1.ListReworkRequest{By: costingv1.ListReworkRequest_BY_SOURCE, Of: costingv1.ListReworkRequest_OF_COMEBACKS})
	if err != nil || len(cost.Lines) != 0 {
		t.Errorf("what nobody mended cost %v, %v", cost, err)
	}
}
