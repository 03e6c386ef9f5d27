package workflow

import (
	"fmt"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
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
	Actor       string        `json:"actor,omitempty"` // who sent it; empty: it is from before this was kept
}

// Entry is the sent entry as one would look that counts.
func (s SentEntry) Entry(p Person) Entry {
	return Entry{Person: p.ID, PersonName: p.Name, Piece: s.Piece, Stage: s.Stage, Batch: s.Batch, Indirect: s.Indirect, Pass: 1, Start: s.Start, End: s.End,
		Device: s.Device, Skew: s.Skew, StationWord: s.StationWord}
}

// mostSkew is how far a device's clock may be from ours for its times to be taken as they
// are. Common practice: about what people round to.
const mostSkew = 2 * time.Minute

// Skewed reports whether the device's clock was too far from ours for its times to be taken.
func (s SentEntry) Skewed() bool { return s.Skew.Abs() > mostSkew }

// Trusted refuses times that cannot be taken as they are: by a clock that is too far from ours,
// the wrong way round, or such as the device's own clock had not shown yet. Faults: DEVICE_SKEWED,
// CLOCK_ENDS_BEFORE_START, TIME_IN_FUTURE.
func (s SentEntry) Trusted(now time.Time) error {
	last := latest(s.Start, s.End)
	shown := now.Add(s.Skew).In(last.Location())
	switch {
	case s.Skewed():
		return fault.New(fault.Precondition, "DEVICE_SKEWED", "The clock of %s was %s the shop's, so its times cannot be taken as they are.", s.Device, s.wrong())
	case s.backwards() != nil:
		return s.backwards()
	case last.After(shown.Add(time.Minute)):
		return fault.New(fault.Invalid, "TIME_IN_FUTURE", "%s lies ahead of the clock of %s itself, which showed %s.", said(last), s.Device, said(shown))
	}
	return nil
}

// wrong says how far the device's clock was from ours, to the second.
func (s SentEntry) wrong() string {
	way, off := "ahead of", int64(s.Skew.Abs().Round(time.Second)/time.Second)
	if s.Skew < 0 {
		way = "behind"
	}
	if off < 60*60 {
		return fmt.Sprintf("%d:%02d minutes %s", off/60, off%60, way)
	}
	return fmt.Sprintf("%d:%02d:%02d hours %s", off/60/60, off/60%60, off%60, way)
}

// ByShop gives the entry with the times that the shop's clock showed, if the device's was as far
// from it then as when the entry was sent.
func (s SentEntry) ByShop() SentEntry {
	if !s.Start.IsZero() {
		s.Start = s.Start.Add(-s.Skew)
	}
	if !s.End.IsZero() {
		s.End = s.End.Add(-s.Skew)
	}
	return s
}

// Accept gives the entry as the lead lets it count: at the times that they say, the zero one as it
// was sent, or less the skew. Times by a wrong clock are not taken as they were sent. Fault:
// SETTLEMENT_UNFIT.
func (s SentEntry) Accept(begun, ended time.Time, lessSkew bool) (SentEntry, error) {
	counts := s
	if lessSkew {
		counts = s.ByShop()
	} else if s.Skewed() && (begun.IsZero() && !s.Start.IsZero() || ended.IsZero() && !s.End.IsZero()) {
		return s, fault.New(fault.Precondition, "SETTLEMENT_UNFIT", "The clock of %s was %s the shop's. Have its times count less that, or say when the work really began and ended.",
			s.Device, s.wrong()).At("accept.less_skew")
	}
	if !begun.IsZero() {
		counts.Start = begun
	}
	if !ended.IsZero() {
		counts.End = ended
	}
	return counts, nil
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

// Come refuses to count times that have not come, or that the lead put the wrong way round.
// Faults: TIME_IN_FUTURE, CLOCK_ENDS_BEFORE_START.
func (s SentEntry) Come(now time.Time) error {
	if f := s.backwards(); f != nil {
		return f.At("accept.end_time")
	}
	last := latest(s.Start, s.End)
	if !last.After(now) {
		return nil
	}
	return fault.New(fault.Invalid, "TIME_IN_FUTURE", "%s has not come yet: the clock of %s was %s the shop's. Say when it really was.", said(last), s.Device, s.wrong()).At("accept.end_time")
}

// Told refuses an entry that does not say what it must. Fault: TIME_MISSING.
func (s SentEntry) Told() error {
	switch {
	case s.Ends == id.Nil && s.Start.IsZero():
		return fault.New(fault.Invalid, "TIME_MISSING", "Say when the work began.").At("start_time")
	case s.Ends != id.Nil && s.End.IsZero():
		return fault.New(fault.Invalid, "TIME_MISSING", "Say when the work ended.").At("end_time")
	}
	return nil
}

// Span is from when to when the entry goes, or from when on with the zero time. false: it only
// ends a clock, or is the wrong way round.
func (s SentEntry) Span() (from, to time.Time, lies bool) {
	return s.Start, s.End, !s.Start.IsZero() && s.backwards() == nil
}

// backwards is the refusal of an end that is not after the start; nil: it is. Fault:
// CLOCK_ENDS_BEFORE_START.
func (s SentEntry) backwards() *fault.Fault {
	if s.Start.IsZero() || s.End.IsZero() || s.End.After(s.Start) {
		return nil
	}
	return fault.New(fault.Invalid, "CLOCK_ENDS_BEFORE_START", "The end, %s, is not after the start, %s.", said(s.End), said(s.Start))
}
