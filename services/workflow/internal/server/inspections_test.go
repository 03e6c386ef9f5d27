package server_test

import (
	"fmt"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"
	"google.golang.org/protobuf/testing/protocmp"

	"tackfree/pkg/fault"
	"tackfree/pkg/svctest"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// bureau is a piece that is free of lead, whose top and case are sanded and painted, before the
// whole is inspected.
type bureau struct {
	*floor
	look  workflowv1.InspectionServiceClient
	piece *intakev1.Piece
	work  map[string]string
}

func setupBureau(t *testing.T) *bureau {
	t.Helper()
	f := setup(t)
	return &bureau{floor: f, look: workflowv1.NewInspectionServiceClient(f.Conn)}
}

// planned plans one; its paint takes some minutes to dry.
func (b *bureau) planned(t *testing.T, minutes int32) {
	t.Helper()
	paint, inspect := step("paint", "", "sand"), step("inspect", "inspect", "paint")
	paint.Kind, paint.UnattendedMinutes = "paint_coat", minutes
	inspect.Scope = workflowv1.Step_SCOPE_PIECE
	b.piece, b.work = b.untested(t, step("sand", ""), paint, inspect)
	b.free(t, b.piece.Name)
}

// painted plans one, and has the top and the case sanded and painted by people from a minute on,
// both finished an hour later.
func (b *bureau) painted(t *testing.T, top, body string, minute int) {
	t.Helper()
	b.planned(t, 0)
	for i, part := range []string{"top", "case"} {
		who, from := []string{top, body}[i], minute+5*i
		b.works(t, who, b.work["sand "+part], from, from+5)
		b.finishAt(t, b.work["sand "+part], from+5)
	}
	for i, part := range []string{"top", "case"} {
		who, from := []string{top, body}[i], minute+30+5*i
		b.works(t, who, b.work["paint "+part], from, from+5)
		b.finishAt(t, b.work["paint "+part], minute+60)
	}
}

func (b *bureau) inspect() string { return b.work["inspect "] }

// passing is a look that finds all well.
func (b *bureau) passing(stage, inspector string, minute int) *workflowv1.RecordInspectionRequest {
	return &workflowv1.RecordInspectionRequest{RequestId: svctest.NewID(), Stage: stage, Inspector: inspector, Passed: true, InspectTime: at(minute)}
}

// failing is one that finds runs, because of which a stage has to be done again.
func (b *bureau) failing(stage, inspector, back string, minute int) *workflowv1.RecordInspectionRequest {
	r := b.passing(stage, inspector, minute)
	r.Passed, r.Defects, r.BackTo = false, []*workflowv1.Defect{{Kind: "runs"}}, back
	return r
}

func (b *bureau) records(t *testing.T, r *workflowv1.RecordInspectionRequest) *workflowv1.RecordInspectionResponse {
	t.Helper()
	resp, err := b.look.RecordInspection(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	return resp
}

// lastTwo are the newest events, which are of the piece and follow each other.
func (f *floor) lastTwo(t *testing.T) (first, second *eventsv1.Envelope) {
	t.Helper()
	all := f.Events(t)
	first, second = all[len(all)-2], all[len(all)-1]
	if first.AggregateKind != "piece" || second.AggregateId != first.AggregateId || second.Version != first.Version+1 {
		t.Errorf("the last events are %v and %v", first, second)
	}
	return first, second
}

// A pass finishes the point, once however often it is asked for, and tells both.
func TestServer_RecordInspection_Passes(t *testing.T) {
	t.Parallel()
	b := setupBureau(t)
	nell, odo := b.person(t, "Nell"), b.person(t, "Odo", "inspect")
	b.painted(t, nell, nell, 0)
	r := b.passing(b.inspect(), odo, 90)
	r.Defects, r.Note = []*workflowv1.Defect{{Kind: "dust_nibs", Part: b.piece.Parts[0].Name, Photo: "photos/12.jpg", Note: "two, at the back"}}, "good enough"
	first := b.records(t, r)
	want := &workflowv1.Inspection{Name: first.Inspection.Name, Stage: b.inspect(), StageTitle: "inspect", PieceTag: 7, Point: "overall", Inspector: odo, InspectorName: "Odo", Passed: true,
		Defects: []*workflowv1.Defect{{Kind: "dust_nibs", Part: b.piece.Parts[0].Name, PartLabel: "top", Photo: "photos/12.jpg", Note: "two, at the back"}},
		Pass:    1, InspectTime: at(90), Note: "good enough"}
	if diff := cmp.Diff(want, first.Inspection, protocmp.Transform()); diff != "" {
		t.Errorf("inspection (-want +got):\n%s", diff)
	}
	if s := first.Stages; len(s) != 1 || s[0].State != workflowv1.Stage_STATE_FINISHED || s[0].FinishTime.AsTime() != at(90).AsTime() {
		t.Errorf("stages = %v", s)
	}
	finished, inspected := b.lastTwo(t)
	if e := finished.GetStageFinished(); e.GetStageId() != tail(b.inspect()) || e.Kind != "inspect" || e.Pass != 1 {
		t.Errorf("event = %v", finished)
	}
	wantEvent := &eventsv1.StageInspected{InspectionId: tail(want.Name), StageId: tail(b.inspect()), Point: "overall", InspectorId: tail(odo), InspectorName: "Odo", Passed: true,
		Defects: []*eventsv1.StageInspected_Defect{{Kind: "dust_nibs", PartId: tail(b.piece.Parts[0].Name), Photo: "photos/12.jpg", Note: "two, at the back"}}, Pass: 1, Note: "good enough"}
	if diff := cmp.Diff(wantEvent, inspected.GetStageInspected(), protocmp.Transform()); diff != "" {
		t.Errorf("event (-want +got):\n%s", diff)
	}
	if diff := cmp.Diff(first, b.records(t, r), protocmp.Transform()); diff != "" {
		t.Errorf("asked again (-first +second):\n%s", diff)
	}
	if all := b.list(t, &workflowv1.ListInspectionsRequest{}); len(all) != 1 {
		t.Errorf("%d inspections", len(all))
	}
}

func (b *bureau) list(t *testing.T, r *workflowv1.ListInspectionsRequest) []*workflowv1.Inspection {
	t.Helper()
	resp, err := b.look.ListInspections(t.Context(), r)
	if err != nil {
		t.Fatal(err)
	}
	return resp.Inspections
}

// A fail sends the work back: what hung on it waits again, and when it will be ready follows
// from its next pass. The hours of the first pass and those of the second stay apart.
func TestServer_RecordInspection_Fails(t *testing.T) {
	t.Parallel()
	b := setupBureau(t)
	nell, odo := b.person(t, "Nell"), b.person(t, "Odo", "inspect")
	b.planned(t, 60)
	for _, part := range []string{"top", "case"} {
		b.finishAt(t, b.work["sand "+part], 10)
		if part == "top" {
			b.works(t, nell, b.work["paint top"], 20, 30)
		}
		b.finishAt(t, b.work["paint "+part], 30)
	}
	b.dries(t, b.work["paint top"], 90)
	b.dries(t, b.work["paint case"], 90)
	refused := svctest.Refused(t, b.Service, b.look.RecordInspection, b.passing(b.inspect(), odo, 80), fault.Precondition, "PART_NOT_READY")
	says(t, refused, "inspect", "still dries", "clock on at it", "recorded as failed now")
	r := b.failing(b.inspect(), odo, b.work["paint top"], 85) // what runs, shows in the wet film
	r.Defects, r.Note = append(r.Defects, &workflowv1.Defect{Kind: "sags", Part: b.piece.Parts[0].Name}), "front edge"
	got := b.records(t, r)
	if i := got.Inspection; i.Passed || i.BackTo != r.BackTo || i.BackToTitle != "paint (top)" || i.Pass != 1 || i.Defects[0].Part != "" || i.Defects[1].PartLabel != "top" {
		t.Errorf("inspection = %v", i)
	}
	if s := got.Stages; len(s) != 2 || s[0].Name != r.BackTo || s[0].Pass != 2 || s[0].State != workflowv1.Stage_STATE_READY || s[1].Name != b.inspect() || s[1].Pass != 2 {
		t.Errorf("stages = %v", s)
	}
	back, inspected := b.lastTwo(t)
	want := &eventsv1.StageSentBack{StageId: tail(r.BackTo), Reason: "inspect found runs, sags: front edge", Reopened: []*eventsv1.StageSentBack_Reopened{
		{StageId: tail(r.BackTo), Kind: "paint_coat", Pass: 2}, {StageId: tail(b.inspect()), Kind: "inspect", Pass: 2}}}
	if diff := cmp.Diff(want, back.GetStageSentBack(), protocmp.Transform()); diff != "" {
		t.Errorf("event (-want +got):\n%s", diff)
	}
	if e := inspected.GetStageInspected(); e == nil || e.Passed || e.BackToStageId != tail(r.BackTo) || len(e.Defects) != 2 || e.Note != "front edge" {
		t.Errorf("event = %v", inspected)
	}
	b.is(t, b.inspect(), workflowv1.Stage_STATE_WAITING, 2)
	svctest.Refused(t, b.Service, b.look.RecordInspection, b.passing(b.inspect(), odo, 110), fault.Precondition, "STAGE_NOT_READY")
	b.works(t, nell, r.BackTo, 110, 125)
	b.writesDown(t, nell, r.BackTo, 35, 40) // of the first pass, which nobody clocked then
	var passes []int32
	for _, e := range b.entries(t, nell) {
		passes = append(passes, e.Pass)
	}
	if want := []int32{1, 1, 2}; !slices.Equal(passes, want) {
		t.Errorf("the entries are of passes %v, want %v", passes, want)
	}
	b.finishAt(t, r.BackTo, 130)
	b.dries(t, r.BackTo, 90, 190)
	refused = svctest.Refused(t, b.Service, b.look.RecordInspection, b.passing(b.inspect(), odo, 189), fault.Precondition, "PART_NOT_READY")
	if refused.Meta["ready_time"] != at(190).AsTime().Format("2006-01-02T15:04:05Z07:00") {
		t.Errorf("it will be ready at %s, want an hour after the second pass was finished", refused.Meta["ready_time"])
	}
	b.records(t, b.passing(b.inspect(), odo, 190))
	b.is(t, b.inspect(), workflowv1.Stage_STATE_FINISHED, 2)
}

// dries waits until it is told that what a stage left wet was ready at some minutes, one after
// the other.
func (b *bureau) dries(t *testing.T, stage string, minutes ...int) {
	t.Helper()
	var told []int
	until(t, fmt.Sprintf("it is told that the part is ready at %v", minutes), func() bool {
		told = nil
		for _, e := range b.Events(t) {
			if ready := e.GetPartReady(); ready.GetStageId() == tail(stage) {
				told = append(told, minuteOf(ready.Ready))
			}
		}
		return len(told) >= len(minutes)
	})
	if !slices.Equal(told, minutes) {
		t.Errorf("ready at %v, want %v", told, minutes)
	}
}

// is checks the state and the pass of a stage.
func (f *floor) is(t *testing.T, stage string, state workflowv1.Stage_State, pass int32) {
	t.Helper()
	got, err := f.stages.GetStage(t.Context(), &workflowv1.GetStageRequest{Name: stage})
	if err != nil || got.Stage.State != state || got.Stage.Pass != pass {
		t.Errorf("GetStage = %v, %v; want %s in pass %d", got, err, state, pass)
	}
}

// What is finished can be looked at besides: a pass is noted, and a fail sends it back with what
// was built on it, an inspection that had passed too.
func TestServer_RecordInspection_Besides(t *testing.T) {
	t.Parallel()
	b := setupBureau(t)
	nell, odo := b.person(t, "Nell"), b.person(t, "Odo", "inspect")
	b.painted(t, nell, nell, 0)
	b.records(t, b.passing(b.inspect(), odo, 70))
	sand := b.work["sand top"]
	if got := b.records(t, b.passing(sand, odo, 80)); len(got.Stages) != 0 || got.Inspection.Point != "overall" || b.Last(t).GetStageInspected().GetStageId() != tail(sand) {
		t.Errorf("a pass besides = %v", got)
	}
	b.is(t, sand, workflowv1.Stage_STATE_FINISHED, 1)
	r := b.failing(b.work["paint top"], odo, sand, 90)
	r.Point = "adhesion"
	got := b.records(t, r)
	if len(got.Stages) != 3 || got.Inspection.Point != "adhesion" || got.Inspection.Defects[0].PartLabel != "top" {
		t.Errorf("a fail besides = %v", got)
	}
	b.is(t, b.inspect(), workflowv1.Stage_STATE_WAITING, 2)
	b.is(t, b.work["paint case"], workflowv1.Stage_STATE_FINISHED, 1)
}

// A point that was passed by mistake fails after all: both looks are kept, with what was wrong,
// and what that sends back is open again, the point too.
func TestServer_RecordInspection_FailsAfterAll(t *testing.T) {
	t.Parallel()
	b := setupBureau(t)
	nell, odo := b.person(t, "Nell"), b.person(t, "Odo", "inspect")
	b.painted(t, nell, nell, 0)
	passed := b.records(t, b.passing(b.inspect(), odo, 90)).Inspection
	failed := b.records(t, b.failing(b.inspect(), odo, b.work["paint top"], 100))
	if s := failed.Stages; len(s) != 2 || s[0].Name != b.work["paint top"] || s[1].Name != b.inspect() || s[1].Pass != 2 || failed.Inspection.Pass != 1 || failed.Inspection.Defects[0].Kind != "runs" {
		t.Errorf("failing after all = %v", failed)
	}
	if back, inspected := b.lastTwo(t); len(back.GetStageSentBack().GetReopened()) != 2 || inspected.GetStageInspected().GetPassed() {
		t.Errorf("events = %v, %v", back, inspected)
	}
	b.is(t, b.inspect(), workflowv1.Stage_STATE_WAITING, 2)
	if all := b.list(t, &workflowv1.ListInspectionsRequest{}); len(all) != 2 || all[0].Name != failed.Inspection.Name || all[1].Name != passed.Name {
		t.Errorf("inspections = %v, want both", all)
	}
}
