package workflow

import (
	"fmt"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
)

// Review is what the lead has to settle about a person's clock. It is raised, then settled
// once, and never deleted:
//
//	a shift is over, its clock runs ─▶ forgotten ─ clocked off, or dismissed: it runs rightly
//	a device sent an entry           ─▶ overlap, refused, skew ─ accepted, or dismissed
type Review struct {
	ID         id.ID
	Kind       ReviewKind
	Person     id.ID
	PersonName string
	Entries    []id.ID // the running one, or those that a sent one contradicts
	Sent       *SentEntry
	Reason     string
	ShiftEnd   time.Time
	RaisedAt   time.Time

	SettledAt    time.Time // zero: not yet
	Settlement   Settlement
	SettledBy    string
	SettleReason string
}

// ReviewKind is why something is to be settled.
type ReviewKind string

// The kinds of reviews.
const (
	Forgotten    ReviewKind = "forgotten"
	Contradicted ReviewKind = "overlap"
	Refused      ReviewKind = "refused"
	Skewed       ReviewKind = "skew"
)

// Settlement is how it was settled.
type Settlement string

// The ways to settle.
const (
	WasClockedOff Settlement = "clocked off"
	Accepted      Settlement = "accepted"
	Dismissed     Settlement = "dismissed"
)

// Raise makes the review of a sent entry that does not count, because of a refusal.
func Raise(review id.ID, p Person, s SentEntry, why *fault.Fault, others []id.ID, now time.Time) Review {
	kind := Refused
	switch why.Reason {
	case "CLOCK_OPEN", "CLOCK_OVERLAP":
		kind = Contradicted
	case "DEVICE_SKEWED":
		kind = Skewed
	}
	return Review{ID: review, Kind: kind, Person: p.ID, PersonName: p.Name, Entries: others, Sent: &s, Reason: why.Text, RaisedAt: now}
}

// Late reports whether an end is so late that a clock which ended then was forgotten first.
func (r Review) Late(end time.Time) bool { return end.After(r.ShiftEnd.Add(grace)) }

// LooksAgain is after how long a clock that was found to run rightly is looked at again. Common
// practice.
const LooksAgain = 2 * time.Hour

// grace is for how long a clock may run past the end of its shift, and longestUntold for how
// long one of somebody of whom nobody said when they work. Common practice.
const (
	grace         = 30 * time.Minute
	longestUntold = 12 * time.Hour
)

// Overrun tells since when a clock that runs since start is past its shift, and whether it is
// forgotten by now.
func (p Person) Overrun(start, now time.Time) (shiftEnd time.Time, forgotten bool) {
	end, said := p.ShiftEnd(start)
	if !said {
		end = start.Add(longestUntold)
		return end, now.After(end)
	}
	return end, now.After(end.Add(grace))
}

// Forget makes the review of a clock that was not clocked off; batch is the name of the one that it
// runs at, empty: at none.
func Forget(review id.ID, p Person, e Entry, batch string, shiftEnd, now time.Time) Review {
	on := e.On()
	if batch != "" {
		on = fmt.Sprintf("the batch %q", batch)
	}
	return Review{ID: review, Kind: Forgotten, Person: p.ID, PersonName: p.Name, Entries: []id.ID{e.ID}, ShiftEnd: shiftEnd, RaisedAt: now,
		Reason: fmt.Sprintf("%s is on the clock at %s since %s, %s.", p.Name, on, said(e.Start), p.over(e.Start, shiftEnd, now))}
}

// over says why a clock that runs since start is taken for forgotten.
func (p Person) over(start, shiftEnd, now time.Time) string {
	_, inShift := p.ShiftEnd(start)
	switch {
	case inShift:
		return "and the shift was over at " + saidLike(shiftEnd, start)
	case len(p.Week) == 0:
		return fmt.Sprintf("%s hours by now, and nobody said when %s works", hours(now.Sub(start)), p.Name)
	}
	return fmt.Sprintf("%s hours by now, and in no shift of theirs", hours(now.Sub(start)))
}

// Settle settles it. Faults: REVIEW_SETTLED, SETTLEMENT_UNFIT.
func (r *Review) Settle(how Settlement, actor, reason string, now time.Time) error {
	switch {
	case !r.SettledAt.IsZero():
		return fault.New(fault.Precondition, "REVIEW_SETTLED", "%s settled this already: %s.", r.SettledBy, r.Settlement)
	case r.Kind == Forgotten && how == Accepted:
		return fault.New(fault.Invalid, "SETTLEMENT_UNFIT", "Nothing was sent here to accept. Say when the work ended, or dismiss it if the clock runs rightly.").At("accept")
	case r.Kind != Forgotten && how == WasClockedOff:
		return fault.New(fault.Invalid, "SETTLEMENT_UNFIT", "No clock runs here. Accept what was sent, with other times if need be, or dismiss it.").At("clock_off")
	}
	r.Settlement, r.SettledBy, r.SettleReason, r.SettledAt = how, actor, reason, now
	return nil
}
