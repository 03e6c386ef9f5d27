package server_test

import (
	"context"
	"flag"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"google.golang.org/grpc"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/pgtest"
	"tackfree/pkg/svctest"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/workflow/workflowsvc"
)

func TestMain(m *testing.M) {
	_ = flag.Set("rapid.checks", "40") // each of them is some thirty commands
	pgtest.Main(m)
}

// morning is when the tests' working day begins.
var morning = time.Date(2026, 3, 2, 14, 0, 0, 0, time.UTC)

func at(minutes int) *timestamppb.Timestamp {
	return timestamppb.New(morning.Add(time.Duration(minutes) * time.Minute))
}

// intakeFake has the pieces it is given.
type intakeFake struct {
	intakev1.UnimplementedIntakeServiceServer
	intakev1.UnimplementedAssessmentServiceServer
	eventsv1.UnimplementedEventLogServiceServer
	pieces map[string]*intakev1.Piece
	seen   map[string]*intakev1.PartSeen // by the names of parts
	away   bool                          // nobody answers about what was seen
}

func (f *intakeFake) GetAssessment(_ context.Context, r *intakev1.GetAssessmentRequest) (*intakev1.GetAssessmentResponse, error) {
	if f.away {
		return nil, fault.New(fault.Unavailable, "SERVICE_UNAVAILABLE", "A service of the suite cannot be reached; try again shortly.")
	}
	out := &intakev1.GetAssessmentResponse{Piece: r.Piece}
	for _, p := range f.pieces[r.Piece].GetParts() {
		a := &intakev1.PartAssessment{Part: p.Name, PartLabel: p.Label}
		if a.Seen = f.seen[p.Name]; a.Seen != nil {
			a.Actor, a.AssessTime = "ana", at(-30)
		}
		out.Parts = append(out.Parts, a)
	}
	return out, nil
}

func (f *intakeFake) GetPiece(_ context.Context, r *intakev1.GetPieceRequest) (*intakev1.GetPieceResponse, error) {
	p := f.pieces[r.Name]
	if p == nil {
		return nil, fault.New(fault.NotFound, "PIECE_NOT_FOUND", "There is no such piece.")
	}
	return &intakev1.GetPieceResponse{Piece: p}, nil
}

func (f *intakeFake) ListHeads(context.Context, *eventsv1.ListHeadsRequest) (*eventsv1.ListHeadsResponse, error) {
	return &eventsv1.ListHeadsResponse{Epoch: "one"}, nil
}

// materialsFake has the products it is given.
type materialsFake struct {
	materialsv1.UnimplementedMaterialsServiceServer
	products map[string]*materialsv1.Product
	issues   []*materialsv1.Issue // all on one page
	asked    atomic.Int32
}

func (f *materialsFake) ListIssues(_ context.Context, r *materialsv1.ListIssuesRequest) (*materialsv1.ListIssuesResponse, error) {
	out := &materialsv1.ListIssuesResponse{}
	for _, i := range f.issues {
		if r.Piece == "" || strings.HasPrefix(i.Stage, r.Piece+"/") {
			out.Issues = append(out.Issues, i)
		}
	}
	return out, nil
}

func (f *materialsFake) GetProduct(_ context.Context, r *materialsv1.GetProductRequest) (*materialsv1.GetProductResponse, error) {
	f.asked.Add(1)
	p := f.products[r.Name]
	if p == nil {
		return nil, fault.New(fault.NotFound, "PRODUCT_NOT_FOUND", "There is no such product.")
	}
	return &materialsv1.GetProductResponse{Product: p}, nil
}

// add makes a piece with parts of these labels.
func (f *intakeFake) add(labels ...string) *intakev1.Piece {
	piece := id.New()
	p := &intakev1.Piece{Name: id.Name("pieces", piece), Tag: 7, State: intakev1.Piece_STATE_IN_HAND, TakenInTime: at(-60)}
	for _, label := range labels {
		p.Parts = append(p.Parts, &intakev1.Part{Name: id.Name("pieces", piece, "parts", id.New()), Label: label, Count: 1})
	}
	f.pieces[p.Name] = p
	return p
}

// floor is a running workflow service and short ways to use it.
type floor struct {
	*svctest.Service
	people workflowv1.PeopleServiceClient
	routes workflowv1.RouteServiceClient
	stages workflowv1.StageServiceClient
	clocks workflowv1.ClockServiceClient
	tests  workflowv1.PartTestServiceClient
	air    workflowv1.ClimateServiceClient
	plans  workflowv1.FinishServiceClient
	intake *intakeFake
	stock  *materialsFake
	sales  *salesFake

	cautions map[string][]string // ids, by the stages that have them
}

func setup(t testing.TB) *floor {
	t.Helper()
	return setupWith(t, svctest.Options{})
}

// setupWith starts the service with other options than the usual ones.
func setupWith(t testing.TB, o svctest.Options) *floor {
	t.Helper()
	intake := &intakeFake{pieces: map[string]*intakev1.Piece{}, seen: map[string]*intakev1.PartSeen{}}
	peer := svctest.Fake(t, func(r grpc.ServiceRegistrar) {
		intakev1.RegisterIntakeServiceServer(r, intake)
		intakev1.RegisterAssessmentServiceServer(r, intake)
		eventsv1.RegisterEventLogServiceServer(r, intake)
	})
	stock := &materialsFake{products: map[string]*materialsv1.Product{}}
	shelf := svctest.Fake(t, func(r grpc.ServiceRegistrar) { materialsv1.RegisterMaterialsServiceServer(r, stock) })
	till := &salesFake{}
	sold := svctest.Fake(t, func(r grpc.ServiceRegistrar) { eventsv1.RegisterEventLogServiceServer(r, till) })
	o.Peers = map[string]grpc.ClientConnInterface{"intake": peer, "materials": shelf, "sales": sold}
	s := svctest.Start(t, workflowsvc.Name, workflowsvc.Run, o)
	return &floor{
		Service: s, intake: intake, stock: stock, sales: till, plans: workflowv1.NewFinishServiceClient(s.Conn),
		people: workflowv1.NewPeopleServiceClient(s.Conn), routes: workflowv1.NewRouteServiceClient(s.Conn),
		stages: workflowv1.NewStageServiceClient(s.Conn), clocks: workflowv1.NewClockServiceClient(s.Conn),
		tests: workflowv1.NewPartTestServiceClient(s.Conn), air: workflowv1.NewClimateServiceClient(s.Conn), cautions: map[string][]string{},
	}
}

func (f *floor) person(t testing.TB, name string, skills ...string) string {
	t.Helper()
	r, err := f.people.AddPerson(svctest.Ctx(t), &workflowv1.AddPersonRequest{RequestId: svctest.NewID(), DisplayName: name, Skills: skills})
	if err != nil {
		t.Fatal(err)
	}
	return r.Person.Name
}

func step(key, skill string, after ...string) *workflowv1.Step {
	return &workflowv1.Step{Key: key, Kind: key, Scope: workflowv1.Step_SCOPE_PART, After: after, Skill: skill, AttendedMinutes: 30}
}

func saveRoute(steps ...*workflowv1.Step) *workflowv1.SaveRouteRequest {
	return &workflowv1.SaveRouteRequest{RequestId: svctest.NewID(), Route: &workflowv1.Route{Name: "routes/painted", Steps: steps}}
}

// planned tests a piece with a top and a case for lead, of which it is free, plans it
// through strip, sand and coat, and returns its stages by title.
func (f *floor) planned(t testing.TB) (piece string, stages map[string]*workflowv1.Stage) {
	t.Helper()
	if _, err := f.routes.SaveRoute(svctest.Ctx(t), saveRoute(step("strip", "strip"), step("sand", "", "strip"), step("coat", "", "sand"))); err != nil {
		t.Fatal(err)
	}
	p := f.intake.add("top", "case")
	f.free(t, p.Name)
	r, err := f.stages.PlanStages(svctest.Ctx(t), &workflowv1.PlanStagesRequest{RequestId: svctest.NewID(), Piece: p.Name, Route: "routes/painted", PlanTime: at(0)})
	if err != nil {
		t.Fatal(err)
	}
	f.know(r.Stages)
	stages = map[string]*workflowv1.Stage{}
	for _, s := range r.Stages {
		stages[s.Key+" "+s.PartLabel] = s
	}
	return p.Name, stages
}

// clockOn is the clock-on of somebody who has read what the stage warns of.
func (f *floor) clockOn(person, stage string, minute int) *workflowv1.ClockOnRequest {
	return &workflowv1.ClockOnRequest{RequestId: svctest.NewID(), Person: person, Stage: stage, StartTime: at(minute), AcknowledgedCautions: f.cautions[stage]}
}

// know keeps what planned stages warn of.
func (f *floor) know(stages []*workflowv1.Stage) {
	for _, s := range stages {
		for _, c := range s.Cautions {
			f.cautions[s.Name] = append(f.cautions[s.Name], c.Id)
		}
	}
}

// leadTest is a test of the whole piece.
func leadTest(piece string, result workflowv1.Lead_Result, minute int) *workflowv1.RecordLeadTestRequest {
	return &workflowv1.RecordLeadTestRequest{RequestId: svctest.NewID(), Piece: piece, Lead: &workflowv1.Lead{Result: result}, TestTime: at(minute)}
}

// free has a piece tested for lead, which finds none.
func (f *floor) free(t testing.TB, piece string) {
	t.Helper()
	if _, err := f.tests.RecordLeadTest(svctest.Ctx(t), leadTest(piece, workflowv1.Lead_RESULT_FREE, -1)); err != nil {
		t.Fatal(err)
	}
}

func clockOff(person string, minute int) *workflowv1.ClockOffRequest {
	return &workflowv1.ClockOffRequest{RequestId: svctest.NewID(), Person: person, EndTime: at(minute)}
}

// says checks that a refusal says all of the words.
func says(t testing.TB, f *fault.Fault, words ...string) {
	t.Helper()
	for _, w := range words {
		if !strings.Contains(f.Text, w) {
			t.Errorf("%s says %q, not %q", f.Reason, f.Text, w)
		}
	}
}

// works clocks a stretch of work.
func (f *floor) works(t testing.TB, person, stage string, from, to int) *workflowv1.ClockEntry {
	t.Helper()
	if _, err := f.clocks.ClockOn(svctest.Ctx(t), f.clockOn(person, stage, from)); err != nil {
		t.Fatal(err)
	}
	r, err := f.clocks.ClockOff(svctest.Ctx(t), clockOff(person, to))
	if err != nil {
		t.Fatal(err)
	}
	return r.ClockEntry
}

func (f *floor) finish(t testing.TB, stage string) {
	t.Helper()
	f.finishAt(t, stage, 600)
}

func (f *floor) finishAt(t testing.TB, stage string, minute int) {
	t.Helper()
	if _, err := f.stages.FinishStage(svctest.Ctx(t), finishing(stage, minute)); err != nil {
		t.Fatal(err)
	}
}

func (f *floor) sendBackAt(t testing.TB, stage string, minute int) []*workflowv1.Stage {
	t.Helper()
	r, err := f.stages.SendBackStage(svctest.Ctx(t), sendingBack(stage, minute))
	if err != nil {
		t.Fatal(err)
	}
	return r.Stages
}

// entries lists a person's clock entries.
func (f *floor) entries(t testing.TB, person string) []*workflowv1.ClockEntry {
	t.Helper()
	r, err := f.clocks.ListClockEntries(t.Context(), &workflowv1.ListClockEntriesRequest{Person: person})
	if err != nil {
		t.Fatal(err)
	}
	return r.ClockEntries
}
