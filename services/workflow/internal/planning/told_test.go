package planning

import (
	"fmt"
	"testing"
	"time"

	"tackfree/pkg/id"
	"tackfree/services/workflow/internal/workflow"
)

// publish has people know a plan: what begins by its first day's end is theirs by it.
func (s *shop) publish(p *Plan) {
	s.Published, s.Given, s.PublishedAt, s.Publication = map[id.ID]Told{}, map[id.ID]id.ID{}, s.Now, s.Publication+1
	for _, t := range p.Told() {
		s.Published[t.Stage] = t
		if t.Person == id.Nil || !t.Start.Before(s.Now.Truncate(24*time.Hour).AddDate(0, 0, 1)) {
			continue
		}
		s.Given[t.Stage] = t.Person
		for i := range s.Pieces {
			for k := range s.Pieces[i].Stages {
				if st := &s.Pieces[i].Stages[k]; st.ID == t.Stage {
					st.Assignee, st.AssignedTo = t.Person, "whom the plan gave it"
				}
			}
		}
	}
}

// What was published stays although something else would be as good, or a little better: a rush that can wait
// until the afternoon does not turn the morning round.
func TestMake_StaysNearToWhatWasPublished(t *testing.T) {
	s := newShop(t)
	s.person("Nell")
	for i := range 4 {
		s.piece(on(1, 12, 0), s.stage(fmt.Sprintf("sand_%d", i), 60, 0))
	}
	before := s.plan(t)
	s.publish(before)
	s.piece(on(0, 16, 30), s.stage("wax", 60, 0))
	p := s.plan(t)
	want(t, p, append(said(before), "5 wax: Nell, Mon 12:30 to Mon 13:30")...)
	if p.Cost.Moved != 0 || p.Cost.Late != 0 || !p.PublishedAt.Equal(monday) {
		t.Errorf("cost %+v, published %v", p.Cost, p.PublishedAt)
	}
	for _, at := range p.Placed {
		if at.Known != nil {
			t.Errorf("%s is said to be otherwise than was published, from %v", at.Stage.Title(), at.Known.Start)
		}
	}
}

// What is pinned after a plan was published is done when and by whom the pin says; what that is in the way of makes
// room, and all else stays.
func TestMake_PinnedSinceItWasPublished(t *testing.T) {
	s := newShop(t)
	s.People = make([]workflow.Person, 0, 2)
	nell, _ := s.person("Nell"), s.person("Odo")
	for i := range 6 {
		s.piece(on(1, 12, 0), s.stage(fmt.Sprintf("sand_%d", i), 60, 0))
	}
	s.publish(s.plan(t))
	var last, first *Placed
	before := s.plan(t)
	for i := range before.Placed {
		if at := &before.Placed[i]; at.Start.Equal(on(0, 10, 0)) && at.Person.Name == "Odo" {
			last = at
		} else if at.Start.Equal(on(0, 9, 0)) && at.Person.Name == "Nell" {
			first = at
		}
	}
	for i := range s.Pieces { // it is not Odo's by hand
		if st := &s.Pieces[i].Stages[0]; st.ID == last.Stage.ID {
			s.Pins[st.ID] = workflow.PlanPin{Stage: st.ID, Person: nell.ID, At: on(0, 9, 30)}
		}
	}
	p := s.plan(t)
	for _, at := range p.Placed {
		switch at.Stage.ID {
		case last.Stage.ID:
			if at.Person.Name != "Nell" || !at.Start.Equal(on(0, 9, 30)) {
				t.Errorf("what is pinned to Nell at half past nine is %s's at %v", at.Person.Name, at.Start)
			}
		case first.Stage.ID:
			if at.Start.Equal(on(0, 9, 0)) && at.Person.Name == "Nell" {
				t.Error("what is in the way did not make room")
			}
		}
	}
	if p.Cost.Moved > 3 {
		t.Errorf("%d of 6 are moved: %q", p.Cost.Moved, said(p))
	}
}

// A helper does not come: what the plan gave them goes to others; what they have by hand waits for them; and what
// others have stays where it is.
func TestMake_PublishedAndSomebodyIsAway(t *testing.T) {
	s := newShop(t)
	s.People = make([]workflow.Person, 0, 3)
	nell, odo := s.person("Nell"), s.person("Odo")
	for i := range 4 {
		s.piece(on(0, 16, 30), s.stage(fmt.Sprintf("sand_%d", i), 90, 0))
	}
	s.publish(s.plan(t))
	byHand := s.stage("wax", 30, 0)
	byHand.Assignee = nell.ID
	s.piece(time.Time{}, byHand)
	odos := map[id.ID]Told{}
	for stage, told := range s.Published {
		if told.Person == odo.ID {
			odos[stage] = told
		}
	}
	if len(odos) != 2 {
		t.Fatalf("Odo was told %d stages, and 2 of 4 are right", len(odos))
	}
	f, err := s.Suppose(Supposed{Absences: []Absence{{nell.ID, on(0, 0, 0), on(0, 0, 0)}}})
	if err != nil {
		t.Fatal(err)
	}
	p, err := Make(f)
	if err != nil {
		t.Fatal(err)
	}
	for _, at := range p.Placed {
		told, his := odos[at.Stage.ID]
		switch {
		case at.Stage.Kind == "wax":
			if at.Person.Name != "Nell" || !at.Start.Equal(on(1, 8, 0)) {
				t.Errorf("the wax is %s's from %v", at.Person.Name, at.Start)
			}
		case at.Person.Name != "Odo":
			t.Errorf("%s is %s's, who is away", at.Stage.Title(), at.Person.Name)
		case his && (!at.Start.Equal(told.Start) || at.Known != nil):
			t.Errorf("%s is moved from %v to %v", at.Stage.Title(), told.Start, at.Start)
		case !his && (at.Known == nil || at.Known.Person.Name != "Nell" || at.Held == ""):
			t.Errorf("of %s is said that people know %+v, and that %q has it", at.Stage.Title(), at.Known, at.Held)
		case his && at.Held != "":
			t.Errorf("%s is said to be %s's still", at.Stage.Title(), at.Held)
		}
	}
	if p.Cost.Moved != 2 || p.Cost.LatePromises != 0 {
		t.Errorf("cost %+v", p.Cost)
	}
}

// What is supposed of one piece leaves to others what the plan has moved to them since it was published.
func TestSuppose_NearToThePlanOfNow(t *testing.T) {
	s := newShop(t)
	s.People = make([]workflow.Person, 0, 2)
	nell, _ := s.person("Nell"), s.person("Odo")
	s.piece(on(0, 12, 0), s.stage("sand", 90, 0))
	s.piece(on(0, 12, 0), s.stage("wax", 90, 0))
	s.publish(s.plan(t))
	nell.DaysOff = []workflow.DayOff{{First: time.Date(2026, 3, 2, 0, 0, 0, 0, time.UTC), Last: time.Date(2026, 3, 2, 0, 0, 0, 0, time.UTC)}}
	now := s.plan(t)
	f, err := s.Near(now).Suppose(Supposed{Promises: []Promise{{s.Pieces[1].Piece.ID, on(0, 11, 30)}}})
	if err != nil {
		t.Fatal(err)
	}
	then, err := Make(f)
	if err != nil {
		t.Fatal(err)
	}
	want(t, then, said(now)...)
	if then.Cost.Moved != 0 {
		t.Errorf("%d are moved", then.Cost.Moved)
	}
}

// A promised piece of which something has no place is not one whose promise is kept.
func TestMake_CountsWhatHasNoPlaceAsLate(t *testing.T) {
	s := newShop(t)
	s.person("Nell")
	spray := s.stage("paint_coat", 30, 0)
	spray.Skill = "spray"
	s.piece(on(4, 12, 0), s.stage("sand", 60, 0), spray)
	s.piece(time.Time{}, s.stage("wax", 60, 0))
	if c := s.plan(t).Cost; c.LatePromises != 1 || c.Unplaced != 1 {
		t.Errorf("cost %+v", c)
	}
}

// A stage of a batch that others do meanwhile is in the plan until it is back.
func TestMake_BatchOfWhichSomethingIsOut(t *testing.T) {
	s := newShop(t)
	s.person("Nell")
	batch := s.id()
	for range 2 {
		st := s.stage("caning", 60, 0)
		st.Batch = batch
		s.piece(time.Time{}, st)
	}
	s.Pieces[0].Out = []Outing{{Stage: s.Pieces[0].Stages[0].ID, Firm: "Caner", Due: on(1, 0, 0)}}
	if p := s.plan(t); len(p.Placed) != 2 || p.Placed[0].Person != nil || !p.Placed[1].End.Equal(on(2, 0, 0)) {
		t.Errorf("%q", said(p))
	}
}

// A stage that was sent back is not where its last pass was planned.
func TestMake_PublishedForAnotherPass(t *testing.T) {
	s := newShop(t)
	s.person("Nell")
	s.piece(time.Time{}, s.stage("sand", 60, 0))
	s.publish(s.plan(t))
	s.Pieces[0].Stages[0].SentBack = []time.Time{monday}
	if p := s.plan(t); p.Placed[0].Known != nil || p.Cost.Moved != 0 {
		t.Errorf("%+v, %+v", p.Placed[0], p.Cost)
	}
}

// A plan that is looked for longer costs no more than the one at once, and tells of what is better on its way.
func TestPropose(t *testing.T) {
	s := newShop(t)
	s.People = make([]workflow.Person, 0, 3)
	for _, name := range []string{"Nell", "Odo", "Ira"} {
		s.person(name)
	}
	booth := s.at("booth", workflow.SprayBooth, 1)
	for i := range 20 {
		coat := s.stage("paint_coat", 40+10*(i%5), 240)
		coat.Station = string(booth.Kind)
		s.piece(on(1+i%6, 12, 0), s.stage("sand", 60+15*(i%4), 0), coat, s.stage("wax", 30, 0))
	}
	atOnce := s.plan(t)
	var told []Progress
	parts := 0
	budget := func() float64 { parts++; return float64(parts) / 4000 }
	p, err := Propose(&s.Facts, Search{Seed: 1, Budget: budget, Improved: func(how Progress) { told = append(told, how) }})
	if err != nil {
		t.Fatal(err)
	}
	if all := wrong(s, p); len(all) > 0 {
		t.Error(all)
	}
	if p.Cost.Late > atOnce.Cost.Late || p.Cost.Unplaced > 0 || len(told) < 2 {
		t.Errorf("costs %+v, and at once %+v; told %d times", p.Cost, atOnce.Cost, len(told))
	}
	last := told[len(told)-1]
	if last.Cost != *p.Cost || last.Least.Late > p.Cost.Late || last.Least.Waiting > p.Cost.Waiting || last.Least.Waiting == 0 {
		t.Errorf("told %+v, and it costs %+v", last, p.Cost)
	}
}
