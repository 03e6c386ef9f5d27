package planning

import (
	"fmt"
	"reflect"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"tackfree/pkg/id"
	"tackfree/services/workflow/internal/workflow"
)

// wrong lists what a plan asks that cannot be. It looks at instants and shares nothing with what made the plan.
func wrong(s *shop, p *Plan) (all []string) {
	say := func(format string, args ...any) { all = append(all, fmt.Sprintf(format, args...)) }
	ends, hands := map[id.ID]time.Time{}, map[id.ID]time.Duration{}
	for _, a := range p.Placed {
		ends[a.Stage.ID] = a.End
		hands[a.Stage.ID]++
	}
	for i, a := range p.Placed {
		for _, b := range p.Placed[i+1:] {
			if a.Person != nil && b.Person != nil && a.Person.ID == b.Person.ID && a.Start.Before(b.End) && b.Start.Before(a.End) {
				say("%s has %s and %s to do at %v", a.Person.Name, a.Stage.Title(), b.Stage.Title(), b.Start)
			}
		}
		if a.Person != nil {
			if !a.Person.Can(a.Stage.Skill, a.Stage.SkillLevel) || (a.Stage.Assignee != id.Nil && !a.Stage.Has(a.Person.ID)) {
				say("%s may not do %s", a.Person.Name, a.Stage.Title())
			}
			if a.Station != nil && len(a.Person.Stations) > 0 && !slices.Contains(a.Person.Stations, a.Station.Word) {
				say("%s may not use %s", a.Person.Name, a.Station.Word)
			}
			worked := time.Duration(0)
			for at := a.Start; at.Before(a.End); at = at.Add(time.Minute) {
				there := atWork(at)
				if there {
					worked += time.Minute
				} else if (a.Stage.Attended <= splits || coats(a.Stage)) && a.Stage.Batch == id.Nil {
					say("%s pauses", a.Stage.Title())
				}
			}
			if !atWork(a.Start) || (worked*hands[a.Stage.ID] < a.Stage.Attended*9/10 && a.Stage.Batch == id.Nil) {
				say("%s is done from %v to %v", a.Stage.Title(), a.Start, a.End)
			}
		}
		if a.Station != nil && (string(a.Station.Kind) != a.Stage.Station || a.Station.Retired) {
			say("%s is done at %s", a.Stage.Title(), a.Station.Word)
		}
	}
	for _, st := range s.Stations {
		for _, a := range p.Placed {
			there := map[id.ID]bool{}
			for _, b := range p.Placed {
				if b.Station != nil && b.Station.ID == st.ID && !b.Start.After(a.Start) && a.Start.Before(b.End) {
					there[b.Piece.Piece.ID] = true
				}
			}
			if len(there) > int(st.Capacity) {
				say("%s holds %d at %v", st.Word, len(there), a.Start)
			}
		}
	}
	for _, a := range p.Placed {
		for _, before := range a.Stage.After {
			if end, planned := ends[before]; !planned || a.Start.Before(end.Add(driesFor(a.Piece, before))) {
				say("%s begins at %v, and what is before it is done at %v", a.Stage.Title(), a.Start, end)
			}
		}
	}
	return all
}

func driesFor(p *Piece, stage id.ID) time.Duration {
	i := slices.IndexFunc(p.Stages, func(s workflow.Stage) bool { return s.ID == stage })
	if p.Stages[i].Attended == 0 {
		return 0
	}
	return p.Stages[i].Unattended
}

// atWork reports whether everybody works, by weekdays.
func atWork(at time.Time) bool {
	minute := at.Hour()*60 + at.Minute()
	return at.Weekday() != time.Saturday && at.Weekday() != time.Sunday && minute >= 480 && minute < 990 && (minute < 720 || minute >= 750)
}

// aShop draws a floor on a Monday morning, or some way into it.
func aShop(t *rapid.T, labour *workflow.Labour) *shop {
	s := &shop{Facts: Facts{Labour: labour, Now: monday.Add(time.Duration(rapid.IntRange(0, 700).Draw(t, "now")) * time.Minute), Worked: map[id.ID]time.Duration{}, Pins: map[id.ID]workflow.PlanPin{}}}
	skills := []string{"sand", "spray"}
	for i := range rapid.IntRange(1, 4).Draw(t, "people") {
		p := s.person(fmt.Sprint("p", i), skills[:rapid.IntRange(0, 2).Draw(t, "skills")]...)
		if rapid.Bool().Draw(t, "barred") {
			p.Stations = []string{"booth-0", "bench-0"}
		}
	}
	for i := range 2 {
		s.at(fmt.Sprint("booth-", i), workflow.SprayBooth, 1)
		s.at(fmt.Sprint("bench-", i), workflow.Bench, 2)
	}
	batch := s.id()
	for range rapid.IntRange(1, 6).Draw(t, "pieces") {
		var stages []workflow.Stage
		for k := range rapid.IntRange(1, 5).Draw(t, "stages") {
			st := s.stage(rapid.SampledFrom([]string{"sand", "paint_coat", "wax", "cure"}).Draw(t, "kind"), rapid.IntRange(0, 20).Draw(t, "attended")*10, rapid.IntRange(0, 20).Draw(t, "dries")*60)
			st.Skill = rapid.SampledFrom([]string{"", "sand", "spray"}).Draw(t, "skill")
			st.Station = rapid.SampledFrom([]string{"", "booth", "bench"}).Draw(t, "station")
			switch rapid.IntRange(0, 6).Draw(t, "more") {
			case 0:
				st.Assignee = s.People[0].ID
			case 1:
				s.Pins[st.ID] = workflow.PlanPin{Stage: st.ID, At: s.Now.Add(time.Duration(rapid.IntRange(0, 3000).Draw(t, "pin")) * time.Minute)}
			case 2:
				if last := s.People[len(s.People)-1].ID; k == 0 && len(s.People) > 1 {
					st.Assignee, st.Helpers = s.People[0].ID, []workflow.Helper{{ID: last}}
					st.Attended *= 2
				}
			case 3:
				if k == 0 {
					st.Batch, st.Kind, st.Skill, st.Station = batch, "sand", "", "bench"
				}
			}
			stages = append(stages, st)
		}
		due := time.Time{}
		if rapid.Bool().Draw(t, "promised") {
			due = s.Now.Add(time.Duration(rapid.IntRange(-500, 10_000).Draw(t, "due")) * time.Minute)
		}
		s.piece(due, stages...)
	}
	return s
}

// No plan books anybody or anything twice, none asks what a clock-on refuses, and each stage has a place or a
// reason; the same floor has the same plan.
func TestMake_KeepsEveryRule(t *testing.T) {
	labour := newShop(t).Labour
	rapid.Check(t, func(t *rapid.T) {
		s := aShop(t, labour)
		p, err := Make(&s.Facts)
		if err != nil {
			t.Fatal(err)
		}
		if w := wrong(s, p); len(w) > 0 {
			t.Fatalf("%d wrong, the first: %s\n%q", len(w), w[0], said(p))
		}
		told := map[id.ID]bool{}
		for _, a := range p.Placed {
			told[a.Stage.ID] = true
		}
		for _, u := range p.Unplaced {
			if told[u.Stage.ID] || len(u.Says.Text) < 20 || u.Says.Reason == "" || u.Says.Text[len(u.Says.Text)-1] != '.' || u.Why == NoTime {
				t.Fatalf("%s: %+v", u.Stage.Title(), u)
			}
			told[u.Stage.ID] = true
		}
		for _, piece := range s.Pieces {
			for _, st := range piece.Stages {
				if !told[st.ID] {
					t.Fatalf("%s has neither a place nor a reason", st.Title())
				}
			}
		}
		if again, err := Make(&s.Facts); err != nil || !reflect.DeepEqual(said(p), said(again)) {
			t.Fatalf("the same floor has another plan, %v", err)
		}
	})
}
