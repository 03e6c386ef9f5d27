package server_test

import (
	"fmt"
	"slices"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/jackc/pgx/v5"
	"google.golang.org/genproto/googleapis/type/date"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/testing/protocmp"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// plannedFloor is a Monday at nine in a shop where Nell strips, Odo does not, and both do all else. A piece
// has a top and a case to strip, sand and coat.
type plannedFloor struct {
	*floor
	workflowv1.PlanningServiceClient
	wall      *wall
	nell, odo string
	piece     string
	stages    map[string]*workflowv1.Stage
}

func setupPlanning(t testing.TB) *plannedFloor {
	t.Helper()
	w := &wall{}
	w.set(0)
	f := setupWith(t, svctest.Options{Now: w.Now})
	p := &plannedFloor{floor: f, PlanningServiceClient: workflowv1.NewPlanningServiceClient(f.Conn), wall: w, nell: f.person(t, "Nell", "strip"), odo: f.person(t, "Odo")}
	f.scheduled(t, p.nell)
	f.scheduled(t, p.odo)
	p.piece, p.stages = f.planned(t)
	return p
}

func (p *plannedFloor) plan(t testing.TB) *workflowv1.FloorPlan {
	t.Helper()
	r, err := p.GetFloorPlan(svctest.Ctx(t), &workflowv1.GetFloorPlanRequest{})
	if err != nil {
		t.Fatal(err)
	}
	return r.Plan
}

// lines are the places of a plan, in minutes after nine.
func lines(p *workflowv1.FloorPlan) (out []string) {
	for _, s := range p.Stages {
		minute := func(at *timestamppb.Timestamp) int { return int(at.AsTime().Sub(morning) / time.Minute) }
		out = append(out, fmt.Sprintf("%s: %s %d to %d", s.Title, s.PersonName, minute(s.StartTime), minute(s.EndTime)))
	}
	return out
}

func pin(stage, person string, start *timestamppb.Timestamp) *workflowv1.PinStageRequest {
	return &workflowv1.PinStageRequest{RequestId: svctest.NewID(), Stage: stage, Person: person, StartTime: start}
}

// The plan of the floor is what people are told, and one of them what they do; it changes as soon as something
// happens.
func TestServer_GetFloorPlan(t *testing.T) {
	t.Parallel()
	p := setupPlanning(t)
	p.promise(t, p.piece, at(240), nil)
	whole := p.plan(t)
	if got := lines(whole); len(got) != 6 || got[0] != "strip (top): Nell 0 to 30" {
		t.Fatalf("plan %q", got)
	}
	for _, s := range whole.Stages {
		if s.Kind == "strip" && s.Person != p.nell {
			t.Errorf("%s is planned for %s, who cannot strip", s.Title, s.PersonName)
		}
		if s.Piece != p.piece || s.PieceTag != 7 || s.InWork || s.Assigned {
			t.Errorf("%v", s)
		}
	}
	if o := whole.Pieces; len(o) != 1 || o[0].Piece != p.piece || !o[0].PromiseTime.AsTime().Equal(at(240).AsTime()) || !o[0].EndTime.AsTime().Equal(at(120).AsTime()) || o[0].Chance < 0.9 || o[0].LateTime == nil {
		t.Errorf("pieces %v", o)
	}
	if len(whole.Presence) != 2 || whole.Presence[0].PersonName != "Nell" || !whole.Presence[0].Stretches[0].EndTime.AsTime().Equal(at(180).AsTime()) || whole.Runs != 200 {
		t.Errorf("presence %v, %d runs", whole.Presence[0].Stretches[:1], whole.Runs)
	}
	r, err := p.GetFloorPlan(svctest.Ctx(t), &workflowv1.GetFloorPlanRequest{Person: p.nell})
	if err != nil || len(r.Plan.Stages) == 0 || len(r.Plan.Stages) == 6 || len(r.Plan.Presence) != 1 || slices.ContainsFunc(r.Plan.Stages, func(s *workflowv1.PlacedStage) bool { return s.Person != p.nell }) {
		t.Errorf("Nell's plan is %v, %v", r, err)
	}
	if again := p.plan(t); !proto.Equal(whole, again) {
		t.Error("asked again, the plan is another one")
	}
	if _, err := p.clocks.ClockOn(svctest.Ctx(t), p.clockOn(p.nell, p.stages["strip case"].Name, 0)); err != nil {
		t.Fatal(err)
	}
	if now := p.plan(t).Stages[0]; now.Title != "strip (case)" || !now.InWork {
		t.Errorf("Nell strips the case, and the plan begins with %v", now)
	}
	svctest.Refused(t, p.Service, p.GetFloorPlan, &workflowv1.GetFloorPlanRequest{Person: id.Name("people", id.New())}, fault.NotFound, "PERSON_NOT_FOUND")
}

// Whoever begins what is planned next is let: the plan asks nothing that a clock-on refuses.
func TestServer_GetFloorPlan_IsLetBegin(t *testing.T) {
	t.Parallel()
	p := setupPlanning(t)
	if _, err := workflowv1.NewStationServiceClient(p.Conn).SaveStation(svctest.Ctx(t), &workflowv1.SaveStationRequest{RequestId: svctest.NewID(), Station: &workflowv1.Station{Name: "stations/bench",
		DisplayName: "Bench", Kind: workflowv1.Station_KIND_BENCH, Capacity: 1, Unit: workflowv1.Station_UNIT_PARTS}}); err != nil {
		t.Fatal(err)
	}
	for minute := 0; ; {
		plan := p.plan(t)
		if len(plan.Unplaced) > 0 {
			t.Fatalf("without a place: %v", plan.Unplaced)
		}
		if len(plan.Stages) == 0 {
			break
		}
		next := plan.Stages[0]
		minute = int(next.StartTime.AsTime().Sub(morning) / time.Minute)
		p.wall.set(minute)
		if _, err := p.clocks.ClockOn(svctest.Ctx(t), p.clockOn(next.Person, next.Stage, minute)); err != nil {
			t.Fatalf("%s at %d for %s: %v", next.Title, minute, next.PersonName, err)
		}
		minute = int(next.EndTime.AsTime().Sub(morning) / time.Minute)
		p.wall.set(minute)
		if _, err := p.clocks.ClockOff(svctest.Ctx(t), clockOff(next.Person, minute)); err != nil {
			t.Fatal(err)
		}
		p.finishAt(t, next.Stage, minute)
	}
}

// A pin is kept, told of, and given back; until the stage is finished.
func TestServer_PinStage(t *testing.T) {
	t.Parallel()
	p := setupPlanning(t)
	strip := p.stages["strip top"].Name
	r := pin(strip, p.nell, at(60))
	for range 2 { // asked again, it is done once
		if _, err := p.PinStage(svctest.Ctx(t), r); err != nil {
			t.Fatal(err)
		}
	}
	want := &eventsv1.StagePinned{StageId: tail(strip), Kind: "strip", PersonId: tail(p.nell), PersonName: "Nell", StartTime: at(60)}
	e := p.Last(t)
	if diff := cmp.Diff(want, e.GetStagePinned(), protocmp.Transform()); diff != "" || "pieces/"+e.PieceId != p.piece || e.Actor == "" {
		t.Errorf("event %v (-want +got):\n%s", e, diff)
	}
	version := e.Version
	i := slices.IndexFunc(p.plan(t).Stages, func(s *workflowv1.PlacedStage) bool { return s.Stage == strip })
	if s := p.plan(t).Stages[i]; !s.PersonPinned || !s.TimePinned || s.Person != p.nell || !s.StartTime.AsTime().Equal(at(60).AsTime()) {
		t.Errorf("pinned: %v", s)
	}
	if _, err := p.UnpinStage(svctest.Ctx(t), &workflowv1.UnpinStageRequest{RequestId: svctest.NewID(), Stage: strip}); err != nil {
		t.Fatal(err)
	}
	if e := p.Last(t); e.GetStageUnpinned().GetStageId() != tail(strip) || e.Version != version+1 {
		t.Errorf("event %v", e)
	}
	if s := p.plan(t).Stages[0]; s.Kind != "strip" || s.TimePinned || !s.StartTime.AsTime().Equal(morning) {
		t.Errorf("unpinned: %v", s)
	}
}

// A pin is of one pass: who has to do it again does it when it fits.
func TestServer_PinStage_OfOnePass(t *testing.T) {
	t.Parallel()
	p := setupPlanning(t)
	strip := p.stages["strip top"].Name
	if _, err := p.PinStage(svctest.Ctx(t), pin(strip, p.nell, nil)); err != nil {
		t.Fatal(err)
	}
	p.wall.set(60)
	p.works(t, p.nell, strip, 0, 30)
	p.finishAt(t, strip, 30)
	p.sendBackAt(t, strip, 40)
	if i := slices.IndexFunc(p.plan(t).Stages, func(s *workflowv1.PlacedStage) bool { return s.Stage == strip }); p.plan(t).Stages[i].PersonPinned {
		t.Error("it was sent back, and is pinned as before")
	}
	svctest.Refused(t, p.Service, p.UnpinStage, &workflowv1.UnpinStageRequest{RequestId: svctest.NewID(), Stage: strip}, fault.Precondition, "NOT_PINNED")
}

func TestServer_PinStage_Refuses(t *testing.T) {
	t.Parallel()
	p := setupPlanning(t)
	p.wall.set(60)
	strip, sand, coat := p.stages["strip top"].Name, p.stages["sand top"].Name, p.stages["coat top"].Name
	p.works(t, p.nell, strip, 0, 30)
	p.finishAt(t, strip, 30)
	if _, err := p.floor.stages.AssignStage(svctest.Ctx(t), &workflowv1.AssignStageRequest{RequestId: svctest.NewID(), Stage: sand, Person: p.nell}); err != nil {
		t.Fatal(err)
	}
	gone := p.person(t, "Gone")
	if _, err := p.people.UpdatePerson(svctest.Ctx(t), update(&workflowv1.Person{Name: gone, ActiveTo: &date.Date{Year: 2026, Month: 2, Day: 1}}, "active_to")); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		r      *workflowv1.PinStageRequest
		kind   fault.Kind
		reason string
	}{
		{pin(id.Name("pieces", id.New(), "stages", id.New()), p.nell, nil), fault.NotFound, "STAGE_NOT_FOUND"},
		{pin(p.piece+"/stages/"+svctest.NewID(), p.nell, nil), fault.NotFound, "STAGE_NOT_FOUND"},
		{pin(strip, p.nell, nil), fault.Precondition, "STAGE_FINISHED"},
		{pin(coat, "", nil), fault.Invalid, "NOTHING_PINNED"},
		{pin(coat, "", at(30)), fault.Invalid, "TIME_IN_PAST"},
		{pin(coat, id.Name("people", id.New()), nil), fault.NotFound, "PERSON_NOT_FOUND"},
		{pin(coat, gone, nil), fault.Precondition, "PERSON_INACTIVE"},
		{pin(p.stages["strip case"].Name, p.odo, nil), fault.Precondition, "SKILL_MISSING"},
		{pin(sand, p.odo, nil), fault.Precondition, "STAGE_OF_ANOTHER"},
		{pin("stages/x", p.odo, nil), fault.Invalid, "INVALID_NAME"},
	} {
		svctest.Refused(t, p.Service, p.PinStage, c.r, c.kind, c.reason)
	}
	unpin := &workflowv1.UnpinStageRequest{RequestId: svctest.NewID(), Stage: coat}
	svctest.Refused(t, p.Service, p.UnpinStage, unpin, fault.Precondition, "NOT_PINNED")
	unpin.Stage = p.piece + "/stages/" + svctest.NewID()
	svctest.Refused(t, p.Service, p.UnpinStage, unpin, fault.NotFound, "STAGE_NOT_FOUND")
	conn, err := pgx.Connect(t.Context(), p.URL)
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close(t.Context())
	if _, err := conn.Exec(t.Context(), `UPDATE workflow.piece SET scrapped = true, scrapped_at = now()`); err != nil {
		t.Fatal(err)
	}
	svctest.Refused(t, p.Service, p.PinStage, pin(coat, p.nell, nil), fault.Precondition, "PIECE_SCRAPPED")
}

// What would be is told beside what is, and changes nothing.
func TestServer_CheckWhatIf(t *testing.T) {
	t.Parallel()
	p := setupPlanning(t)
	p.promise(t, p.piece, at(240), nil)
	before, events := p.plan(t), len(p.Events(t))
	r, err := p.CheckWhatIf(svctest.Ctx(t), &workflowv1.CheckWhatIfRequest{
		Absences:  []*workflowv1.CheckWhatIfRequest_Absence{{Person: p.nell, FirstDate: &date.Date{Year: 2026, Month: 3, Day: 2}}},
		Newcomers: []*workflowv1.CheckWhatIfRequest_Newcomer{{Route: "routes/painted", PromiseTime: at(60)}}})
	if err != nil {
		t.Fatal(err)
	}
	if len(r.Changes) != 2 || r.Changes[0].Before != nil || r.Changes[0].After.PieceTitle != "painted" || r.Changes[1].After.Piece != p.piece || r.Changes[1].Before.Chance < 0.9 || r.Changes[1].After.Chance > 0 {
		t.Errorf("changes %v", r.Changes)
	}
	week := at(7 * 24 * 60).AsTime()
	if s := r.Plan.Stages[0]; s.Kind != "strip" || s.StartTime.AsTime().Before(week.Add(-2*time.Hour)) {
		t.Errorf("Nell is away, and the plan begins with %v", s)
	}
	if i := slices.IndexFunc(r.Plan.Stages, func(s *workflowv1.PlacedStage) bool { return s.Title == "strip (top)" }); !r.Plan.Stages[i].PublishedStartTime.AsTime().Equal(morning) || r.Plan.Cost.MovedStages == 0 {
		t.Errorf("of what moves is told %v", r.Plan.Stages[i])
	}
	if after := p.plan(t); !proto.Equal(before, after) || len(p.Events(t)) != events {
		t.Error("what was only supposed changed the plan")
	}
	r, err = p.CheckWhatIf(svctest.Ctx(t), &workflowv1.CheckWhatIfRequest{Promises: []*workflowv1.CheckWhatIfRequest_Promise{{Piece: p.piece, PromiseTime: at(90)}}})
	if err != nil || len(r.Changes) != 1 || r.Changes[0].After.Chance >= r.Changes[0].Before.Chance {
		t.Errorf("promised sooner: %v, %v", r, err)
	}
}

func TestServer_CheckWhatIf_Refuses(t *testing.T) {
	t.Parallel()
	p := setupPlanning(t)
	today, yesterday := &date.Date{Year: 2026, Month: 3, Day: 2}, &date.Date{Year: 2026, Month: 3, Day: 1}
	away := func(person string, first, last *date.Date) *workflowv1.CheckWhatIfRequest {
		return &workflowv1.CheckWhatIfRequest{Absences: []*workflowv1.CheckWhatIfRequest_Absence{{Person: person, FirstDate: first, LastDate: last}}}
	}
	promise := func(piece string, by *timestamppb.Timestamp) *workflowv1.CheckWhatIfRequest {
		return &workflowv1.CheckWhatIfRequest{Promises: []*workflowv1.CheckWhatIfRequest_Promise{{Piece: piece, PromiseTime: by}}}
	}
	for _, c := range []struct {
		r      *workflowv1.CheckWhatIfRequest
		kind   fault.Kind
		reason string
	}{
		{&workflowv1.CheckWhatIfRequest{}, fault.Invalid, "NOTHING_SUPPOSED"},
		{away(id.Name("people", id.New()), today, nil), fault.NotFound, "PERSON_NOT_FOUND"},
		{away(p.nell, yesterday, nil), fault.Invalid, "TIME_IN_PAST"},
		{away(p.nell, today, yesterday), fault.Invalid, "FROM_AFTER_TO"},
		{away(p.nell, &date.Date{Year: 2026, Month: 2, Day: 30}, nil), fault.Invalid, "DATE_MALFORMED"},
		{promise(id.Name("pieces", id.New()), at(60)), fault.NotFound, "PIECE_NOT_FOUND"},
		{promise(p.piece, at(-60)), fault.Invalid, "TIME_IN_PAST"},
		{&workflowv1.CheckWhatIfRequest{Newcomers: []*workflowv1.CheckWhatIfRequest_Newcomer{{Route: "routes/no-such"}}}, fault.NotFound, "ROUTE_NOT_FOUND"},
		{&workflowv1.CheckWhatIfRequest{Newcomers: []*workflowv1.CheckWhatIfRequest_Newcomer{{Route: "routes/painted", PromiseTime: at(-60)}}}, fault.Invalid, "TIME_IN_PAST"},
	} {
		svctest.Refused(t, p.Service, p.CheckWhatIf, c.r, c.kind, c.reason)
	}
}
