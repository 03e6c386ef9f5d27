package costing

import (
	"math"
	"time"

	"tackfree/pkg/ledger"
)

// Cut is how far a month was counted when it was closed: all that happened before its end, of what the
// books had taken in up to a position.
type Cut struct {
	Month    Month
	Position int64
}

// Cuts say of each line of the ledger when it counts, as Months says what months come to. They are those of
// the closes in force.
//
//	March, closed at 4711    lines of March up to 4711
//	April, open              lines of April; and of March those after 4711, which are late
type Cuts struct {
	zone *time.Location
	all  []Cut
}

// NewCuts makes them of cuts in the order of their months.
func NewCuts(all []Cut, zone *time.Location) Cuts { return Cuts{zone, all} }

// CountsOn is the calendar day on which something counts that happened at an instant and that the books took
// in at a position: its own, or of what is late the first of the month that has it.
func (c Cuts) CountsOn(at time.Time, position int64) time.Time {
	closed := Cut{}
	for _, cut := range c.all {
		if at.Before(cut.Month.To) && position <= cut.Position {
			if at.Before(closed.Month.To) {
				return cut.Month.First
			}
			return dayIn(at, c.zone)
		}
		closed = cut
	}
	if at.Before(closed.Month.To) {
		return closed.Month.Next(c.zone).First
	}
	return dayIn(at, c.zone)
}

// Date says of posted lines on which day they count.
func (c Cuts) Date(lines []Posted) {
	for i, l := range lines {
		lines[i].CountsOn = c.CountsOn(l.OccurredAt, l.Position)
	}
}

// Late is on which day a line counts that does not count on its own; false: it does.
func (p Posted) Late(zone *time.Location) (day time.Time, late bool) {
	return p.CountsOn, !p.CountsOn.Equal(dayIn(p.OccurredAt, zone))
}

// Excerpt is some of the ledger: what happened in a period and was taken in up to a position, but for what
// a close has counted.
type Excerpt struct {
	Period
	Until int64
	But   Cut // the zero cut: none
}

// All is the excerpt of what happened in a period, whenever it counts.
func All(p Period) Excerpt { return Excerpt{Period: p, Until: math.MaxInt64} }

// Of is the excerpt of what counts in a month.
func (c Cuts) Of(month Month) Excerpt {
	e, before := All(Period{month.From, month.To}), Cut{}
	for _, cut := range c.all {
		if !month.First.After(cut.Month.First) {
			e.Until = cut.Position
			if month.First.Equal(cut.Month.First) {
				e.To = cut.Month.To
			}
			return e.late(before)
		}
		before = cut
	}
	if len(c.all) > 0 && before.Month.Next(c.zone).First.Equal(month.First) {
		return e.late(before)
	}
	return e
}

// late adds what is of months that a close before has counted, and came after it. The first close has
// nothing before it.
func (e Excerpt) late(before Cut) Excerpt {
	if before.Month.To.IsZero() {
		return e
	}
	e.From, e.But = Ever().From, before
	return e
}

// Rest is what a month comes to beyond the lines of its excerpt. It is nothing, but where the books were made
// anew after a month was closed: what that has counted stays, and is on no lines of today.
func Rest(month Figures, lines []ledger.Balance) Figures {
	rest := Figures{}.With(month.Balances())
	rest.add(lines, -1)
	return rest
}
