package server_test

import (
	"sync"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"google.golang.org/genproto/googleapis/type/date"
	"google.golang.org/protobuf/testing/protocmp"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

func (f *floor) claimed(t testing.TB, r *workflowv1.ClaimStageRequest) *workflowv1.NextStage {
	t.Helper()
	resp, err := f.stages.ClaimStage(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	return resp.NextStage
}

// Nell gets the best, which is hers from then on, and so what she gets when she asks again;
// asked again with the same request she gets the same answer.
func TestServer_ClaimStage(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell, ira := f.person(t, "Nell"), f.person(t, "Ira")
	_, first := f.drawers(t, 11)
	promised, second := f.drawers(t, 12)
	f.promise(t, promised, in(48*time.Hour), nil)
	r := claiming(nell)
	n := f.claimed(t, r)
	if n.Stage.Name != second["dewax left"] || n.Stage.AssigneeName != "Nell" || n.PieceTag != 12 || n.Why == "" {
		t.Errorf("ClaimStage = %v", n)
	}
	if e := f.Last(t); e.GetStageAssigned().GetPersonName() != "Nell" || e.Version != 3 {
		t.Errorf("event = %v", e)
	}
	before := len(f.Events(t))
	if diff := cmp.Diff(n, f.claimed(t, r), protocmp.Transform()); diff != "" {
		t.Errorf("the same request (-want +got):\n%s", diff)
	}
	if again := f.claimed(t, claiming(nell)); again.Stage.Name != n.Stage.Name {
		t.Errorf("claimed while she has one: %v", again)
	}
	if told := len(f.Events(t)); told != before {
		t.Errorf("claiming what is hers told %d things", told-before)
	}
	if other := f.claimed(t, claiming(ira)); other.Stage.Name != second["dewax right"] {
		t.Errorf("Ira's = %v", other)
	}
	named := claiming(nell)
	named.Stage = first["dewax right"]
	if n := f.claimed(t, named); n.Stage.Name != first["dewax right"] || n.Stage.Assignee != nell {
		t.Errorf("the one that she wants = %v", n)
	}
}

func TestServer_ClaimStage_Refuses(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell, ira := f.person(t, "Nell"), f.person(t, "Ira", "strip")
	refused := func(r *workflowv1.ClaimStageRequest, kind fault.Kind, reason string, words ...string) {
		t.Helper()
		says(t, svctest.Refused(t, f.Service, f.stages.ClaimStage, r, kind, reason), words...)
	}
	refused(claiming(nell), fault.Precondition, "NOTHING_TO_CLAIM", "nothing for Nell", "Nothing waits")
	_, stages := f.planned(t)
	strip := stages["strip top"].Name
	named := func(stage, person string) *workflowv1.ClaimStageRequest {
		r := claiming(person)
		r.Stage = stage
		return r
	}
	refused(claiming(nell), fault.Precondition, "NOTHING_TO_CLAIM", "2 stages take the skill strip, which Nell does not have.", "4 stages wait")
	refused(named(strip, nell), fault.Precondition, "SKILL_MISSING", "Nell", "Ira can do it.")
	refused(named(stages["sand top"].Name, nell), fault.Precondition, "STAGE_NOT_READY", "strip (top)")
	f.assign(t, assigning(strip, ira))
	tom := f.person(t, "Tom", "strip")
	refused(named(strip, tom), fault.Precondition, "STAGE_OF_ANOTHER", "Ira")
	f.clockedOn(t, ira, stages["strip case"].Name, 0)
	refused(named(stages["strip case"].Name, tom), fault.Precondition, "STAGE_OF_ANOTHER", "Ira")
	refused(claiming(tom), fault.Precondition, "NOTHING_TO_CLAIM", "2 stages are somebody else's; the first:")
	f.clockedOff(t, ira, 10)
	f.finishAt(t, stages["strip case"].Name, 20)
	refused(named(stages["strip case"].Name, tom), fault.Precondition, "STAGE_FINISHED")
	refused(named(strip[:43]+"/stages/"+id.New().String(), tom), fault.NotFound, "STAGE_NOT_FOUND")
	refused(named(id.Name("pieces", id.New(), "stages", id.New()), tom), fault.NotFound, "STAGE_NOT_FOUND")
	refused(claiming(id.Name("people", id.New())), fault.NotFound, "PERSON_NOT_FOUND")
	nowhere := claiming(tom)
	nowhere.Station = "stations/nowhere"
	refused(nowhere, fault.NotFound, "STATION_NOT_FOUND")
	gone, err := f.people.AddPerson(svctest.Ctx(t), &workflowv1.AddPersonRequest{RequestId: svctest.NewID(), DisplayName: "Abe", ActiveTo: &date.Date{Year: 2026, Month: 3, Day: 1}})
	if err != nil {
		t.Fatal(err)
	}
	refused(claiming(gone.Person.Name), fault.Precondition, "PERSON_INACTIVE", "Abe left")
	refused(named(strip, gone.Person.Name), fault.Precondition, "PERSON_INACTIVE", "Abe left")
}

// Twenty people ask at once where thirty stages wait: each gets one of their own.
func TestServer_ClaimStage_Racing(t *testing.T) {
	t.Parallel()
	f := setup(t)
	for tag := range int32(15) {
		f.drawers(t, 11+tag)
	}
	people := f.names(t, 20)
	var all sync.WaitGroup
	got := make([]*workflowv1.ClaimStageResponse, len(people))
	for i, person := range people {
		all.Go(func() {
			var err error
			if got[i], err = f.stages.ClaimStage(svctest.Ctx(t), claiming(person)); err != nil {
				t.Errorf("claim %d = %v", i, err)
			}
		})
	}
	all.Wait()
	whose := map[string]int{}
	for i, r := range got {
		name := r.GetNextStage().GetStage().GetName()
		if other, taken := whose[name]; taken {
			t.Errorf("%s was given to both %d and %d", name, other, i)
		}
		whose[name] = i
		if s := f.stage(t, name); s.Assignee != people[i] || len(s.Helpers) != 0 {
			t.Errorf("%s is %s's", name, s.AssigneeName)
		}
	}
}

// Three people claim, do and finish until nothing is left: each stage is done once, and nobody
// is sent away while there is something to do.
func TestServer_ClaimStage_UntilAllIsDone(t *testing.T) {
	t.Parallel()
	f := setup(t)
	for tag := range int32(4) {
		f.drawers(t, 11+tag)
	}
	var all sync.WaitGroup
	done := make(chan string, 100)
	for i, person := range f.names(t, 3) {
		all.Go(func() {
			for minute := 0; ; minute += 10 {
				r, err := f.stages.ClaimStage(svctest.Ctx(t), claiming(person))
				if fault.Is(err, "NOTHING_TO_CLAIM") {
					return
				}
				if err != nil {
					t.Errorf("helper %d: %v", i+1, err)
					return
				}
				stage := r.NextStage.Stage.Name
				if err := f.do(t, person, stage, minute); err != nil {
					t.Errorf("helper %d at %s: %v", i+1, stage, err)
					return
				}
				done <- stage
			}
		})
	}
	all.Wait()
	close(done)
	times := map[string]int{}
	for stage := range done {
		times[stage]++
	}
	for stage, n := range times {
		if n != 1 {
			t.Errorf("%s was done %d times", stage, n)
		}
	}
	if len(times) != 16 {
		t.Errorf("%d stages were done, want 16", len(times))
	}
}

// do works ten minutes on a stage and finishes it.
func (f *floor) do(t testing.TB, person, stage string, minute int) error {
	if _, err := f.clocks.ClockOn(svctest.Ctx(t), f.clockOn(person, stage, minute)); err != nil {
		return err
	}
	if _, err := f.clocks.ClockOff(svctest.Ctx(t), clockOff(person, minute+10)); err != nil {
		return err
	}
	_, err := f.stages.FinishStage(svctest.Ctx(t), finishing(stage, minute+10))
	return err
}
