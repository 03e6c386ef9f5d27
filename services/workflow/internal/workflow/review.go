package workflow

import (
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

// SentEntry is an entry as a device sent it. A stage or a batch may be none that there is.
type SentEntry struct {
	Piece       id.ID         `json:"piece,omitzero"`
	Stage       id.ID         `json:"stage,omitzero"`
	Batch       id.ID         `json:"batch,omitzero"`
	Indirect    string        `json:"indirect,omitempty"`
	Ends        id.ID         `json:"ends,omitzero"` // the entry, begun online, that it ends
	Start       time.Time     `json:"start,omitzero"`
	End         time.Time     `json:"end,omitzero"` // zero: it runs
	Device      string        `json:"device"`
	Skew        time.Duration `json:"skew"`
	Read        []string      `json:"read,omitempty"`
	StationWord string        `json:"station,omitempty"`
}

// Entry is the sent entry as one would look that counts.
func (s SentEntry) Entry(p Person) Entry {
	return Entry{Person: p.ID, PersonName: p.Name, Piece: s.Piece, Stage: s.Stage, Batch: s.Batch, Indirect: s.Indirect, Pass: 1, Start: s.Start, End: s.End,
		Device: s.Device, Skew: s.Skew, StationWord: s.StationWord}
}

// mostSkew is how far a device's clock may be from ours for its times to be taken as they
// are. Common practice: about what people round to.
const mostSkew = 2 * time.Minute

// Trusted refuses times by a clock that is too far from ours. Fault: DEVICE_SKEWED.
func (s SentEntry) Trusted() error {
	if s.Skew.Abs() <= mostSkew {
		return nil
	}
	way := "ahead of"
	if s.Skew < 0 {
		way = "behind"
	}
	return fault.New(fault.Precondition, "DEVICE_SKEWED", "The clock of %s was %s hours %s the shop's, so its times cannot be taken as they are.", s.Device, hours(s.Skew.Abs()), way)
}

// At gives the entry with times that are not after our now, for the device's clock is a little
// ahead of it.
func (s SentEntry) At(now time.Time) SentEntry {
	if s.Start.After(now) {
		s.Start = now.In(s.Start.Location())
	}
	if s.End.After(now) {
		s.End = now.In(s.End.Location())
	}
	return s
}

// Come refuses to count times that have not come. Fault: TIME_IN_FUTURE.
func (s SentEntry) Come(now time.Time) error {
	last := latest(s.Start, s.End)
	if !last.After(now) {
		return nil
	}
	way := "ahead of"
	if s.Skew < 0 {
		way = "behind"
	}
	return fault.New(fault.Invalid, "TIME_IN_FUTURE", "%s has not come yet: the clock of %s was %s hours %s the shop's. Say when it really was.", said(last), s.Device, hours(s.Skew.Abs()), way).At("accept.end_time")
}

// Plausible refuses what no device can have kept. Faults: TIME_MISSING, CLOCK_ENDS_BEFORE_START,
// TIME_IN_FUTURE.
func (s SentEntry) Plausible(deviceNow time.Time) error {
	last, field := s.End, "end_time"
	if last.IsZero() {
		last, field = s.Start, "start_time"
	}
	switch {
	case s.Ends == id.Nil && s.Start.IsZero():
		return fault.New(fault.Invalid, "TIME_MISSING", "Say when the work began.").At("start_time")
	case s.Ends != id.Nil && s.End.IsZero():
		return fault.New(fault.Invalid, "TIME_MISSING", "Say when the work ended.").At("end_time")
	case !s.End.IsZero() && !s.Start.IsZero() && !s.End.After(s.Start):
		return fault.New(fault.Invalid, "CLOCK_ENDS_BEFORE_START", "The end, %s, is not after the start, %s.", said(s.End), said(s.Start)).At("end_time")
	case last.After(deviceNow.Add(time.Minute)):
		return fault.New(fault.Invalid, "TIME_IN_FUTURE", "%s lies ahead of the device's own clock, which shows %s.", said(last), said(deviceNow)).At(field)
	}
	return nil
}

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

// Forget makes the review of a clock that was not clocked off.
func Forget(review id.ID, p Person, e Entry, shiftEnd, now time.Time) Review {
	return Review{ID: review, Kind: Forgotten, Person: p.ID, PersonName: p.Name, Entries: []id.ID{e.ID}, ShiftEnd: shiftEnd, RaisedAt: now,
		Reason: p.Name + " is on the clock at " + e.On() + " since " + said(e.Start) + ", and the shift was over at " + saidLike(shiftEnd, e.Start) + "."}
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
