// Package sim makes up the week of package week: it plays a shop minute by minute by the rules
// that the services keep, so that no command of the story is refused:
//
//	who is there ─▶ what is ready, dry and here ─▶ is there room ─▶ they work until they must stop
//
// What is left to chance comes from one seed, so the story is the same each time.
package sim

import (
	"math/rand/v2"
	"time"
)

// The week, by the clock of the shop. Before it pieces and materials came in; the Monday after
// it the week is closed.
var (
	zone   = mustZone("America/Chicago")
	monday = time.Date(2026, 3, 16, 0, 0, 0, 0, zone)
)

func mustZone(name string) *time.Location {
	z, err := time.LoadLocation(name)
	if err != nil {
		panic(err)
	}
	return z
}

// days are how many days of the week are worked on.
const days = 6

// shop is the shop as it is at a minute of the week.
type shop struct {
	rand     *rand.Rand
	people   []*person
	stations []*station
	pieces   []*piece
	steps    []*step
	stock    map[string]int // millilitres on hand by product
	now      time.Time
	turn     int // minutes so far: who is asked first goes round

	batched, switched, handedOver, claimed int
	corrected, failed                      int
	offline                                []*kept
	firms                                  []*firm
}

// Story is the week as package scenario reads it.
func Story() []byte {
	s := &shop{rand: rand.New(rand.NewPCG(1903, 16)), people: people(), stations: stations(), stock: map[string]int{}, firms: firms()}
	s.fillShelves()
	s.takeIn()
	for day := range days {
		s.work(monday.AddDate(0, 0, day))
	}
	s.say(monday.AddDate(0, 0, 7).Add(8*time.Hour), "lock_week", lockWeek{Day: date(monday)})
	return s.write()
}

// work plays a day.
func (s *shop) work(day time.Time) {
	for _, p := range s.people {
		p.start(day)
	}
	for minute := 6 * 60; minute <= 20*60; minute++ {
		s.now, s.turn = at(day, minute), s.turn+1
		for _, p := range s.people {
			s.stop(p)
		}
		s.happen()
		for i := range s.people {
			p := s.people[(i+s.turn)%len(s.people)]
			if p.idle(s.now) {
				s.employ(p)
			}
		}
	}
}

// at is a minute of a day by the clock.
func at(day time.Time, minute int) time.Time {
	return time.Date(day.Year(), day.Month(), day.Day(), 0, minute, 0, 0, zone)
}

// date is a day as it is written.
func date(t time.Time) string { return t.Format("2006-01-02") }

// clock is an instant as it is written.
func clock(t time.Time) string { return t.Format("2006-01-02 15:04:05") }

// between is a random number from low to high, both included.
func (s *shop) between(low, high int) int { return low + s.rand.IntN(high-low+1) }

// chance is true so many times in a hundred.
func (s *shop) chance(percent int) bool { return s.rand.IntN(100) < percent }

// seconds is a random length of so many seconds.
func (s *shop) seconds(low, high int) time.Duration {
	return time.Duration(s.between(low, high)) * time.Second
}
