package consume

import (
	"context"
	"errors"
	"fmt"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/id"
	"tackfree/pkg/inbox"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	"tackfree/services/materials/internal/materials"
	"tackfree/services/materials/internal/store"
)

// noteWork notes what events say of work itself: what ran during it, and what oily waste it made.
// What its stages take is known before.
func noteWork(ctx context.Context, st store.Store, events []inbox.Event, zone *time.Location) error {
	if zone == nil {
		zone = time.UTC
	}
	for _, e := range events {
		if err := errors.Join(noteEquipment(ctx, st, e), noteOily(ctx, st, e, zone)); err != nil {
			return fmt.Errorf("event %s: %w", e.EventId, err)
		}
	}
	return nil
}

// noteOily notes what an event says of work that makes oily waste: with its beginning, for its
// rags are there before it ends, and with its end. Days are those of a zone.
func noteOily(ctx context.Context, st store.Store, e inbox.Event, zone *time.Location) error {
	switch p := e.Payload.(type) {
	case *eventsv1.Envelope_ClockedOn:
		span := p.ClockedOn.GetSpan()
		return oilyAt(ctx, st, e, span, span.GetStart(), zone)
	case *eventsv1.Envelope_ClockedOff:
		span := p.ClockedOff.GetSpan()
		return oilyAt(ctx, st, e, span, span.GetEnd(), zone)
	case *eventsv1.Envelope_ClockEntryCorrected:
		span := p.ClockEntryCorrected.GetAfter()
		return oilyAt(ctx, st, e, span, span.GetEnd(), zone)
	case *eventsv1.Envelope_StageFinished:
		f := p.StageFinished
		return oilyAt(ctx, st, e, &eventsv1.ClockSpan{StageId: f.GetStageId(), StageKind: f.GetKind(), PersonName: e.Actor}, e.OccurredAt, zone)
	case *eventsv1.Envelope_ClockForgotten:
		end := p.ClockForgotten.GetShiftEnd().AsTime()
		return st.NoteShiftEnd(ctx, materials.DayOf(end, zone), p.ClockForgotten.GetSpan().GetPersonName(), end)
	}
	return nil
}

// oilyAt notes the work of a span at an instant, if it made oily waste. What belongs to no
// piece, or has no such instant, made none that is known.
func oilyAt(ctx context.Context, st store.Store, e inbox.Event, span *eventsv1.ClockSpan, at *timestamppb.Timestamp, zone *time.Location) error {
	if span.GetStageId() == "" || at == nil {
		return nil
	}
	stage, err := id.Parse(span.GetStageId())
	if err != nil {
		return fmt.Errorf("stage: %w", err)
	}
	made, err := st.MadeOilyWaste(ctx, e.Piece, stage, span.GetStageKind())
	if err != nil || !made {
		return err
	}
	return st.NoteOilyWork(ctx, materials.OilyWork{Day: materials.DayOf(at.AsTime(), zone), Piece: e.Piece, Stage: stage, StageKind: span.GetStageKind(),
		Person: span.GetPersonName(), At: at.AsTime()})
}
