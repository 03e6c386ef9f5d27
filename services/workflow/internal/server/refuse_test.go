package server_test

import (
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"google.golang.org/protobuf/testing/protocmp"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

func refuse(stage, person string) *workflowv1.RefuseStageRequest {
	return &workflowv1.RefuseStageRequest{RequestId: svctest.NewID(), Stage: stage, Person: person, Reason: "my wrist"}
}

// Whoever gave a stage back does not get it from the plan, nor when they ask what is next; given it all the same
// they have it.
func TestServer_RefuseStage(t *testing.T) {
	t.Parallel()
	s := setupSwaps(t)
	s.scheduled(t, s.ira)
	r := refuse(s.stripTop, s.nell)
	before := len(s.Events(t))
	for range 2 { // asked again, it is done once
		if _, err := s.RefuseStage(svctest.Ctx(t), r); err != nil {
			t.Fatal(err)
		}
	}
	events := s.Events(t)[before:]
	want := &eventsv1.StageRefused{StageId: tail(s.stripTop), Kind: "strip", PersonId: tail(s.nell), PersonName: "Nell", Pass: 1, Reason: "my wrist"}
	if diff := cmp.Diff(want, events[0].GetStageRefused(), protocmp.Transform()); diff != "" || len(events) != 2 || events[1].GetStageAssigned().GetStageId() != tail(s.stripTop) || events[1].GetStageAssigned().PersonId != "" {
		t.Errorf("events %v (-want +got):\n%s", events, diff)
	}
	planned := func() string {
		for _, p := range s.plan(t).Stages {
			if p.Stage == s.stripTop {
				return p.PersonName
			}
		}
		return ""
	}
	if got := planned(); got != "Ira" {
		t.Errorf("the plan gives it to %q", got)
	}
	next, err := s.floor.stages.ListNextStages(svctest.Ctx(t), &workflowv1.ListNextStagesRequest{Person: s.nell})
	if err != nil || slices.ContainsFunc(next.NextStages, func(n *workflowv1.NextStage) bool { return n.Stage.Name == s.stripTop }) || !strings.Contains(strings.Join(next.Obstacles, " "), "1 stage was given back") {
		t.Errorf("next for Nell is %v, %v", next, err)
	}
	s.give(t, s.stripTop, s.nell)
	s.give(t, s.stripTop, "") // and taken from her again: she does not refuse it any more
	if got := planned(); got != "Nell" {
		t.Errorf("given to her and taken from her, the plan gives it to %q", got)
	}
}

// Where nobody else can, the plan says who refused it, and a lead's pin overrules that.
func TestServer_RefuseStage_ByAll(t *testing.T) {
	t.Parallel()
	s := setupSwaps(t)
	if _, err := s.RefuseStage(svctest.Ctx(t), refuse(s.stripTop, s.nell)); err != nil {
		t.Fatal(err)
	}
	of := func(stage string) *workflowv1.UnplacedStage {
		for _, u := range s.plan(t).Unplaced {
			if u.Stage == stage {
				return u
			}
		}
		return nil
	}
	if u := of(s.stripTop); u.GetSaid().GetReason() != "REFUSED_BY_ALL" || u.Why != workflowv1.UnplacedStage_WHY_NOBODY_CAN || !strings.Contains(u.Text, "refused it: Nell.") {
		t.Errorf("the plan says %v", u)
	}
	if _, err := s.PinStage(svctest.Ctx(t), pin(s.stripTop, s.nell, nil)); err != nil {
		t.Fatal(err)
	}
	if u := of(s.stripTop); u != nil {
		t.Errorf("pinned to her, and %v", u)
	}
}

func TestServer_RefuseStage_Refuses(t *testing.T) {
	t.Parallel()
	s := setupSwaps(t)
	coat := s.stages["coat top"].Name
	s.give(t, coat, s.nell)
	if _, err := s.PinStage(svctest.Ctx(t), pin(coat, s.nell, nil)); err != nil {
		t.Fatal(err)
	}
	s.clockedOn(t, s.nell, s.stripTop, 0)
	for _, c := range []struct {
		r      *workflowv1.RefuseStageRequest
		kind   fault.Kind
		reason string
	}{
		{refuse("stages/x", s.nell), fault.Invalid, "INVALID_NAME"},
		{refuse(s.stripTop, "Nell"), fault.Invalid, "INVALID_NAME"},
		{refuse(s.piece+"/stages/"+svctest.NewID(), s.nell), fault.NotFound, "STAGE_NOT_FOUND"},
		{refuse(s.stripTop, id.Name("people", id.New())), fault.NotFound, "PERSON_NOT_FOUND"},
		{refuse(s.stripTop, s.ira), fault.Precondition, "NOT_THEIRS"},
		{refuse(coat, s.nell), fault.Precondition, "STAGE_PINNED"},
		{refuse(s.stripTop, s.nell), fault.Precondition, "STAGE_HAS_OPEN_CLOCK"},
	} {
		svctest.Refused(t, s.Service, s.RefuseStage, c.r, c.kind, c.reason)
	}
	s.wall.set(60)
	s.clockedOff(t, s.nell, 30)
	s.finishAt(t, s.stripTop, 40)
	svctest.Refused(t, s.Service, s.RefuseStage, refuse(s.stripTop, s.nell), fault.Precondition, "STAGE_FINISHED")
}

// A plan that was proposed before somebody gave a stage back does not give it to them, and what people swapped no
// plan takes from who has it then.
func TestServer_PublishPlan_KeepsToRefusalsAndSwaps(t *testing.T) {
	t.Parallel()
	s := setupSwaps(t)
	s.scheduled(t, s.ira)
	stripCase := s.stages["strip case"].Name
	if _, err := s.PinStage(svctest.Ctx(t), pin(stripCase, s.nell, nil)); err != nil { // or Ira might be planned for it
		t.Fatal(err)
	}
	before := s.proposes(t).Proposal
	if _, err := s.UnpinStage(svctest.Ctx(t), &workflowv1.UnpinStageRequest{RequestId: svctest.NewID(), Stage: stripCase}); err != nil {
		t.Fatal(err)
	}
	s.give(t, stripCase, s.nell)
	if _, err := s.RefuseStage(svctest.Ctx(t), refuse(stripCase, s.nell)); err != nil {
		t.Fatal(err)
	}
	r, err := s.PublishPlan(svctest.Ctx(t), publishing(before))
	if err != nil {
		t.Fatal(err)
	}
	i := slices.IndexFunc(r.LeftAlone, func(l *workflowv1.PublishPlanResponse_LeftAlone) bool { return l.Stage == stripCase })
	if i < 0 || r.LeftAlone[i].Said.GetReason() != "PLANNED_AND_REFUSED" || s.stage(t, stripCase).Assignee != "" {
		t.Errorf("left alone are %v; it is %q's", r.LeftAlone, s.stage(t, stripCase).AssigneeName)
	}
	coat := s.stages["coat top"].Name
	has := s.stage(t, coat).Assignee
	if has == "" {
		t.Fatalf("nobody has the coat by the plan: %v", r)
	}
	to := s.nell
	if has == s.nell {
		to = s.odo
	}
	next := s.proposes(t).Proposal // which knows of no swap
	w := s.offer(t, &workflowv1.OfferSwapRequest{RequestId: svctest.NewID(), Person: has, Stage: coat, ToPerson: to})
	if _, err := s.AnswerSwap(svctest.Ctx(t), answer(w.Name, to, true)); err != nil {
		t.Fatal(err)
	}
	if _, err := s.PublishPlan(svctest.Ctx(t), publishing(next)); err != nil {
		t.Fatal(err)
	}
	if got := s.stage(t, coat).Assignee; got != to {
		t.Errorf("the coat was swapped, and a plan gave it to %s", s.stage(t, coat).AssigneeName)
	}
}
