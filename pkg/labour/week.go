package labour

import (
	"slices"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/money"
)

// Spell is time on the clock at one job, at one rate.
type Spell struct {
	Start, End time.Time
	Pay        money.Amount // straight pay, as it has been rounded; not below zero
	PerHour    money.Amount // by which a break after it is paid, and what rounding adds or takes at its ends
	Paused     bool         // it ended in a pause
	Job        string       // what it was on
	Part       string       // of the week, such as the month; empty: the premium is not split by it
}

// Workweek is what somebody did in one workweek.
type Workweek struct {
	From, To time.Time      // it begins at midnight by the clock of the zone, and so does the next
	Zone     *time.Location // whose calendar days and clock count
	Spells   []Spell        // in any order; those outside of the week only say where a break began or ended
	Other    money.Amount   // bonus, piece wages, a salary …: pay for the week that is in no spell
}

// spells sorts and checks the spells. Faults: SPELL_REVERSED, SPELLS_OVERLAP, SPELL_OVER_WEEK_END.
func (w Workweek) spells() ([]Spell, error) {
	sorted := slices.SortedFunc(slices.Values(w.Spells), func(a, b Spell) int { return a.Start.Compare(b.Start) })
	for i, s := range sorted {
		switch {
		case !s.End.After(s.Start):
			return nil, fault.New(fault.Invalid, "SPELL_REVERSED", "A spell that begins at %s ends at %s; it must end after it began.", w.clock(s.Start), w.clock(s.End))
		case i > 0 && s.Start.Before(sorted[i-1].End):
			return nil, fault.New(fault.Invalid, "SPELLS_OVERLAP", "A spell begins at %s, before the one that began at %s ends at %s.", w.clock(s.Start), w.clock(sorted[i-1].Start), w.clock(sorted[i-1].End))
		case w.over(w.From, s) || w.over(w.To, s):
			return nil, fault.New(fault.Invalid, "SPELL_OVER_WEEK_END", "The spell from %s to %s lies in two weeks; it is cut where the one ends.", w.clock(s.Start), w.clock(s.End))
		}
	}
	return sorted, nil
}

// over reports a spell that goes on over an instant.
func (w Workweek) over(at time.Time, s Spell) bool { return s.Start.Before(at) && s.End.After(at) }

func (w Workweek) clock(t time.Time) string { return t.In(w.Zone).Format("2006-01-02 15:04:05") }

// has reports a spell of the week.
func (w Workweek) has(s Spell) bool { return !s.Start.Before(w.From) && !s.End.After(w.To) }

// span is a length of time at a rate, and when it counts.
type span struct {
	at      time.Time
	length  time.Duration
	perHour money.Amount
}

// within is what of the time from start to end lies in the week.
func (w Workweek) within(start, end time.Time) (from, to time.Time) {
	from, to = start, end
	if from.Before(w.From) {
		from = w.From
	}
	if to.After(w.To) {
		to = w.To
	}
	if to.Before(from) {
		to = from
	}
	return from, to
}
