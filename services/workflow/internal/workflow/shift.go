package workflow

import (
	"fmt"
	"slices"
	"tackfree/pkg/sentence"
	"time"
)

// WorkingDay is when somebody works on one day of the week, or a station is open, by the
// shop's clock.
type WorkingDay struct {
	Weekday time.Weekday `json:"weekday"`
	Hours
	Breaks []Hours `json:"breaks,omitempty"`
}

// Hours are from one minute of the day to another; an end that is not after the start is on
// the next day.
type Hours struct {
	Start int `json:"start"` // minutes since midnight, 0 to 1439
	End   int `json:"end"`   // 0 to 1440, which is midnight at the end of the day
}

// DayOff are days on which somebody is away, the first and the last included.
type DayOff struct {
	First  time.Time `json:"first"` // midnight in UTC of the day
	Last   time.Time `json:"last"`
	Reason string    `json:"reason,omitempty"`
}

// Shift is when somebody works once, or a station is open, from one instant to another, the
// last not included. Its length is what passes in between, also on the days on which clocks
// are moved.
type Shift struct {
	Start, End time.Time
	Breaks     []Pause
}

// Pause is a break in a shift.
type Pause struct{ Start, End time.Time }

// Contains reports whether an instant lies in the shift.
func (s Shift) Contains(at time.Time) bool { return !at.Before(s.Start) && at.Before(s.End) }

// ShiftOn is the person's shift that begins on a day, a midnight in UTC, by the clock of a
// zone. nil: there is none, and why, in words.
func (p Person) ShiftOn(day time.Time, zone *time.Location) (*Shift, sentence.Sentence) {
	if err := p.belongs(day); err != nil {
		return nil, sentence.New("NOT_IN_SHOP", "not in the shop")
	}
	if off := p.off(day); off != nil {
		return nil, off.says()
	}
	if len(p.Week) == 0 {
		return nil, sentence.New("HOURS_NOT_SAID", "nobody said when they work")
	}
	if s := shiftOn(p.Week, day, zone); s != nil {
		return s, sentence.Sentence{}
	}
	return nil, sentence.New("NO_WORKING_DAY", "not a working day")
}

// ShiftAt is the person's shift in which an instant lies, by the clock of its zone, or else
// the next one after it. nil: there is none any more.
func (p Person) ShiftAt(at time.Time) *Shift {
	last := latest(dayOf(at), p.ActiveFrom)
	for _, off := range p.DaysOff {
		last = latest(last, off.Last)
	}
	return shiftAt(at, last, func(day time.Time) *Shift {
		s, _ := p.ShiftOn(day, at.Location())
		return s
	})
}

// ShiftEnd is when the shift ends to which a clock that begins at an instant belongs, by the
// clock of its zone: the one in which it lies, or a later one of that day. false: it belongs
// to none, or nobody said when the person works.
func (p Person) ShiftEnd(start time.Time) (time.Time, bool) {
	s := p.ShiftAt(start)
	if s == nil || !s.Contains(start) && !dayOf(s.Start).Equal(dayOf(start)) {
		return time.Time{}, false
	}
	return s.End, true
}

// worksFrom is from when on the person works who is wanted at an instant, by the clock of its
// zone: not before a shift of theirs, nor in a break; and when that shift ends. false: they work
// no more, or nobody said when.
func (p Person) worksFrom(at time.Time) (from, until time.Time, works bool) {
	for s := p.ShiftAt(at); s != nil; s = p.ShiftAt(s.End) {
		if from := s.resumes(at); s.Contains(from) {
			return from, s.End, true
		}
	}
	return time.Time{}, time.Time{}, false
}

// resumes is when work goes on in the shift after an instant, or at it: when no break is.
func (s Shift) resumes(at time.Time) time.Time {
	at = latest(at, s.Start)
	for _, b := range slices.SortedFunc(slices.Values(s.Breaks), func(a, b Pause) int { return a.Start.Compare(b.Start) }) {
		if !at.Before(b.Start) && at.Before(b.End) {
			at = b.End
		}
	}
	return at
}

// off is what keeps the person away on a day, or nil.
func (p Person) off(day time.Time) *DayOff {
	i := slices.IndexFunc(p.DaysOff, func(d DayOff) bool { return !day.Before(d.First) && !day.After(d.Last) })
	if i < 0 {
		return nil
	}
	return &p.DaysOff[i]
}

// Absence says that the person has a day off at an instant, by the clock of its zone, and until
// when; empty: they have none.
func (p Person) Absence(at time.Time) string {
	off := p.off(dayOf(at))
	if off == nil {
		return ""
	}
	return fmt.Sprintf("%s is away until the end of %s (%s).", p.Name, saidDay(off.Last), off.says().Text)
}

// says is a day off in words.
func (d DayOff) says() sentence.Sentence {
	if d.Reason == "" {
		return sentence.New("DAY_OFF", "day off")
	}
	return sentence.New("DAY_OFF_FOR", "day off: %s", d.Reason).With("why", d.Reason)
}

// shiftAt is the shift in which an instant lies, or the next one to begin, of those that begin
// on the days up to two weeks after the last on which something is otherwise than in other
// weeks: in one of them the clock may be put forward over all there is.
func shiftAt(at, last time.Time, on func(day time.Time) *Shift) *Shift {
	for day := dayOf(at).AddDate(0, 0, -1); !day.After(last.AddDate(0, 0, 15)); day = day.AddDate(0, 0, 1) {
		if s := on(day); s != nil && at.Before(s.End) {
			return s
		}
	}
	return nil
}

// shiftOn is what begins on a day by a week's hours and the clock of a zone; nil: nothing does,
// or the clock is put forward over all of it.
func shiftOn(week []WorkingDay, day time.Time, zone *time.Location) *Shift {
	i := slices.IndexFunc(week, func(w WorkingDay) bool { return w.Weekday == day.Weekday() })
	if i < 0 {
		return nil
	}
	w := week[i]
	start, end := w.between(day, zone)
	if !end.After(start) {
		return nil
	}
	s := &Shift{Start: start, End: end}
	for _, b := range w.Breaks {
		if from, to := b.from(w.Start).between(day, zone); to.After(from) {
			s.Breaks = append(s.Breaks, Pause{from, to})
		}
	}
	return s
}

// between are the instants of the hours that begin on a day.
func (h Hours) between(day time.Time, zone *time.Location) (start, end time.Time) {
	h = h.from(h.Start)
	start, _ = shown(day, h.Start, zone)
	_, end = shown(day, h.End, zone)
	return start, end
}

// from gives the hours, as they come in a shift that begins at a minute, as minutes of the day
// on which it begins: what is past midnight is 1440 and more.
func (h Hours) from(begins int) Hours {
	if h.Start < begins {
		h.Start, h.End = h.Start+dayLong, h.End+dayLong
	}
	if h.End <= h.Start {
		h.End += dayLong
	}
	return h
}

// dayLong is how many minutes a day has on the clock.
const dayLong = 24 * 60

// dayOf is the day of an instant in its own zone, as midnight in UTC.
func dayOf(at time.Time) time.Time {
	y, m, d := at.Date()
	return time.Date(y, m, d, 0, 0, 0, 0, time.UTC)
}

// saidDay is a day in words.
func saidDay(day time.Time) string { return day.Format("Mon 2 Jan 2006") }
