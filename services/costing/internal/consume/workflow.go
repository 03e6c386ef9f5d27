package consume

import (
	"fmt"

	"tackfree/pkg/id"
	"tackfree/pkg/inbox"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	"tackfree/services/costing/internal/costing"
)

// named notes what somebody is called, who may have worked before it is known.
func (b *batch) named(e inbox.Event, p interface {
	GetPersonId() string
	GetDisplayName() string
}) error {
	person, err := id.Parse(p.GetPersonId())
	if err != nil {
		return fmt.Errorf("person: %w", err)
	}
	b.Name(costing.Person{ID: person, Name: p.GetDisplayName(), Version: e.Version})
	return nil
}

// clockedOn notes a clock that runs: until it ends, neither its piece's cost nor its week is
// final.
func (b *batch) clockedOn(f costing.Fact, e *eventsv1.ClockedOn) error {
	entry, person, err := whose(e.GetSpan())
	if err != nil {
		return err
	}
	if err := placed(f, e.GetSpan()); err != nil {
		return err
	}
	b.Begin(costing.Clock{Entry: entry, Piece: f.Piece, Person: person, PersonName: e.GetSpan().GetPersonName(), Start: e.GetSpan().GetStart().AsTime()})
	return nil
}

// whose reads which entry a span is, and of whom.
func whose(span *eventsv1.ClockSpan) (entry, person id.ID, err error) {
	if entry, err = id.Parse(span.GetEntryId()); err != nil {
		return entry, person, fmt.Errorf("clock entry: %w", err)
	}
	if person, err = id.Parse(span.GetPersonId()); err != nil {
		return entry, person, fmt.Errorf("person: %w", err)
	}
	return entry, person, nil
}

// placed refuses labour that is neither on a piece nor on what belongs to none.
func placed(f costing.Fact, span *eventsv1.ClockSpan) error {
	switch indirect := span.GetIndirect() != ""; {
	case f.Piece == id.Nil && !indirect:
		return fmt.Errorf("the clock is at no piece")
	case f.Piece != id.Nil && indirect:
		return fmt.Errorf("%s belongs to no piece, but the clock is at one", span.GetIndirect())
	}
	return nil
}

// clockedOff books a stretch of labour, whose clock runs no more.
func (b *batch) clockedOff(f costing.Fact, e *eventsv1.ClockedOff) error {
	s, err := b.work(f, e.GetSpan(), +1, e.GetPaused())
	if err != nil {
		return err
	}
	b.End(s.Entry, f.Piece)
	return nil
}

// corrected takes the old stretch away and books the new one.
func (b *batch) corrected(f costing.Fact, e *eventsv1.ClockEntryCorrected) error {
	if e.GetBefore() != nil {
		if _, err := b.work(f, e.GetBefore(), -1, false); err != nil {
			return err
		}
	}
	if e.GetAfter() != nil {
		_, err := b.work(f, e.GetAfter(), +1, false)
		return err
	}
	return nil
}

// work books a stretch of labour, of a piece or of none; paused says that it ended in a pause, if the
// span does not tell.
func (b *batch) work(f costing.Fact, span *eventsv1.ClockSpan, sign int64, paused bool) (s costing.Stretch, err error) {
	s = costing.Stretch{Fact: f, Sign: sign, PersonName: span.GetPersonName(), StageKind: span.GetStageKind(), StageKey: span.GetStageKey(),
		PartLabel: span.GetPartLabel(), Rework: span.GetPass() > 1, Indirect: span.GetIndirect(), Start: span.GetStart().AsTime(), End: span.GetEnd().AsTime(), Paused: paused || span.GetPaused()}
	if whole := span.GetStretchStart(); whole != nil {
		s.Whole = whole.AsTime()
	}
	if s.Entry, s.Person, err = whose(span); err != nil {
		return s, err
	}
	if err := placed(f, span); err != nil {
		return s, err
	}
	if s.Indirect == "" {
		if s.Stage, err = id.Parse(span.GetStageId()); err != nil {
			return s, fmt.Errorf("stage: %w", err)
		}
	}
	if !s.End.After(s.Start) {
		return s, fmt.Errorf("the clock entry does not end after it starts")
	}
	if s.Begin().After(s.Start) {
		return s, fmt.Errorf("the clock entry begins before the stretch that it is a share of")
	}
	b.Work(s, b.terms)
	return s, nil
}

// people lists whose labour is in the events.
func people(events []inbox.Event) []id.ID {
	seen := map[id.ID]bool{}
	var out []id.ID
	note := func(span *eventsv1.ClockSpan) {
		if p, err := id.Parse(span.GetPersonId()); err == nil && !seen[p] {
			seen[p] = true
			out = append(out, p)
		}
	}
	for _, e := range events {
		note(e.GetClockedOff().GetSpan())
		note(e.GetClockEntryCorrected().GetBefore())
		note(e.GetClockEntryCorrected().GetAfter())
	}
	return out
}
