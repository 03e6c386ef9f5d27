package scenario_test

import (
	"context"
	"slices"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"google.golang.org/grpc"

	"tackfree/pkg/svctest"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/scenario"
)

// sanding is a floor with one stage, which has cautions.
type sanding struct {
	floor
	workflowv1.UnimplementedClockServiceServer
	workflowv1.UnimplementedPartTestServiceServer
	workflowv1.UnimplementedInspectionServiceServer
	kind   string // of the stage
	tests  []*workflowv1.RecordLeadTestRequest
	starts []*workflowv1.ClockOnRequest
	ends   []*workflowv1.FinishStageRequest
	looks  []*workflowv1.RecordInspectionRequest
}

var sand = &workflowv1.Stage{Name: "pieces/1/stages/1", Key: "sand", PartLabel: "top", Cautions: []*workflowv1.Caution{{Id: "dust"}, {Id: "lead"}}}

func (f *sanding) PlanStages(context.Context, *workflowv1.PlanStagesRequest) (*workflowv1.PlanStagesResponse, error) {
	return &workflowv1.PlanStagesResponse{Stages: []*workflowv1.Stage{sand}}, nil
}

func (f *sanding) GetStage(context.Context, *workflowv1.GetStageRequest) (*workflowv1.GetStageResponse, error) {
	return &workflowv1.GetStageResponse{Stage: &workflowv1.Stage{Name: sand.Name, Kind: f.kind, Cautions: sand.Cautions}}, nil
}

func (f *sanding) RecordLeadTest(_ context.Context, r *workflowv1.RecordLeadTestRequest) (*workflowv1.RecordLeadTestResponse, error) {
	f.tests = append(f.tests, r)
	return &workflowv1.RecordLeadTestResponse{}, nil
}

func (f *sanding) ClockOn(_ context.Context, r *workflowv1.ClockOnRequest) (*workflowv1.ClockOnResponse, error) {
	f.starts = append(f.starts, r)
	return &workflowv1.ClockOnResponse{}, nil
}

func (f *sanding) ClockOff(context.Context, *workflowv1.ClockOffRequest) (*workflowv1.ClockOffResponse, error) {
	return &workflowv1.ClockOffResponse{}, nil
}

func (f *sanding) FinishStage(_ context.Context, r *workflowv1.FinishStageRequest) (*workflowv1.FinishStageResponse, error) {
	f.ends = append(f.ends, r)
	return &workflowv1.FinishStageResponse{}, nil
}

func (f *sanding) RecordInspection(_ context.Context, r *workflowv1.RecordInspectionRequest) (*workflowv1.RecordInspectionResponse, error) {
	f.looks = append(f.looks, r)
	return &workflowv1.RecordInspectionResponse{}, nil
}

// tell plays a story of a desk, to which it adds a step.
func (f *sanding) tell(t *testing.T, step string) error {
	t.Helper()
	return f.play(t, deskStory(t, step))
}

func deskStory(t *testing.T, step string) *scenario.Scenario {
	t.Helper()
	story := `{"shop": "A shop", "currency": "USD", "zone": "America/Chicago", "people": [{"name": "Odile"}], "steps": [
		{"at": "2026-03-02 08:00", "take_in": {"tag": 1, "title": "Desk", "kind": "desk", "client": "B", "parts": [{"label": "top"}]}},
		{"at": "2026-03-02 09:00", "plan": {"piece": "1", "route": "oiled"}}, ` + step + `]}`
	s, err := scenario.Read(fstest.MapFS{"s.json": {Data: []byte(story)}}, "s.json")
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func (f *sanding) play(t *testing.T, s *scenario.Scenario) error {
	t.Helper()
	conn := svctest.Fake(t, func(r grpc.ServiceRegistrar) {
		intakev1.RegisterIntakeServiceServer(r, f)
		workflowv1.RegisterPeopleServiceServer(r, f)
		workflowv1.RegisterStageServiceServer(r, f)
		workflowv1.RegisterClockServiceServer(r, f)
		workflowv1.RegisterPartTestServiceServer(r, f)
		workflowv1.RegisterInspectionServiceServer(r, f)
	})
	shop, err := client.Use(func(string) (grpc.ClientConnInterface, error) { return conn, nil })
	if err != nil {
		t.Fatal(err)
	}
	return scenario.Play(t.Context(), shop, s, func(int, int, string) {})
}

// Whoever starts to work in a story has read the stage's cautions.
func TestPlay_WorkAcknowledgesCautions(t *testing.T) {
	f := &sanding{}
	err := f.tell(t, `{"at": "2026-03-02 10:00", "work": {"piece": "1", "stage": "sand (top)", "who": "Odile", "until": "2026-03-02 11:00", "override": "it is only the edge"}}`)
	if err != nil || len(f.starts) != 1 {
		t.Fatalf("%d clock-ons, %v", len(f.starts), err)
	}
	if r := f.starts[0]; !slices.Equal(r.AcknowledgedCautions, []string{"dust", "lead"}) || r.OverrideReason != "it is only the edge" || r.Stage != sand.Name {
		t.Errorf("the clock-on is %v", r)
	}
}

// What is worked on to the end is finished; an inspection is passed by who did it.
func TestPlay_WorkFinishes(t *testing.T) {
	work := `{"at": "2026-03-02 10:00", "work": {"piece": "1", "stage": "sand (top)", "who": "Odile", "until": "2026-03-02 11:00", "finish": true}}`
	for kind, looks := range map[string]int{"sand": 0, "inspect": 1} {
		f := &sanding{kind: kind}
		if err := f.tell(t, work); err != nil || len(f.looks) != looks || len(f.ends) != 1-looks {
			t.Fatalf("%s: %d inspections and %d ends, %v", kind, len(f.looks), len(f.ends), err)
		}
		if looks == 1 && (!f.looks[0].Passed || f.looks[0].Inspector != f.starts[0].Person || f.looks[0].Stage != sand.Name || f.looks[0].InspectTime.AsTime().Format("15:04") != "17:00") {
			t.Errorf("the inspection is %v", f.looks[0])
		}
	}
}

// A story that is halfway is in the middle of its work: who began works on, and what comes later has not happened.
func TestPlay_Halfway(t *testing.T) {
	f := &sanding{}
	s := deskStory(t, `{"at": "2026-03-02 10:00", "work": {"piece": "1", "stage": "sand (top)", "who": "Odile", "until": "2026-03-02 11:00", "finish": true}},
		{"at": "2026-03-02 12:00", "work": {"piece": "1", "stage": "sand (top)", "who": "Odile", "until": "2026-03-02 13:00", "finish": true}}`)
	now := time.Now().Truncate(time.Second)
	if err := s.Halfway(now); err != nil {
		t.Fatal(err)
	}
	if err := f.play(t, s); err != nil {
		t.Fatal(err)
	}
	if len(f.starts) != 1 || len(f.ends) != 0 || !f.starts[0].StartTime.AsTime().Equal(now) {
		t.Errorf("%d began, the first as %v, and %d ended; want one that began just now, at %s, and none that ended", len(f.starts), f.starts, len(f.ends), now.UTC())
	}
}

func TestPlay_LeadTest(t *testing.T) {
	f := &sanding{}
	if err := f.tell(t, `{"at": "2026-03-02 10:00", "lead_test": {"piece": "1", "part": "top", "result": "found"}},
		{"at": "2026-03-02 10:00", "lead_test": {"piece": "1", "result": "free"}}`); err != nil || len(f.tests) != 2 {
		t.Fatalf("%d tests, %v", len(f.tests), err)
	}
	if r := f.tests[0]; r.Piece != "pieces/1" || r.Part != "part of top" || r.Lead.Result != workflowv1.Lead_RESULT_FOUND || r.TestTime.AsTime().Format("15:04") != "16:00" {
		t.Errorf("of the top: %v", r)
	}
	if r := f.tests[1]; r.Part != "" || r.Lead.Result != workflowv1.Lead_RESULT_FREE {
		t.Errorf("of the whole piece: %v", r)
	}
	if err := f.tell(t, `{"at": "2026-03-02 10:00", "lead_test": {"piece": "1", "part": "lid", "result": "free"}}`); err == nil || !strings.Contains(err.Error(), `piece 1 has no part "lid"`) {
		t.Errorf("a test of a part that there is not: %v", err)
	}
	if err := f.tell(t, `{"at": "2026-03-02 10:00", "lead_test": {"piece": "1", "result": "perhaps"}}`); err == nil || !strings.Contains(err.Error(), "The result is missing") {
		t.Errorf("a test that comes to nothing: %v", err)
	}
}
