package server_test

import (
	"testing"

	"github.com/google/go-cmp/cmp"
	"google.golang.org/genproto/googleapis/type/date"
	"google.golang.org/protobuf/testing/protocmp"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

func assigning(stage, person string) *workflowv1.AssignStageRequest {
	return &workflowv1.AssignStageRequest{RequestId: svctest.NewID(), Stage: stage, Person: person, AssignTime: at(30)}
}

func beside(stage, person string) *workflowv1.AssignStageRequest {
	r := assigning(stage, person)
	r.Beside = true
	return r
}

func (f *floor) assign(t testing.TB, r *workflowv1.AssignStageRequest) *workflowv1.Stage {
	t.Helper()
	resp, err := f.stages.AssignStage(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	return resp.Stage
}

// A wide top is stripped by two: the second comes beside the first while that one is at it.
func TestServer_AssignStage_Beside(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell, ira, tom := f.person(t, "Nell", "strip"), f.person(t, "Ira", "strip"), f.person(t, "Tom", "strip")
	_, stages := f.planned(t)
	strip := stages["strip top"].Name
	if s := f.assign(t, beside(strip, nell)); s.Assignee != nell || len(s.Helpers) != 0 {
		t.Errorf("the first beside nobody: %v", s)
	}
	f.clockedOn(t, nell, strip, 0)
	s := f.assign(t, beside(strip, ira))
	if s.Assignee != nell || s.AssigneeName != "Nell" || len(s.Helpers) != 1 || s.Helpers[0] != ira || s.HelperNames[0] != "Ira" || s.State != workflowv1.Stage_STATE_IN_WORK {
		t.Errorf("Ira beside Nell: %v", s)
	}
	want := &eventsv1.StageAssigned{StageId: strip[len(strip)-36:], Kind: "strip", PersonId: nell[len("people/"):], PersonName: "Nell",
		HelperIds: []string{ira[len("people/"):]}, HelperNames: []string{"Ira"}}
	if diff := cmp.Diff(want, f.Last(t).GetStageAssigned(), protocmp.Transform()); diff != "" {
		t.Errorf("event (-want +got):\n%s", diff)
	}
	f.clockedOn(t, ira, strip, 10) // who has it may work on it
	svctest.Refused(t, f.Service, f.clocks.ClockOn, f.clockOn(tom, strip, 20), fault.Precondition, "STAGE_OF_ANOTHER")
	f.clockedOff(t, nell, 40)
	f.clockedOff(t, ira, 40)
	if s := f.assign(t, assigning(strip, tom)); s.Assignee != tom || len(s.Helpers) != 0 {
		t.Errorf("Tom in the place of both: %v", s)
	}
	if s := f.assign(t, assigning(strip, "")); s.Assignee != "" || len(s.Helpers) != 0 {
		t.Errorf("taken from all: %v", s)
	}
}

// Whoever cannot do it is told who can.
func TestServer_AssignStage_SaysWhoCould(t *testing.T) {
	t.Parallel()
	f := setup(t)
	ira := f.person(t, "Ira", "sand")
	for _, name := range []string{"Zoe", "Nell", "Tom", "Ann"} {
		f.person(t, name, "strip")
	}
	away := &workflowv1.AddPersonRequest{RequestId: svctest.NewID(), DisplayName: "Abe", Skills: []string{"strip"}, ActiveTo: &date.Date{Year: 2026, Month: 3, Day: 1}}
	abe, err := f.people.AddPerson(svctest.Ctx(t), away)
	if err != nil {
		t.Fatal(err)
	}
	_, stages := f.planned(t)
	strip := stages["strip top"].Name
	refused := func(r *workflowv1.AssignStageRequest, kind fault.Kind, reason string, words ...string) {
		t.Helper()
		says(t, svctest.Refused(t, f.Service, f.stages.AssignStage, r, kind, reason), words...)
	}
	refused(assigning(strip, ira), fault.Precondition, "SKILL_MISSING", "Ira", `"strip"`, "These can do it: Ann, Nell and Tom.")
	refused(beside(strip, abe.Person.Name), fault.Precondition, "PERSON_INACTIVE", "Abe left", "Ann, Nell and Tom")
	refused(beside(strip, ""), fault.Invalid, "PERSON_MISSING", "strip (top)")
	refused(assigning(strip, id.Name("people", id.New())), fault.NotFound, "PERSON_NOT_FOUND")
}

func TestServer_AssignStage_TooManyHands(t *testing.T) {
	t.Parallel()
	f := setup(t)
	_, stages := f.planned(t)
	sand := stages["sand top"].Name
	for _, name := range []string{"A", "B", "C", "D", "E", "F", "G", "H"} {
		f.assign(t, beside(sand, f.person(t, name)))
	}
	ninth := beside(sand, f.person(t, "I"))
	says(t, svctest.Refused(t, f.Service, f.stages.AssignStage, ninth, fault.Precondition, "TOO_MANY_HANDS"), "A, B, C, D, E, F, G and H", "sand (top)")
}

func (f *floor) clockedOn(t testing.TB, person, stage string, minute int) {
	t.Helper()
	if _, err := f.clocks.ClockOn(svctest.Ctx(t), f.clockOn(person, stage, minute)); err != nil {
		t.Fatal(err)
	}
}

func (f *floor) clockedOff(t testing.TB, person string, minute int) {
	t.Helper()
	if _, err := f.clocks.ClockOff(svctest.Ctx(t), clockOff(person, minute)); err != nil {
		t.Fatal(err)
	}
}
