package server_test

import (
	"context"
	"maps"
	"slices"
	"sync"
	"testing"
	"time"

	"google.golang.org/genproto/googleapis/type/date"
	"google.golang.org/protobuf/types/known/durationpb"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// proposes has a plan looked for, and gives the last answer.
func (p *plannedFloor) proposes(t testing.TB) *workflowv1.ProposePlanResponse {
	t.Helper()
	stream, err := p.ProposePlan(svctest.Ctx(t), &workflowv1.ProposePlanRequest{Budget: durationpb.New(20 * time.Millisecond)})
	if err != nil {
		t.Fatal(err)
	}
	for {
		r, err := stream.Recv()
		if err != nil {
			t.Fatal(err)
		}
		if r.Proposal != "" {
			return r
		}
	}
}

func publishing(proposal string) *workflowv1.PublishPlanRequest {
	return &workflowv1.PublishPlanRequest{RequestId: svctest.NewID(), Proposal: proposal}
}

func (p *plannedFloor) publishes(t testing.TB, r *workflowv1.PublishPlanRequest) *workflowv1.PublishPlanResponse {
	t.Helper()
	out, err := p.PublishPlan(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// holders are the names of those who have the stages of the piece, by stage.
func (p *plannedFloor) holders(t testing.TB) map[string]string {
	t.Helper()
	r, err := p.floor.stages.ListStages(svctest.Ctx(t), &workflowv1.ListStagesRequest{Piece: p.piece})
	if err != nil {
		t.Fatal(err)
	}
	held := map[string]string{}
	for _, s := range r.Stages {
		held[s.Name] = s.Assignee
	}
	return held
}

// A plan is proposed, and becomes what everybody knows: who it names for today and tomorrow has the stages, the
// pieces' stories say so, and it stays when the floor is looked at again.
func TestServer_PublishPlan(t *testing.T) {
	t.Parallel()
	p := setupPlanning(t)
	proposed := p.proposes(t)
	if len(proposed.Plan.Stages) != 6 || proposed.Progress != 1 || proposed.Cost.UnplacedStages != 0 || proposed.Cost.WaitingHours < proposed.LeastWaitingHours {
		t.Fatalf("proposed %v", proposed)
	}
	if held := p.holders(t); slices.ContainsFunc(slices.Collect(maps.Values(held)), func(who string) bool { return who != "" }) {
		t.Fatalf("a proposal alone gave stages: %v", held)
	}
	r := publishing(proposed.Proposal)
	out := p.publishes(t, r)
	held := p.holders(t)
	for _, s := range proposed.Plan.Stages {
		if held[s.Stage] != s.Person {
			t.Errorf("%s is %s's, and the plan gave it to %s", s.Title, held[s.Stage], s.Person)
		}
	}
	if out.AssignedStages != 6 || out.FreedStages != 0 || len(out.LeftAlone) != 0 {
		t.Errorf("published: %v", out)
	}
	assigned := 0
	for _, e := range p.Events(t) {
		if a := e.GetStageAssigned(); a != nil && a.Planned {
			assigned++
		}
	}
	told := p.Last(t)
	if d := told.GetDayPlanned(); assigned != 6 || len(d.GetStages()) != 6 || d.LastDate != "2026-03-03" || d.AssignedStages != 6 || told.Version != 1 || d.Stages[0].PersonName != "Nell" {
		t.Errorf("%d times it was told that a stage was given, and of the plan %v", assigned, told)
	}
	events := len(p.Events(t))
	if again := p.publishes(t, r); again.AssignedStages != 6 || len(p.Events(t)) != events {
		t.Errorf("asked again: %v", again)
	}
	plan := p.plan(t)
	if !plan.PublishTime.AsTime().Equal(morning) || plan.Cost.MovedStages != 0 || !slices.Equal(lines(plan), lines(proposed.Plan)) {
		t.Errorf("the plan is now %v", lines(plan))
	}
	svctest.Refused(t, p.Service, p.PublishPlan, publishing(proposed.Proposal), fault.Conflict, "PROPOSAL_OVERTAKEN")
	next, err := p.floor.stages.ListNextStages(svctest.Ctx(t), &workflowv1.ListNextStagesRequest{Person: p.nell})
	if err != nil || !next.NextStages[0].PlannedTime.AsTime().Equal(morning) || next.NextStages[0].Stage.Assignee != p.nell {
		t.Errorf("Nell's next is %v, %v", next, err)
	}
}

// Odo does not come. What the plan gave him goes to Nell with the next one, what he has by hand stays his, and what
// is begun only the day after tomorrow is nobody's any more.
func TestServer_PublishPlan_AfterAnAbsence(t *testing.T) {
	t.Parallel()
	p := setupPlanning(t)
	p.assign(t, &workflowv1.AssignStageRequest{RequestId: svctest.NewID(), Stage: p.stages["coat case"].Name, Person: p.odo})
	p.publishes(t, publishing(p.proposes(t).Proposal))
	if held := p.holders(t); !slices.Contains(slices.Collect(maps.Values(held)), p.odo) {
		t.Fatalf("Odo has nothing: %v", held)
	}
	p.scheduled(t, p.odo, &workflowv1.DayOff{FirstDate: &date.Date{Year: 2026, Month: 3, Day: 2}, LastDate: &date.Date{Year: 2026, Month: 3, Day: 3}})
	for _, s := range p.plan(t).Stages {
		if s.Person == p.odo && s.Stage != p.stages["coat case"].Name && s.StartTime.AsTime().Before(morning.AddDate(0, 0, 2)) {
			t.Errorf("%s is still Odo's", s.Title)
		}
	}
	out := p.publishes(t, publishing(p.proposes(t).Proposal))
	held := p.holders(t)
	for stage, who := range held {
		if (who == p.odo) != (stage == p.stages["coat case"].Name) {
			t.Errorf("%s is %s's; Odo is away and has the coat by hand; %v", stage, who, out)
		}
	}
}

// Published again up to an earlier day, what was given for the days after it stays given.
func TestServer_PublishPlan_UpToAnEarlierDay(t *testing.T) {
	t.Parallel()
	p := setupPlanning(t)
	first := publishing(p.proposes(t).Proposal)
	first.LastDate = &date.Date{Year: 2026, Month: 3, Day: 10}
	p.publishes(t, first)
	held := p.holders(t)
	coat := p.stages["coat top"].Name
	if _, err := p.PinStage(svctest.Ctx(t), pin(coat, held[coat], at(7*24*60))); err != nil {
		t.Fatal(err)
	}
	again := publishing(p.proposes(t).Proposal)
	again.LastDate = &date.Date{Year: 2026, Month: 3, Day: 2}
	if out := p.publishes(t, again); out.FreedStages != 0 || out.AssignedStages != 0 || !maps.Equal(held, p.holders(t)) {
		t.Errorf("%v; %v were given, and are now %v", out, held, p.holders(t))
	}
}

// What somebody was handed since, or takes over from whom the plan gave it, is theirs by hand.
func TestServer_PublishPlan_HandedOver(t *testing.T) {
	t.Parallel()
	p := setupPlanning(t)
	p.publishes(t, publishing(p.proposes(t).Proposal))
	proposed := p.proposes(t)
	coat := p.stages["coat top"].Name
	from, to := p.holders(t)[coat], p.nell
	if from == p.nell {
		to = p.odo
	}
	if _, err := p.floor.stages.HandOverStage(svctest.Ctx(t), &workflowv1.HandOverStageRequest{RequestId: svctest.NewID(), Stage: coat, From: from, To: to}); err != nil {
		t.Fatal(err)
	}
	out := p.publishes(t, publishing(proposed.Proposal))
	if held := p.holders(t)[coat]; held != to || len(out.LeftAlone) != 1 || out.LeftAlone[0].Said.Reason != "PLANNED_HELD_BY_HAND" {
		t.Errorf("it was handed to %s, and after publishing %s has it: %v", to, held, out)
	}
	p.scheduled(t, to, &workflowv1.DayOff{FirstDate: &date.Date{Year: 2026, Month: 3, Day: 2}, LastDate: &date.Date{Year: 2026, Month: 3, Day: 4}})
	out = p.publishes(t, publishing(p.proposes(t).Proposal))
	if held := p.holders(t)[coat]; held != to {
		t.Errorf("%s is away and has it by hand, and after publishing %q has it: %v", to, held, out)
	}
}

// What happened since a plan was proposed stands: what is finished stays so, who is at a stage keeps it, and who was
// given one by hand too; each is told, and all else is assigned.
func TestServer_PublishPlan_LeavesAlone(t *testing.T) {
	t.Parallel()
	p := setupPlanning(t)
	proposed := p.proposes(t)
	strip, other := p.stages["strip top"].Name, p.stages["strip case"].Name
	p.wall.set(60)
	p.works(t, p.nell, strip, 0, 30)
	p.finishAt(t, strip, 30)
	p.clockedOn(t, p.nell, other, 40)
	sand := p.stages["sand case"]
	of := slices.IndexFunc(proposed.Plan.Stages, func(s *workflowv1.PlacedStage) bool { return s.Stage == sand.Name })
	byHand := p.nell
	if proposed.Plan.Stages[of].Person == p.nell {
		byHand = p.odo
	}
	p.assign(t, &workflowv1.AssignStageRequest{RequestId: svctest.NewID(), Stage: sand.Name, Person: byHand})
	out := p.publishes(t, publishing(proposed.Proposal))
	why := map[string]string{}
	for _, left := range out.LeftAlone {
		why[left.Stage] = left.Said.Reason
	}
	if why[strip] != "PLANNED_AND_GONE" || why[sand.Name] != "PLANNED_HELD_BY_HAND" || why[other] != "" {
		t.Errorf("left alone: %v", out.LeftAlone)
	}
	if held := p.holders(t); held[sand.Name] != byHand {
		t.Errorf("the case's sanding is %s's", held[sand.Name])
	}
	if out.AssignedStages != 3 {
		t.Errorf("%d are assigned", out.AssignedStages)
	}
}

// Of many who publish at once one does, and the floor is as that one left it.
func TestServer_PublishPlan_AtOnce(t *testing.T) {
	t.Parallel()
	p := setupPlanning(t)
	proposal := p.proposes(t).Proposal
	var all sync.WaitGroup
	var mu sync.Mutex
	won := 0
	for range 6 {
		all.Go(func() {
			_, err := p.PublishPlan(svctest.Ctx(t), publishing(proposal))
			mu.Lock()
			defer mu.Unlock()
			if err == nil {
				won++
			} else if fault.Reason(err) != "PROPOSAL_OVERTAKEN" {
				t.Error(err)
			}
		})
	}
	all.Wait()
	planned := 0
	for _, e := range p.Events(t) {
		if e.GetDayPlanned() != nil {
			planned++
		}
	}
	if won != 1 || planned != 1 {
		t.Errorf("%d published, and %d times it was told", won, planned)
	}
}

func TestServer_PublishPlan_Refuses(t *testing.T) {
	t.Parallel()
	p := setupPlanning(t)
	proposal := p.proposes(t).Proposal
	yesterday := publishing(proposal)
	yesterday.LastDate = &date.Date{Year: 2026, Month: 3, Day: 1}
	svctest.Refused(t, p.Service, p.PublishPlan, yesterday, fault.Invalid, "TIME_IN_PAST")
	svctest.Refused(t, p.Service, p.PublishPlan, publishing(id.Name("proposals", id.New())), fault.NotFound, "PROPOSAL_NOT_FOUND")
	svctest.Refused(t, p.Service, p.PublishPlan, publishing("proposals/x"), fault.Invalid, "INVALID_NAME")
	p.wall.set(25 * 60)
	svctest.Refused(t, p.Service, p.PublishPlan, publishing(proposal), fault.NotFound, "PROPOSAL_NOT_FOUND")
	for _, budget := range []time.Duration{-time.Second, 61 * time.Second} {
		stream, err := p.ProposePlan(svctest.Ctx(t), &workflowv1.ProposePlanRequest{Budget: durationpb.New(budget)})
		if err == nil {
			_, err = stream.Recv()
		}
		if fault.Reason(err) != "PROPOSAL_TOO_LONG" {
			t.Errorf("for %v: %v", budget, err)
		}
	}
}

// Whoever goes away while a plan is looked for ends the search, and nothing is kept of it.
func TestServer_ProposePlan_NobodyWaits(t *testing.T) {
	t.Parallel()
	p := setupPlanning(t)
	ctx, cancel := context.WithCancel(svctest.Ctx(t))
	stream, err := p.ProposePlan(ctx, &workflowv1.ProposePlanRequest{Budget: durationpb.New(time.Minute)})
	if err != nil {
		t.Fatal(err)
	}
	cancel()
	if _, err := stream.Recv(); err == nil {
		t.Fatal("it is answered")
	}
	if again := p.proposes(t); again.Proposal == "" { // it is somebody else's turn at once
		t.Error("no proposal")
	}
}

// A newcomer is promised for the end of a day, and a piece that is here as well; nothing changes.
func TestServer_SuggestPromiseDate(t *testing.T) {
	t.Parallel()
	p := setupPlanning(t)
	events := len(p.Events(t))
	for _, r := range []*workflowv1.SuggestPromiseDateRequest{{Route: "routes/painted"}, {Piece: p.piece, Chance: 0.9}} {
		got, err := p.SuggestPromiseDate(svctest.Ctx(t), r)
		if err != nil {
			t.Fatal(err)
		}
		if g, h := got.Gentle, got.Hurried; g.Chance < max(0.8, r.Chance) || g.PromiseTime.AsTime().Before(g.EndTime.AsTime()) || h.EndTime.AsTime().After(g.EndTime.AsTime()) || len(got.Steps) != 4 {
			t.Errorf("%v: %v", r, got)
		}
	}
	if len(p.Events(t)) != events {
		t.Error("something happened")
	}
	for _, c := range []struct {
		r      *workflowv1.SuggestPromiseDateRequest
		kind   fault.Kind
		reason string
	}{
		{&workflowv1.SuggestPromiseDateRequest{}, fault.Invalid, "NOTHING_TO_PROMISE"},
		{&workflowv1.SuggestPromiseDateRequest{Route: "routes/painted", Piece: p.piece}, fault.Invalid, "NOTHING_TO_PROMISE"},
		{&workflowv1.SuggestPromiseDateRequest{Route: "routes/none"}, fault.NotFound, "ROUTE_NOT_FOUND"},
		{&workflowv1.SuggestPromiseDateRequest{Piece: id.Name("pieces", id.New())}, fault.NotFound, "PIECE_NOT_FOUND"},
	} {
		svctest.Refused(t, p.Service, p.SuggestPromiseDate, c.r, c.kind, c.reason)
	}
}
