package consume

import (
	"context"
	"fmt"

	"tackfree/pkg/id"
	"tackfree/pkg/inbox"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	"tackfree/services/materials/internal/materials"
	"tackfree/services/materials/internal/store"
)

// noteEquipment notes how long equipment ran during the clock entries that an event closes,
// corrects or takes away. The shares of a batch are entries of their own, one after the other, so
// that they add up. A review that is settled says by these events what it changed.
func noteEquipment(ctx context.Context, st store.Store, e inbox.Event) error {
	switch p := e.Payload.(type) {
	case *eventsv1.Envelope_ClockedOff:
		return run(ctx, st, e, p.ClockedOff.GetSpan())
	case *eventsv1.Envelope_ClockEntryCorrected:
		if before := p.ClockEntryCorrected.GetBefore(); before != nil {
			entry, err := id.Parse(before.GetEntryId())
			if err != nil {
				return fmt.Errorf("clock entry: %w", err)
			}
			if err := st.Unrun(ctx, entry); err != nil {
				return err
			}
		}
		return run(ctx, st, e, p.ClockEntryCorrected.GetAfter())
	}
	return nil
}

// run notes what ran during a span; nil and what belongs to no piece are none.
func run(ctx context.Context, st store.Store, e inbox.Event, span *eventsv1.ClockSpan) error {
	if span == nil || span.GetStageId() == "" {
		return nil
	}
	entry, err := id.Parse(span.GetEntryId())
	if err != nil {
		return fmt.Errorf("clock entry: %w", err)
	}
	return st.Run(ctx, materials.Stint{Entry: entry, Piece: e.Piece, StageKind: span.GetStageKind(), Station: span.GetStation(),
		Start: span.GetStart().AsTime(), End: span.GetEnd().AsTime()})
}
