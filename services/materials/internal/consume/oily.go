package consume

import (
	"context"
	"errors"
	"fmt"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/inbox"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	"tackfree/services/materials/internal/materials"
	"tackfree/services/materials/internal/store"
)

// noteWork notes what events say of work itself: what ran during it, and what oily waste it made;
// true: some of them do. What its stages take is known before.
func noteWork(ctx context.Context, st store.Store, events []inbox.Event, zone *time.Location) (worked bool, err error) {
	if zone == nil {
		zone = time.UTC
	}
	for _, e := range events {
		if err := errors.Join(noteEquipment(ctx, st, e), noteOily(ctx, st, e, zone)); err != nil {
			return false, fmt.Errorf("event %s: %w", e.EventId, err)
		}
		worked = worked || ofWork(e)
	}
	return worked, nil
}

// ofWork reports whether an event says that somebody worked, or until when.
func ofWork(e inbox.Event) bool {
	switch e.Payload.(type) {
	case *eventsv1.Envelope_ClockedOn, *eventsv1.Envelope_ClockedOff, *eventsv1.Envelope_ClockEntryCorrected, *eventsv1.Envelope_ClockForgotten,
		*eventsv1.Envelope_StageFinished:
		return true
	}
	return false
}

// noteOily notes what an event says of work that makes oily waste: with its beginning, for its
// rags are there before it ends, and with its end. Days are those of a zone.
func noteOily(ctx context.Context, st store.Store, e inbox.Event, zone *time.Location) error {
	switch p := e.Payload.(type) {
	case *eventsv1.Envelope_ClockedOn:
		return oilyAt(ctx, st, e, p.ClockedOn.GetSpan(), p.ClockedOn.GetSpan().GetStart(), zone)
	case *eventsv1.Envelope_ClockedOff:
		return oilyAt(ctx, st, e, p.ClockedOff.GetSpan(), p.ClockedOff.GetSpan().GetEnd(), zone)
	case *eventsv1.Envelope_ClockEntryCorrected:
		return oilyAt(ctx, st, e, p.ClockEntryCorrected.GetAfter(), p.ClockEntryCorrected.GetAfter().GetEnd(), zone)
	case *eventsv1.Envelope_StageFinished:
		f := p.StageFinished
		return oily(ctx, st, zone, f.GetStageId(), materials.OilyWork{Piece: e.Piece, StageKind: f.GetKind(), Pass: f.GetPass(), Person: e.Actor,
			At: e.OccurredAt.AsTime(), KnownBy: materials.ByFinish})
	case *eventsv1.Envelope_ClockForgotten:
		span, end := p.ClockForgotten.GetSpan(), p.ClockForgotten.GetShiftEnd().AsTime()
		return st.NoteShiftEnd(ctx, materials.DayOf(span.GetStart().AsTime(), zone), span.GetPersonName(), end, time.Time{})
	}
	return nil
}

// oilyAt notes the work of a span at an instant, if it made oily waste. What belongs to no
// piece, or has no such instant, made none that is known.
func oilyAt(ctx context.Context, st store.Store, e inbox.Event, span *eventsv1.ClockSpan, at *timestamppb.Timestamp, zone *time.Location) error {
	if span.GetStageId() == "" || at == nil {
		return nil
	}
	return oily(ctx, st, zone, span.GetStageId(), materials.OilyWork{Piece: e.Piece, StageKind: span.GetStageKind(), Pass: span.GetPass(),
		Person: span.GetPersonName(), At: at.AsTime(), KnownBy: materials.ByClock})
}

// oily notes work at a stage, if it made oily waste.
func oily(ctx context.Context, st store.Store, zone *time.Location, stage string, w materials.OilyWork) (err error) {
	if w.Stage, err = stageID(stage); err != nil {
		return err
	}
	made, err := st.MadeOilyWaste(ctx, w.Piece, w.Stage, w.StageKind)
	if err != nil || !made {
		return err
	}
	w.Day = materials.DayOf(w.At, zone)
	return st.NoteOilyWork(ctx, w)
}
