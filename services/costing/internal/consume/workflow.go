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

// clockedOn counts a clock that runs, for until it ends the piece's cost is not final.
func (b *batch) clockedOn(f costing.Fact) error {
	if f.Piece == id.Nil {
		return fmt.Errorf("the clock is at no piece")
	}
	b.Begin(f.Piece)
	return nil
}

// clockedOff books a stretch of labour, whose clock runs no more.
func (b *batch) clockedOff(f costing.Fact, e *eventsv1.ClockedOff) error {
	if err := b.work(f, e.GetSpan(), +1); err != nil {
		return err
	}
	b.End(f.Piece)
	return nil
}

// corrected takes the old stretch away and books the new one.
func (b *batch) corrected(f costing.Fact, e *eventsv1.ClockEntryCorrected) error {
	if e.GetBefore() != nil {
		if err := b.work(f, e.GetBefore(), -1); err != nil {
			return err
		}
	}
	if e.GetAfter() != nil {
		return b.work(f, e.GetAfter(), +1)
	}
	return nil
}

func (b *batch) work(f costing.Fact, span *eventsv1.ClockSpan, sign int64) error {
	entry, err := id.Parse(span.GetEntryId())
	if err != nil {
		return fmt.Errorf("clock entry: %w", err)
	}
	person, err := id.Parse(span.GetPersonId())
	if err != nil {
		return fmt.Errorf("person: %w", err)
	}
	stage, err := id.Parse(span.GetStageId())
	if err != nil {
		return fmt.Errorf("stage: %w", err)
	}
	s := costing.Stretch{Fact: f, Sign: sign, Entry: entry, Person: person, PersonName: span.GetPersonName(),
		Stage: stage, StageKind: span.GetStageKind(), StageKey: span.GetStageKey(), PartLabel: span.GetPartLabel(), Rework: span.GetPass() > 1, Start: span.GetStart().AsTime(), End: span.GetEnd().AsTime()}
	if f.Piece == id.Nil || !s.End.After(s.Start) {
		return fmt.Errorf("the clock entry has no piece or does not end after it starts")
	}
	b.Work(s, b.rates)
	return nil
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
