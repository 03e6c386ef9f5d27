package server_test

import (
	"fmt"
	"slices"
	"testing"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

func TestServer_RecordInspection_Refuses(t *testing.T) {
	t.Parallel()
	b := setupBureau(t)
	nell, odo, gone := b.person(t, "Nell"), b.person(t, "Odo", "inspect"), b.person(t, "Ira", "inspect")
	b.alter(t, fmt.Sprintf(`UPDATE person SET active_to = '2026-02-01' WHERE id = '%s'`, tail(gone)))
	b.planned(t, 0)
	other, otherStages := b.piece, b.work
	b.painted(t, nell, nell, 0)
	sand, paint, inspect := b.work["sand top"], b.work["paint top"], b.inspect()
	pass := func(change func(*workflowv1.RecordInspectionRequest)) *workflowv1.RecordInspectionRequest {
		r := b.passing(inspect, odo, 90)
		change(r)
		return r
	}
	fail := func(change func(*workflowv1.RecordInspectionRequest)) *workflowv1.RecordInspectionRequest {
		r := b.failing(inspect, odo, paint, 90)
		change(r)
		return r
	}
	for i, c := range []struct {
		r      *workflowv1.RecordInspectionRequest
		kind   fault.Kind
		reason string
	}{
		{pass(func(r *workflowv1.RecordInspectionRequest) { r.Stage = inspect[:43] + "/stages/" + id.New().String() }), fault.NotFound, "STAGE_NOT_FOUND"},
		{pass(func(r *workflowv1.RecordInspectionRequest) { r.Stage = otherStages["inspect "] }), fault.Precondition, "STAGE_NOT_READY"},
		{pass(func(r *workflowv1.RecordInspectionRequest) { r.Stage = otherStages["sand top"] }), fault.Precondition, "STAGE_NOT_FINISHED"},
		{pass(func(r *workflowv1.RecordInspectionRequest) { r.Inspector = nell }), fault.Precondition, "SKILL_MISSING"},
		{pass(func(r *workflowv1.RecordInspectionRequest) { r.Inspector = gone }), fault.Precondition, "PERSON_INACTIVE"},
		{pass(func(r *workflowv1.RecordInspectionRequest) { r.Inspector = id.Name("people", id.New()) }), fault.NotFound, "PERSON_NOT_FOUND"},
		{pass(func(r *workflowv1.RecordInspectionRequest) { r.Inspector = "Odo" }), fault.Invalid, "INVALID_NAME"},
		{pass(func(r *workflowv1.RecordInspectionRequest) { r.Point = "smell" }), fault.Invalid, "INVALID_FIELD"},
		{pass(func(r *workflowv1.RecordInspectionRequest) { r.InspectTime = at(60 * 24 * 365 * 50) }), fault.Invalid, "TIME_IN_FUTURE"},
		{pass(func(r *workflowv1.RecordInspectionRequest) { r.InspectTime = at(-61) }), fault.Invalid, "INSPECTED_BEFORE_FINISH"},
		{pass(func(r *workflowv1.RecordInspectionRequest) { r.Stage, r.InspectTime = paint, at(59) }), fault.Invalid, "INSPECTED_BEFORE_FINISH"},
		{pass(func(r *workflowv1.RecordInspectionRequest) { r.BackTo = paint }), fault.Invalid, "BACK_TO_UNASKED"},
		{fail(func(r *workflowv1.RecordInspectionRequest) { r.Defects = nil }), fault.Invalid, "DEFECT_MISSING"},
		{fail(func(r *workflowv1.RecordInspectionRequest) { r.Defects[0].Kind = "ugly" }), fault.Invalid, "DEFECT_UNKNOWN"},
		{fail(func(r *workflowv1.RecordInspectionRequest) { r.Defects[0].Part = other.Parts[0].Name }), fault.Invalid, "PART_UNKNOWN"},
		{fail(func(r *workflowv1.RecordInspectionRequest) {
			r.Defects[0].Part = b.piece.Name + "/parts/" + id.New().String()
		}), fault.Invalid, "PART_UNKNOWN"},
		{fail(func(r *workflowv1.RecordInspectionRequest) { r.Defects[0].Part = "the top" }), fault.Invalid, "INVALID_NAME"},
		{fail(func(r *workflowv1.RecordInspectionRequest) { r.BackTo = "" }), fault.Invalid, "BACK_TO_MISSING"},
		{fail(func(r *workflowv1.RecordInspectionRequest) { r.BackTo = inspect }), fault.Invalid, "BACK_TO_MISSING"},
		{fail(func(r *workflowv1.RecordInspectionRequest) { r.BackTo = otherStages["paint top"] }), fault.Invalid, "BACK_TO_MISSING"},
		{fail(func(r *workflowv1.RecordInspectionRequest) { r.InspectTime = at(59) }), fault.Invalid, "INSPECTED_BEFORE_FINISH"},
	} {
		got := svctest.Refused(t, b.Service, b.look.RecordInspection, c.r, c.kind, c.reason)
		if c.kind == fault.Invalid && (len(got.Fields) != 1 || got.Fields[0].Path == "finish_time" || got.Fields[0].Path == "send_back_time") {
			t.Errorf("%d: %s is at %v", i, c.reason, got.Fields)
		}
	}
	if _, err := b.clocks.ClockOn(svctest.Ctx(t), b.clockOn(odo, inspect, 61)); err != nil {
		t.Fatal(err)
	}
	svctest.Refused(t, b.Service, b.look.RecordInspection, pass(func(*workflowv1.RecordInspectionRequest) {}), fault.Precondition, "STAGE_HAS_OPEN_CLOCK")
	svctest.Refused(t, b.Service, b.look.RecordInspection, fail(func(r *workflowv1.RecordInspectionRequest) { r.Stage, r.BackTo = paint, sand; r.InspectTime = at(95) }), fault.Precondition, "STAGE_HAS_OPEN_CLOCK")
	if _, err := b.clocks.ClockOff(svctest.Ctx(t), clockOff(odo, 80)); err != nil {
		t.Fatal(err)
	}
	svctest.Refused(t, b.Service, b.look.RecordInspection, pass(func(r *workflowv1.RecordInspectionRequest) { r.InspectTime = at(79) }), fault.Invalid, "FINISH_BEFORE_WORK")
	svctest.Refused(t, b.Service, b.stages.FinishStage, finishing(inspect, 90), fault.Precondition, "INSPECTION_DUE")
	b.records(t, pass(func(*workflowv1.RecordInspectionRequest) {}))
	says(t, svctest.Refused(t, b.Service, b.look.RecordInspection, pass(func(*workflowv1.RecordInspectionRequest) {}), fault.Precondition, "STAGE_FINISHED"), "has passed", "record that it failed")
	b.alter(t, fmt.Sprintf(`UPDATE piece SET scrapped = true WHERE id = '%s'`, tail(b.piece.Name)))
	svctest.Refused(t, b.Service, b.look.RecordInspection, pass(func(r *workflowv1.RecordInspectionRequest) { r.Stage = paint }), fault.Precondition, "PIECE_SCRAPPED")
}

// Nobody passes what they alone painted, while somebody else could look at it.
func TestServer_RecordInspection_OwnWork(t *testing.T) {
	t.Parallel()
	b := setupBureau(t)
	nell, ira := b.person(t, "Nell", "inspect"), b.person(t, "Ira")
	b.painted(t, nell, nell, 0)
	b.records(t, b.failing(b.inspect(), nell, b.work["paint top"], 90)) // of what is wrong, anybody may speak
	b.works(t, ira, b.work["paint top"], 95, 99)
	b.finishAt(t, b.work["paint top"], 100)
	b.records(t, b.passing(b.inspect(), nell, 110)) // Ira painted the top in this pass

	b.painted(t, nell, nell, 200)
	odo := b.person(t, "Odo", "inspect")
	own := svctest.Refused(t, b.Service, b.look.RecordInspection, b.passing(b.inspect(), nell, 290), fault.Precondition, "OWN_WORK")
	says(t, own, "Nell", "Odo")
	svctest.Refused(t, b.Service, b.look.RecordInspection, b.passing(b.work["paint top"], nell, 290), fault.Precondition, "OWN_WORK")
	b.alter(t, fmt.Sprintf(`UPDATE person SET active_to = '2026-02-01' WHERE id = '%s'`, tail(odo)))
	b.records(t, b.passing(b.inspect(), nell, 290)) // there is nobody else
}

// The newest first, of one piece or all, of those that failed or all, page by page.
func TestServer_ListInspections(t *testing.T) {
	t.Parallel()
	b := setupBureau(t)
	nell, odo := b.person(t, "Nell"), b.person(t, "Odo", "inspect")
	b.painted(t, nell, nell, 0)
	dresser := b.piece.Name
	var names []string // newest first
	add := func(r *workflowv1.RecordInspectionRequest) {
		t.Helper()
		names = append([]string{b.records(t, r).Inspection.Name}, names...)
	}
	add(b.passing(b.work["sand top"], odo, 70))
	add(b.passing(b.work["sand case"], odo, 70)) // in the same minute
	add(b.failing(b.work["paint case"], odo, b.work["paint case"], 80))
	b.painted(t, nell, nell, 200)
	add(b.passing(b.inspect(), odo, 290))
	for _, c := range []struct {
		r    *workflowv1.ListInspectionsRequest
		want []string
	}{
		{&workflowv1.ListInspectionsRequest{}, names}, {&workflowv1.ListInspectionsRequest{Piece: dresser}, names[1:]}, {&workflowv1.ListInspectionsRequest{FailedOnly: true}, names[1:2]},
	} {
		for size := int32(1); size <= 5; size++ {
			var got []string
			for r := cloneOf(c.r); ; {
				r.PageSize = size
				resp, err := b.look.ListInspections(t.Context(), r)
				if err != nil {
					t.Fatal(err)
				}
				for _, i := range resp.Inspections {
					got = append(got, i.Name)
				}
				if r.PageToken = resp.NextPageToken; r.PageToken == "" {
					break
				}
			}
			if !slices.Equal(got, c.want) {
				t.Errorf("ListInspections(%v) by %d = %v, want %v", c.r, size, got, c.want)
			}
		}
	}
	svctest.Refused(t, b.Service, b.look.ListInspections, &workflowv1.ListInspectionsRequest{PageToken: "x"}, fault.Invalid, "INVALID_PAGE_TOKEN")
}
