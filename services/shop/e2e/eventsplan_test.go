package e2e_test

import (
	"errors"
	"io"
	"testing"
	"time"

	"google.golang.org/protobuf/types/known/durationpb"

	"tackfree/pkg/caller"
	"tackfree/pkg/id"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/client"
)

// plansDay has the shop look for a plan for a moment, and publishes it.
func plansDay(t *testing.T, shop *client.Shop) *workflowv1.PublishPlanResponse {
	t.Helper()
	ctx := caller.With(t.Context(), caller.Caller{Actor: "Lead"})
	looking, err := shop.Planning.ProposePlan(ctx, &workflowv1.ProposePlanRequest{Budget: durationpb.New(500 * time.Millisecond), Seed: 1})
	if err != nil {
		t.Fatal(err)
	}
	proposal := ""
	for {
		told, err := looking.Recv()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			t.Fatal(err)
		}
		proposal = told.Proposal
	}
	out, err := shop.Planning.PublishPlan(ctx, &workflowv1.PublishPlanRequest{RequestId: id.New().String(), Proposal: proposal})
	if err != nil {
		t.Fatal(err)
	}
	return out
}
