package planning

import (
	"strings"
	"testing"

	"tackfree/pkg/id"
	"tackfree/services/workflow/internal/workflow"
)

// Who does not want a stage does not get it, until it is theirs or pinned to them; where nobody else can, the plan
// says who refused it.
func TestMake_Refused(t *testing.T) {
	floor := func(others bool) (*shop, id.ID) {
		s := newShop(t)
		s.person("Nell", "sand")
		if others {
			s.person("Ira", "sand")
		}
		s.person("Tom")
		sanding := s.stage("sand", 60, 0)
		sanding.Skill = "sand"
		s.piece(on(1, 16, 30), sanding)
		s.Refused = map[id.ID][]id.ID{sanding.ID: {s.People[0].ID}}
		return s, sanding.ID
	}
	s, stage := floor(true)
	if got := said(s.plan(t)); len(got) != 1 || !strings.HasPrefix(got[0], "1 sand: Ira") {
		t.Errorf("Nell refused it, and it is planned so: %q", got)
	}
	s.Refused[stage] = append(s.Refused[stage], s.People[1].ID)
	if got := said(s.plan(t)); len(got) != 1 || got[0] != "1 sand: Nobody can do sand but who refused it: Nell, Ira. Give it to them all the same, or have somebody else learn it." {
		t.Errorf("both refused it: %q", got)
	}
	s.Pins[stage] = workflow.PlanPin{Stage: stage, Pass: 1, Person: s.People[0].ID}
	if got := said(s.plan(t)); len(got) != 1 || !strings.HasPrefix(got[0], "1 sand: Nell") {
		t.Errorf("pinned to Nell, it is planned so: %q", got)
	}
	s, stage = floor(false)
	s.People[0].Week = nil // who refused it would not be there anyway
	if u := s.plan(t).Unplaced; len(u) != 1 || u[0].Says.Reason != "NO_WORKING_DAYS" || u[0].Stage.ID != stage {
		t.Errorf("without working days: %+v", u)
	}
	s, _ = floor(false)
	s.at("booth", workflow.SprayBooth, 1)
	s.Pieces[0].Stages[0].Station = string(workflow.SprayBooth)
	s.People[0].Stations = []string{"bench"}
	if u := s.plan(t).Unplaced; len(u) != 1 || u[0].Says.Reason == "REFUSED_BY_ALL" {
		t.Errorf("who refused it may not work there anyway: %+v", u)
	}
}
