package scenario_test

import (
	"context"
	"strings"
	"testing"
	"testing/fstest"

	"google.golang.org/grpc"

	"tackfree/pkg/svctest"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/scenario"
)

// floor takes pieces in and plans them, and notes the plans.
type floor struct {
	intakev1.UnimplementedIntakeServiceServer
	workflowv1.UnimplementedPeopleServiceServer
	workflowv1.UnimplementedStageServiceServer
	plans []string
}

func (f *floor) AddPerson(context.Context, *workflowv1.AddPersonRequest) (*workflowv1.AddPersonResponse, error) {
	return &workflowv1.AddPersonResponse{Person: &workflowv1.Person{Name: "people/1"}}, nil
}

func (f *floor) TakeInPiece(_ context.Context, r *intakev1.TakeInPieceRequest) (*intakev1.TakeInPieceResponse, error) {
	p := &intakev1.Piece{Name: "pieces/1", Parts: r.Parts}
	for _, part := range p.Parts {
		part.Name = "part of " + part.Label
	}
	return &intakev1.TakeInPieceResponse{Piece: p}, nil
}

func (f *floor) PlanStages(_ context.Context, r *workflowv1.PlanStagesRequest) (*workflowv1.PlanStagesResponse, error) {
	plan := r.PlanTime.AsTime().Format("15:04")
	for _, p := range r.Parts {
		plan += ", " + p.Part + " by " + p.Route
	}
	f.plans = append(f.plans, plan)
	return &workflowv1.PlanStagesResponse{}, nil
}

const planned = `{"shop": "A shop", "currency": "USD", "zone": "America/Chicago", "people": [{"name": "Odile"}], "steps": [
	{"at": "2026-03-02 08:00", "take_in": {"tag": 1, "title": "Desk", "kind": "desk", "client": "B", "parts": [{"label": "top"}, {"label": "legs"}, {"label": "base"}]}},
	{"at": "2026-03-02 09:00", "plan": {"piece": "1", "parts": {"top": "oiled", "legs": "waxed", "base": "oiled"}}}]}`

// A story is the same each time it is played, also where it names parts in no order.
func TestPlay_PlansPartsByLabel(t *testing.T) {
	s, err := scenario.Read(fstest.MapFS{"s.json": {Data: []byte(planned)}}, "s.json")
	if err != nil {
		t.Fatal(err)
	}
	f := &floor{}
	conn := svctest.Fake(t, func(r grpc.ServiceRegistrar) {
		intakev1.RegisterIntakeServiceServer(r, f)
		workflowv1.RegisterPeopleServiceServer(r, f)
		workflowv1.RegisterStageServiceServer(r, f)
	})
	shop, err := client.Use(func(string) (grpc.ClientConnInterface, error) { return conn, nil })
	if err != nil {
		t.Fatal(err)
	}
	var told []string
	for range 10 {
		if err := scenario.Play(t.Context(), shop, s, func(_, _ int, text string) { told = append(told, text) }); err != nil {
			t.Fatal(err)
		}
	}
	const want = "15:00, part of base by routes/oiled, part of legs by routes/waxed, part of top by routes/oiled"
	for _, got := range f.plans {
		if got != want {
			t.Fatalf("it is planned as\n%s, want\n%s", got, want)
		}
	}
	if !strings.HasPrefix(told[1], "Mon  2 Mar 08:00  piece 1 comes in") {
		t.Errorf("it is told as %q", told[1])
	}
}
