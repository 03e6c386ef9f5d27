package planning

import (
	"sync/atomic"
	"testing"
	"time"
)

// busy is a shop of three with more promised than can be kept.
func busy(t testing.TB) *shop {
	s := newShop(t)
	for _, name := range []string{"Nell", "Odo", "Pim"} {
		s.person(name)
	}
	for i := range 14 {
		s.piece(on(1+i/3, 12, 0), s.stage("sand", 60+10*(i%5), 0), s.stage("prime", 40, 240), s.stage("paint", 50, 300), s.stage("topcoat", 45, 600))
	}
	return s
}

// asks is a budget of so many looks at the clock.
func asks(n int64) func() float64 {
	var seen atomic.Int64
	return func() float64 { return float64(seen.Add(1)) / float64(n) }
}

func (s *shop) proposed(t testing.TB, seed uint64, n int64) *Plan {
	t.Helper()
	p, err := Propose(&s.Facts, Search{Seed: seed, Budget: asks(n)})
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// As long as it can be kept the plan that is shown is the one that was published, to its last day: also where somebody who
// was to be away comes after all, and another would be better.
func TestMake_IsWhatWasPublished(t *testing.T) {
	s := busy(t)
	f, err := s.Suppose(Supposed{Absences: []Absence{{s.People[2].ID, time.Date(2026, 3, 4, 0, 0, 0, 0, time.UTC), time.Date(2026, 3, 20, 0, 0, 0, 0, time.UTC)}}})
	if err != nil {
		t.Fatal(err)
	}
	first, err := Make(f)
	if err != nil {
		t.Fatal(err)
	}
	s.publish(first)
	p := s.plan(t)
	want(t, p, said(first)...)
	if p.Cost.Moved != 0 || p.Cost.Late != first.Cost.Late || p.Cost.Waiting != first.Cost.Waiting {
		t.Errorf("cost %+v, and of what was published %+v", p.Cost, first.Cost)
	}
}

// A proposal is no later than the plan that is shown, as planned and when it is played, and moves what people know only
// for that.
func TestPropose_NoWorseThanWhatIsShown(t *testing.T) {
	s := busy(t)
	s.publish(s.plan(t))
	for seed := range uint64(6) {
		shown := s.plan(t)
		p := s.proposed(t, seed, 300)
		m, _, err := newMaker(&s.Facts)
		if err != nil {
			t.Fatal(err)
		}
		late := func(p *Plan) float64 {
			slots := m.slots(p.byStage())
			m.marks(slots)
			sum, err := m.played(slots)
			if err != nil {
				t.Fatal(err)
			}
			return sum
		}
		was, is := late(shown), late(p)
		if is > (1+worth)*was {
			t.Errorf("seed %d: played it is %v late, what is shown %v", seed, is, was)
		}
		if is > (1-worth)*was && p.Cost.Late >= shown.Cost.Late && p.Cost.Moved > 0 {
			t.Errorf("seed %d: %d are moved for nothing: %+v after %+v", seed, p.Cost.Moved, p.Cost, shown.Cost)
		}
		if seed == 3 { // and from what was proposed on
			s.publish(p)
		}
	}
}

// On a Friday afternoon people count on Monday as well: no proposal moves it only for work to wait less.
func TestPropose_OnFridayMondayCounts(t *testing.T) {
	s := busy(t)
	s.Now = on(4, 13, 0)
	for i := range s.Pieces {
		s.Pieces[i].Piece.Promised = time.Time{}
	}
	f, err := s.Suppose(Supposed{Absences: []Absence{{s.People[2].ID, time.Date(2026, 3, 9, 0, 0, 0, 0, time.UTC), time.Date(2026, 3, 20, 0, 0, 0, 0, time.UTC)}}})
	if err != nil {
		t.Fatal(err)
	}
	known, err := Make(f)
	if err != nil {
		t.Fatal(err)
	}
	s.publish(known)
	p := s.proposed(t, 1, 300)
	monday, then := 0, p.byStage()
	for _, was := range known.Told() {
		if was.Start.Before(on(8, 0, 0)) {
			if monday++; then[was.Stage] != was {
				t.Errorf("%v is %v in the proposal", was, then[was.Stage])
			}
		}
	}
	if monday < 20 || p.Cost.Moved != 0 || p.Cost.Waiting >= known.Cost.Waiting {
		t.Errorf("%d begin by Monday; %+v after %+v", monday, p.Cost, known.Cost)
	}
}
