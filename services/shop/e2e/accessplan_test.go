package e2e_test

import (
	"context"
	"errors"
	"io"
	"testing"
	"time"

	"google.golang.org/protobuf/types/known/durationpb"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	typev1 "tackfree/proto/tackfree/type/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// A helper neither has a plan looked for nor publishes one nor has a promise suggested; a lead does.
func TestAccess_Plan(t *testing.T) {
	s := openServed(t)
	owner, nell, joss := s.staffed(t)
	propose := func(ctx context.Context) error {
		stream, err := s.tcp.Planning.ProposePlan(ctx, &workflowv1.ProposePlanRequest{Budget: durationpb.New(100 * time.Millisecond)})
		for err == nil {
			_, err = stream.Recv()
		}
		if errors.Is(err, io.EOF) {
			return nil
		}
		return err
	}
	publish := func(ctx context.Context) error {
		_, err := s.tcp.Planning.PublishPlan(ctx, &workflowv1.PublishPlanRequest{RequestId: id.New().String(), Proposal: id.Name("proposals", id.New())})
		return err
	}
	suggest := func(ctx context.Context) error {
		_, err := s.tcp.Planning.SuggestPromiseDate(ctx, &workflowv1.SuggestPromiseDateRequest{Route: "routes/none"})
		return err
	}
	if _, err := s.tcp.SignIn.SetRole(bring(t, owner), &workflowv1.SetRoleRequest{RequestId: id.New().String(), Person: joss, Role: typev1.Role_ROLE_LEAD}); err != nil {
		t.Fatal(err)
	}
	if _, err := s.tcp.SignIn.SetPassphrase(bring(t, owner), &workflowv1.SetPassphraseRequest{Person: joss, Passphrase: "shellac on a brush"}); err != nil {
		t.Fatal(err)
	}
	in, err := s.tcp.SignIn.SignIn(t.Context(), &workflowv1.SignInRequest{DisplayName: "Joss", Secret: "shellac on a brush", Device: "desk"})
	if err != nil {
		t.Fatal(err)
	}
	for name, c := range map[string]struct {
		call func(context.Context) error
		lead string // why a lead who may is refused
	}{"propose": {propose, ""}, "publish": {publish, "PROPOSAL_NOT_FOUND"}, "suggest": {suggest, "ROUTE_NOT_FOUND"}} {
		if err := c.call(bring(t, nell)); !fault.Is(err, "ROLE_TOO_LOW") || !errors.Is(err, fault.Denied) {
			t.Errorf("%s by a helper: %v", name, err)
		}
		if err := c.call(bring(t, in.Admission)); (c.lead == "") != (err == nil) || err != nil && !fault.Is(err, c.lead) {
			t.Errorf("%s by a lead: %v, want %q", name, err, c.lead)
		}
	}
}
