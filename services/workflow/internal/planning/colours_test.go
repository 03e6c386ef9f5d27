package planning

import (
	"testing"
	"time"

	"tackfree/services/workflow/internal/workflow"
)

// One booth that takes half an hour to clean from one paint to another: what is of one colour is done together, and
// what was sprayed there last before has it cleaned first.
func TestMake_CleansBetweenColours(t *testing.T) {
	s := newShop(t)
	s.person("Nell")
	booth := s.at("booth", workflow.SprayBooth, 1)
	booth.Changeover = 30 * time.Minute
	white, black := s.id(), s.id()
	for _, colour := range []struct {
		key     string
		product [16]byte
	}{{"white_1", white}, {"black_1", black}, {"white_2", white}, {"black_2", black}} {
		coat := s.stage(colour.key, 30, 0)
		coat.Station, coat.Product = "booth", colour.product
		s.piece(on(0, 16, 30), coat)
	}
	p := s.plan(t)
	if last := p.Placed[3]; !last.End.Equal(on(0, 10, 30)) || len(p.Unplaced) > 0 {
		t.Errorf("four coats of two colours are done at %v: %q", last.End, said(p))
	}
	if p.Placed[0].Stage.Product != p.Placed[1].Stage.Product || p.Placed[2].Stage.Product != p.Placed[3].Stage.Product {
		t.Errorf("colours are mixed: %q", said(p))
	}
	s.Used = []workflow.UsedAt{{Station: booth.ID, Product: white, Used: workflow.Used{Until: s.Now.Add(-10 * time.Minute)}}}
	p = s.plan(t)
	if p.Placed[0].Stage.Product != white || !p.Placed[0].Start.Equal(monday) || !p.Placed[3].End.Equal(on(0, 10, 30)) {
		t.Errorf("after white, %q", said(p))
	}
	s.Pieces = s.Pieces[1:2] // black alone: the rest of the half hour
	if p = s.plan(t); !p.Placed[0].Start.Equal(on(0, 8, 20)) {
		t.Errorf("black alone: %q", said(p))
	}
}

// A station that holds several things has no colours in the plan.
func TestMake_CleansOnlyWhatHoldsOneThing(t *testing.T) {
	s := newShop(t)
	s.person("Nell")
	rack := s.at("rack", workflow.DryingRack, 4)
	rack.Changeover = 30 * time.Minute
	for range 2 {
		st := s.stage("wax", 30, 0)
		st.Station, st.Product = "rack", s.id()
		s.piece(time.Time{}, st)
	}
	if p := s.plan(t); !p.Placed[1].End.Equal(on(0, 9, 0)) {
		t.Errorf("%q", said(p))
	}
}
