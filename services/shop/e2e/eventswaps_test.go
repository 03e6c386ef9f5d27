package e2e_test

import (
	"context"
	"slices"
	"testing"

	"tackfree/pkg/caller"
	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/client"
)

// swapsStage has somebody ask somebody else to take a stage, who takes it and then gives it back.
func swapsStage(t *testing.T, shop *client.Shop) {
	t.Helper()
	ctx := caller.With(t.Context(), caller.Caller{Actor: "Lead"})
	board, err := shop.Floor.ListBoard(ctx, &workflowv1.ListBoardRequest{PageSize: 1000})
	if err != nil {
		t.Fatal(err)
	}
	for _, line := range board.Lines {
		for _, next := range line.Next {
			if hands := couldHave(ctx, t, shop, next.Stage); len(hands) == 2 {
				swap(ctx, t, shop, next.Stage, hands[0], hands[1])
				return
			}
		}
	}
	t.Fatal("no stage on the board could be one of two people's")
}

// couldHave gives the stage to one person after the other, and returns the first two who may have it.
func couldHave(ctx context.Context, t *testing.T, shop *client.Shop, stage string) (hands []string) {
	t.Helper()
	people, err := shop.People.ListPeople(ctx, &workflowv1.ListPeopleRequest{PageSize: 1000})
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range slices.Backward(people.People) {
		_, err := shop.Stages.AssignStage(ctx, &workflowv1.AssignStageRequest{RequestId: id.New().String(), Stage: stage, Person: p.Name})
		switch {
		case err == nil:
			if hands = append([]string{p.Name}, hands...); len(hands) == 2 {
				return hands
			}
		case fault.Of(err) == nil:
			t.Fatal(err)
		}
	}
	return hands
}

func swap(ctx context.Context, t *testing.T, shop *client.Shop, stage, from, to string) {
	t.Helper()
	offered, err := shop.Swaps.OfferSwap(ctx, &workflowv1.OfferSwapRequest{RequestId: id.New().String(), Person: from, Stage: stage, ToPerson: to, Note: "I am at the booth all day"})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := shop.Swaps.AnswerSwap(ctx, &workflowv1.AnswerSwapRequest{RequestId: id.New().String(), Swap: offered.Swap.Name, Person: to, Accept: true}); err != nil {
		t.Fatal(err)
	}
	if _, err := shop.Swaps.RefuseStage(ctx, &workflowv1.RefuseStageRequest{RequestId: id.New().String(), Stage: stage, Person: to, Reason: "my wrist hurts"}); err != nil {
		t.Fatal(err)
	}
}
