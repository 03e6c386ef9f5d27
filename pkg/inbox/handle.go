package inbox

import (
	"context"
	"errors"
	"fmt"

	"tackfree/pkg/bus"
	"tackfree/pkg/fault"
	"tackfree/pkg/pg"
)

// Handle applies a batch of deliveries; it is what bus.Consume calls. An error means
// passing trouble: nothing was applied and the batch should come again.
func (in *Inbox) Handle(ctx context.Context, batch []bus.Delivery) error {
	var events []Event
	var damaged []deadLetter
	for _, d := range batch {
		e, err := decode(d)
		if err == nil && in.producers[e.Producer] == nil {
			err = fmt.Errorf("nobody here knows a producer %q", e.Producer)
		}
		if err != nil {
			damaged = append(damaged, fromDelivery(d, err))
			continue
		}
		events = append(events, e)
	}
	if len(damaged) > 0 {
		in.logger.WarnContext(ctx, "messages that cannot be read", "messages", len(damaged), "first", damaged[0].err)
		if err := in.bury(ctx, damaged); err != nil {
			return err
		}
		in.wakeUp()
	}
	return in.Book(ctx, events)
}

// Book applies events, wherever they come from. When they are refused together they are
// tried one by one, and the refused ones are put aside.
func (in *Inbox) Book(ctx context.Context, events []Event) error {
	if len(events) == 0 {
		return nil
	}
	err := in.bookTogether(ctx, events)
	if err == nil || passing(err) {
		return err
	}
	for _, e := range events {
		err := in.bookTogether(ctx, []Event{e})
		if err != nil && passing(err) {
			return err
		}
		if err != nil {
			in.logger.ErrorContext(ctx, "event refused", "event", e.EventId, "producer", e.Producer, "error", err)
			if err := in.bury(ctx, []deadLetter{fromEvent(e, err)}); err != nil {
				return err
			}
		}
	}
	return nil
}

func (in *Inbox) bookTogether(ctx context.Context, events []Event) error {
	return in.db.InTx(ctx, func(ctx context.Context, tx *pg.Tx) error {
		in.shareLock(ctx, tx)
		parked, err := Apply(ctx, tx, in.handler, events)
		if parked > 0 {
			tx.After(in.wakeUp)
		}
		return err
	})
}

// passing reports trouble of the database or of the clock, not of the event.
func passing(err error) bool {
	return pg.Transient(err) || errors.Is(err, fault.Unavailable) || errors.Is(err, fault.Conflict)
}

// Every booking shares a lock; Freeze takes it alone.
func (in *Inbox) shareLock(ctx context.Context, tx *pg.Tx) {
	_, _ = tx.Exec(ctx, `SELECT pg_advisory_xact_lock_shared($1)`, in.lockID()) // put off: its error comes later
}

// Freeze keeps every copy of this consumer from booking until the transaction ends.
func (in *Inbox) Freeze(ctx context.Context, tx *pg.Tx) {
	_, _ = tx.Exec(ctx, `SELECT pg_advisory_xact_lock($1)`, in.lockID()) // put off: its error comes later
}

func (in *Inbox) lockID() int64 { return pg.LockID(in.schema, "booking") }

func (in *Inbox) wakeUp() {
	select {
	case in.wake <- struct{}{}:
	default:
	}
}
