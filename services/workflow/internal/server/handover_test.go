package server_test

import (
	"testing"

	"github.com/google/go-cmp/cmp"
	"google.golang.org/protobuf/testing/protocmp"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

func (f *floor) handing(stage, from, to string, minute int, clockOn bool) *workflowv1.HandOverStageRequest {
	r := &workflowv1.HandOverStageRequest{RequestId: svctest.NewID(), Stage: stage, From: from, To: to, HandOverTime: at(minute), Note: "the left side is done", ClockOn: clockOn}
	if clockOn {
		r.AcknowledgedCautions = f.cautions[stage]
	}
	return r
}

// Nell has to leave in the middle of the stripping, and Ira goes on where she stood: her clock
// ends at the instant at which his begins.
func TestServer_HandOverStage(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell, ira := f.person(t, "Nell", "strip"), f.person(t, "Ira", "strip")
	_, stages := f.planned(t)
	strip := stages["strip top"].Name
	f.assign(t, assigning(strip, nell))
	f.clockedOn(t, nell, strip, 0)
	r, err := f.stages.HandOverStage(svctest.Ctx(t), f.handing(strip, nell, ira, 45, true))
	if err != nil {
		t.Fatal(err)
	}
	if s := r.Stage; s.Assignee != ira || len(s.Helpers) != 0 || s.State != workflowv1.Stage_STATE_IN_WORK || len(s.OnTheClock) != 1 || s.OnTheClock[0] != "Ira" {
		t.Errorf("HandOverStage = %v", s)
	}
	hers, his := f.entries(t, nell), f.entries(t, ira)
	if len(hers) != 1 || len(his) != 1 || !hers[0].EndTime.AsTime().Equal(at(45).AsTime()) || !his[0].StartTime.AsTime().Equal(at(45).AsTime()) || his[0].EndTime != nil {
		t.Errorf("entries are %v and %v", hers, his)
	}
	events := f.Events(t)
	last := events[len(events)-3:]
	want := &eventsv1.StageHandedOver{StageId: strip[len(strip)-36:], Kind: "strip", FromPersonId: nell[len("people/"):], FromPersonName: "Nell",
		ToPersonId: ira[len("people/"):], ToPersonName: "Ira", Note: "the left side is done"}
	if diff := cmp.Diff(want, last[0].GetStageHandedOver(), protocmp.Transform()); diff != "" {
		t.Errorf("event (-want +got):\n%s", diff)
	}
	if last[1].GetClockedOff().GetSpan().GetPersonName() != "Nell" || last[2].GetClockedOn().GetSpan().GetPersonName() != "Ira" {
		t.Errorf("then came %v and %v", last[1], last[2])
	}
	for i, e := range last[1:] {
		if e.Version != last[i].Version+1 || e.AggregateId != last[0].AggregateId {
			t.Errorf("event %d is version %d of %s, after %d", i+1, e.Version, e.AggregateId, last[i].Version)
		}
	}
}

// Who has a stage and is not at it gives it away without a clock; the next one begins later.
func TestServer_HandOverStage_WithoutClocks(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell, ira, tom := f.person(t, "Nell", "strip"), f.person(t, "Ira", "strip"), f.person(t, "Tom", "strip")
	_, stages := f.planned(t)
	strip, other := stages["strip top"].Name, stages["strip case"].Name
	f.assign(t, assigning(strip, tom))
	f.assign(t, beside(strip, nell))
	f.clockedOn(t, nell, other, 0) // which goes on
	r, err := f.stages.HandOverStage(svctest.Ctx(t), f.handing(strip, nell, ira, 45, false))
	if err != nil {
		t.Fatal(err)
	}
	if s := r.Stage; s.Assignee != tom || len(s.Helpers) != 1 || s.Helpers[0] != ira || len(s.OnTheClock) != 0 {
		t.Errorf("HandOverStage = %v", s)
	}
	if e := f.entries(t, nell); len(e) != 1 || e[0].EndTime != nil {
		t.Errorf("Nell's clock at the case = %v, want it to run on", e)
	}
	if e := f.Last(t); e.GetStageHandedOver() == nil {
		t.Errorf("last event = %v", e)
	}
}

// Nothing is half done: the clock of the one runs on when that of the other cannot begin.
func TestServer_HandOverStage_Refuses(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell, ira, tom := f.person(t, "Nell", "strip"), f.person(t, "Ira", "strip"), f.person(t, "Tom")
	_, stages := f.planned(t)
	strip, other := stages["strip top"].Name, stages["strip case"].Name
	f.clockedOn(t, nell, strip, 10)
	refused := func(r *workflowv1.HandOverStageRequest, kind fault.Kind, reason string, words ...string) {
		t.Helper()
		says(t, svctest.Refused(t, f.Service, f.stages.HandOverStage, r, kind, reason), words...)
	}
	refused(f.handing(strip, nell, tom, 45, true), fault.Precondition, "SKILL_MISSING", "Tom", "These can do it: Ira and Nell.")
	refused(f.handing(strip, ira, nell, 45, false), fault.Precondition, "NOT_ON_STAGE", "Ira does not have strip (top)", "nobody has it")
	refused(f.handing(strip, nell, nell, 45, true), fault.Invalid, "SAME_PERSON")
	refused(f.handing(strip, nell, ira, 5, true), fault.Invalid, "CLOCK_ENDS_BEFORE_START")
	refused(f.handing(strip, nell, id.Name("people", id.New()), 45, true), fault.NotFound, "PERSON_NOT_FOUND")
	refused(f.handing(strip[:43]+"/stages/"+id.New().String(), nell, ira, 45, true), fault.NotFound, "STAGE_NOT_FOUND")
	unread := f.handing(strip, nell, ira, 45, true)
	unread.AcknowledgedCautions = nil
	refused(unread, fault.Precondition, "CAUTIONS_NOT_ACKNOWLEDGED", "Ira")
	f.clockedOn(t, ira, other, 20)
	refused(f.handing(strip, nell, ira, 45, true), fault.Precondition, "CLOCK_OPEN", "Ira", "strip (case)")
	f.clockedOff(t, nell, 50)
	f.finishAt(t, strip, 60)
	refused(f.handing(strip, nell, ira, 70, false), fault.Precondition, "STAGE_FINISHED", "strip (top)")
}

// Two who hand stages over to each other at once do not wait for one another in a circle.
func TestServer_HandOverStage_ToEachOther(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell, ira := f.person(t, "Nell", "strip"), f.person(t, "Ira", "strip")
	_, stages := f.planned(t)
	top, box := stages["strip top"].Name, stages["strip case"].Name
	f.assign(t, assigning(top, nell))
	f.assign(t, assigning(box, ira))
	done := make(chan error)
	for _, r := range []*workflowv1.HandOverStageRequest{f.handing(top, nell, ira, 45, false), f.handing(box, ira, nell, 45, false)} {
		go func() {
			_, err := f.stages.HandOverStage(svctest.Ctx(t), r)
			done <- err
		}()
	}
	for range 2 {
		if err := <-done; err != nil {
			t.Error(err)
		}
	}
}
