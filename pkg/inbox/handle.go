package inbox

import (
	"context"
	"errors"
	"fmt"
	"math"

	"tackfree/pkg/bus"
	"tackfree/pkg/fault"
	"tackfree/pkg/pg"
	"tackfree/pkg/planted"
)

// Handle applies a batch of deliveries; it is what bus.Consume calls. An error means
// passing trouble: the batch should come again. An empty one says that the broker is away: then
// the producers are asked for what they have, until it is back.
func (in *Inbox) Handle(ctx context.Context, batch []bus.Delivery) error {
	if len(batch) == 0 {
		signal(in.alone)
		return nil
	}
	var events []Event
	var damaged []deadLetter
	for _, d := range batch {
		e, err := decode(d)
		if err == nil && in.producers[e.Producer] == nil {
			err = fmt.Errorf("nobody here knows a producer %q", e.Producer)
		}
		if err != nil && planted.BlockOnPoison {
			return err
		}
		if err != nil && planted.DropPoison {
			continue
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
	err := in.Book(ctx, events)
	if other := (otherEpoch{}); errors.As(err, &other) {
		return in.ask(ctx, other.events)
	}
	return err
}

// Book applies events, wherever they come from. When they are refused together they are
// tried one by one, and the refused ones are put aside. What another epoch of its
// producer's log says is not applied, and is the error.
func (in *Inbox) Book(ctx context.Context, events []Event) error {
	if len(events) == 0 {
		return nil
	}
	b := sorted(events)
	o, err := in.book(ctx, b, math.MaxInt)
	if err != nil && !passing(err) {
		err = in.bookSingly(ctx, b)
	}
	if err == nil && len(o.foreign) > 0 {
		err = otherEpoch{o.foreign}
	}
	return err
}

// book applies a batch in one transaction, at most that many events of an aggregate, while
// nobody else books: a handler reads what other aggregates' events left (of a piece that
// was sold, the costs so far), and two that wrote at once would not see each other.
func (in *Inbox) book(ctx context.Context, b batch, most int) (o outcome, err error) {
	err = in.db.InTx(ctx, func(ctx context.Context, tx *pg.Tx) error {
		in.Freeze(ctx, tx)
		o, err = b.apply(ctx, tx, in.handler, most)
		if len(o.early) > 0 {
			tx.After(in.wakeUp)
		}
		return err
	})
	return o, err
}

func (in *Inbox) bookSingly(ctx context.Context, b batch) error {
	for _, k := range b.keys {
		one := batch{keys: []key{k}, events: map[key][]Event{k: b.events[k]}}
		if err := in.bookOne(ctx, one); err != nil {
			return err
		}
	}
	return nil
}

// bookOne applies the events of one aggregate one by one, so that only the guilty one is
// put aside; those behind it wait.
func (in *Inbox) bookOne(ctx context.Context, b batch) error {
	for {
		o, err := in.book(ctx, b, 1)
		switch {
		case err != nil && (passing(err) || len(o.ready) == 0):
			return err
		case err != nil:
			return in.refuse(ctx, o.ready[0], o.early, err)
		case len(o.ready) == 0:
			return nil
		}
		b.events = nil // the others wait in the table now
	}
}

// passing reports trouble of the database or of the clock, not of the event.
func passing(err error) bool {
	return pg.Transient(err) || errors.Is(err, fault.Unavailable) || errors.Is(err, fault.Conflict)
}

// Freeze keeps every copy of this consumer from booking until the transaction ends.
func (in *Inbox) Freeze(ctx context.Context, tx *pg.Tx) { freeze(ctx, tx, in.schema) }

func freeze(ctx context.Context, tx *pg.Tx, schema string) {
	_, _ = tx.Exec(ctx, `SELECT pg_advisory_xact_lock($1)`, lockID(schema)) // put off: its error comes later
}

// LockID is the advisory lock that a booking takes.
func (in *Inbox) LockID() int64 { return lockID(in.schema) }

func lockID(schema string) int64 { return pg.LockID(schema, "booking") }

func (in *Inbox) wakeUp() { signal(in.wake) }

// signal wakes who waits on a channel, now or when they next wait.
func signal(c chan struct{}) {
	select {
	case c <- struct{}{}:
	default:
	}
}
