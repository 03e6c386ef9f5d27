package inbox_test

import (
	"strings"
	"testing"

	"google.golang.org/protobuf/proto"

	"tackfree/pkg/bus"
	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	eventsv1 "tackfree/proto/tackfree/events/v1"
)

// Whatever is wrong with a message, it is put aside once, nobody else has to wait, and
// where its headers tell whose event it was, the event itself comes from the producer.
func TestHandle_Damaged(t *testing.T) {
	shop := setup(t)
	for name, c := range map[string]struct {
		damage func(*bus.Delivery)
		heals  bool
	}{
		"Garbage":        {func(d *bus.Delivery) { d.Body = []byte("\x01garbage\xff") }, true},
		"Empty":          {func(d *bus.Delivery) { d.Body = nil }, true},
		"CutShort":       {func(d *bus.Delivery) { d.Body = d.Body[:len(d.Body)/2] }, true},
		"VersionDiffers": {func(d *bus.Delivery) { d.Version = 7 }, true},
		"IDDiffers":      {func(d *bus.Delivery) { d.EventID = id.New().String() }, true},
		"PieceDiffers":   {func(d *bus.Delivery) { d.Piece = table.String() }, true},
		"NoVersion":      {func(d *bus.Delivery) { d.Version = 0; d.Body = nil }, true},
		"VersionZero":    {rewritten(func(e *eventsv1.Envelope) { e.Version = 0 }), true},
		"NoTime":         {rewritten(func(e *eventsv1.Envelope) { e.OccurredAt = nil }), true},
		"BadEventID":     {rewritten(func(e *eventsv1.Envelope) { e.EventId = "first" }), true},
		"Large":          {func(d *bus.Delivery) { d.Body = make([]byte, 2<<20) }, true},
		"NoHeaders":      {func(d *bus.Delivery) { d.Message = bus.Message{Body: []byte("x")}; d.StreamSeq = 3 }, false},
		"BadText":        {func(d *bus.Delivery) { d.EventID, d.Aggregate, d.Body = "\xff\x00", "\x00", nil }, false},
		"NoProducer":     {rewritten(func(e *eventsv1.Envelope) { e.Producer = "nobody" }), false},
	} {
		t.Run(name, func(t *testing.T) {
			b := shop.fresh(t)
			e := b.intake.writeAll(dresser, 10, 20)
			other := b.intake.write(table, 5)
			bad := delivery(e[1])
			c.damage(&bad)
			b.deliverRaw(t, delivery(e[0]), bad, delivery(other))
			b.deliverRaw(t, bad) // it may well come again
			b.wantSum(t, table, "5 [1]")
			b.wantSum(t, dresser, "10 [1]")
			b.wantProgress(t, 0, 1)
			if l := b.letters(t); len(l) != 1 || l[0].Tries != 2 || l[0].Subject != bad.SubjectName || l[0].Error == "" {
				t.Errorf("dead letters = %+v", l)
			}
			if !c.heals {
				if err := b.Heal(t.Context()); err != nil {
					t.Fatal(err)
				}
				b.wantProgress(t, 0, 1) // nobody knows whose it was: a person closes it
				if err := b.Retry(t.Context(), b.letters(t)[0].ID); err != nil {
					t.Errorf("Retry: %v", err)
				}
				b.wantProgress(t, 0, 0)
				return
			}
			b.heal(t, "its event is fetched", func() bool { return b.progress(t).Dead == 0 })
			b.wantSum(t, dresser, "30 [1 2]")
		})
	}
}

// rewritten gives a damage that changes the envelope and leaves the headers true.
func rewritten(change func(*eventsv1.Envelope)) func(*bus.Delivery) {
	return func(d *bus.Delivery) {
		e := &eventsv1.Envelope{}
		if err := proto.Unmarshal(d.Body, e); err != nil {
			panic(err)
		}
		change(e)
		d.Body = delivery(e).Body
		d.Producer = e.Producer
		d.SubjectName = d.Subject()
	}
}

// refusing is a shop in which intake's second event of the dresser is refused.
func refusing(t *testing.T) (*bundle, []*eventsv1.Envelope) {
	b := setup(t)
	b.adder.setRefuse(20, errMalformed)
	return b, b.intake.writeAll(dresser, 10, 20, 30, 40)
}

func TestHandle_Refused(t *testing.T) {
	b, e := refusing(t)
	other := b.intake.writeAll(table, 1, 2)
	b.deliver(t, other[0], e[0], e[1], e[2], other[1])
	b.deliver(t, e[3])
	b.wantSum(t, table, "3 [1 2]")
	b.wantSum(t, dresser, "10 [1]")
	b.wantProgress(t, 2, 1) // those behind it wait
	l := b.letters(t)
	if len(l) != 1 || l[0].EventID != e[1].EventId || l[0].Producer != "intake" || *l[0].Aggregate != dresser ||
		*l[0].Piece != dresser || !strings.Contains(l[0].Error, errMalformed.Error()) {
		t.Errorf("dead letters = %+v, want the second event's", l)
	}
	// Fetching again would not help, so nobody tries every second.
	before := b.intake.pages
	if err := b.Heal(t.Context()); err != nil || b.intake.pages != before {
		t.Errorf("Heal asked for %d pages behind a refused event, %v", b.intake.pages-before, err)
	}
}

// The guilty one is found among events that were parked, whatever event sets them free.
func TestHandle_RefusedAmongTheParked(t *testing.T) {
	for name, order := range map[string][]int{"OneByOne": {2, 1, 3, 0}, "Backwards": {3, 2, 1, 0}} {
		t.Run(name, func(t *testing.T) {
			b, e := refusing(t)
			for _, i := range order {
				b.deliver(t, e[i])
			}
			b.wantSum(t, dresser, "10 [1]")
			b.wantProgress(t, 2, 1)
			if l := b.letters(t); len(l) != 1 || l[0].EventID != e[1].EventId {
				t.Errorf("dead letters = %+v, want the second event's", l)
			}
		})
	}
	t.Run("InOneBatch", func(t *testing.T) {
		b, e := refusing(t)
		b.deliver(t, e[3], e[1], e[2], e[0])
		b.wantSum(t, dresser, "10 [1]")
		b.wantProgress(t, 2, 1)
	})
}

func TestRetry_AfterAFix(t *testing.T) {
	b, e := refusing(t)
	b.deliver(t, e...)
	letter := b.letters(t)[0].ID
	err := b.Retry(t.Context(), letter)
	if f := fault.Of(err); f == nil || f.Reason != "EVENT_REFUSED" || f.Kind != fault.Precondition || !strings.Contains(f.Text, errMalformed.Error()) {
		t.Errorf("Retry before the fix = %v, want EVENT_REFUSED and why", err)
	}
	b.wantSum(t, dresser, "10 [1]")
	b.wantProgress(t, 2, 1)

	b.adder.setRefuse(20, nil)
	if err := b.Retry(t.Context(), letter); err != nil {
		t.Errorf("Retry after the fix: %v", err)
	}
	b.wantSum(t, dresser, "100 [1 2 3 4]")
	b.wantProgress(t, 0, 0)
	if err := b.Retry(t.Context(), letter); !fault.Is(err, "DEAD_LETTER_NOT_FOUND") {
		t.Errorf("Retry of a closed letter = %v, want DEAD_LETTER_NOT_FOUND", err)
	}
}

// A damaged message behind a refused event stays open: its event has not been applied.
func TestRetry_DamagedBehindRefused(t *testing.T) {
	b, e := refusing(t)
	bad := delivery(e[2])
	bad.Body = nil
	b.deliverRaw(t, delivery(e[0]), delivery(e[1]), bad)
	b.wantProgress(t, 0, 2)
	for _, l := range b.letters(t) {
		if err := b.Retry(t.Context(), l.ID); !fault.Is(err, "EVENT_REFUSED") {
			t.Errorf("Retry of %s = %v, want EVENT_REFUSED", l.EventID, err)
		}
	}
	b.wantProgress(t, 2, 2)
	b.adder.setRefuse(20, nil)
	if err := b.Retry(t.Context(), b.letters(t)[0].ID); err != nil {
		t.Errorf("Retry after the fix: %v", err)
	}
	b.wantSum(t, dresser, "100 [1 2 3 4]")
	b.wantProgress(t, 0, 0)
}

// A letter whose event another copy, a newer one perhaps, has applied meanwhile is closed.
func TestRetry_AppliedMeanwhile(t *testing.T) {
	b, e := refusing(t)
	b.deliver(t, e[:2]...)
	letter := b.letters(t)[0].ID
	b.adder.setRefuse(20, nil)
	b.deliver(t, e[1:]...)
	b.scan(t, "WITH open AS (UPDATE dead SET resolved_at = NULL RETURNING 1) SELECT count(*) FROM open", new(int))
	if err := b.Retry(t.Context(), letter); err != nil {
		t.Errorf("Retry = %v", err)
	}
	b.wantProgress(t, 0, 0)
}

// A program that starts anew may be a newer one: it tries by itself what the old one
// refused.
func TestCompare_TriesRefusedOnesAfterARestart(t *testing.T) {
	b, e := refusing(t)
	if err := b.Compare(t.Context()); err != nil {
		t.Fatal(err)
	}
	b.deliver(t, e...)
	b.adder.setRefuse(20, nil)
	if err := b.Compare(t.Context()); err != nil {
		t.Fatal(err)
	}
	b.wantProgress(t, 2, 1) // the same program does not try again
	if p := b.progress(t); p.Behind != 1 {
		t.Errorf("behind = %d, want the one aggregate", p.Behind)
	}
	if err := b.another().Compare(t.Context()); err != nil {
		t.Fatal(err)
	}
	b.wantSum(t, dresser, "100 [1 2 3 4]")
	b.wantProgress(t, 0, 0)
}

// An older program must not pass over what a newer producer says.
func TestHandle_UnknownKindOfEvent(t *testing.T) {
	b := setup(t)
	e := b.intake.writeAll(dresser, 10, 20, 30)
	fresh := proto.Clone(e[1]).(*eventsv1.Envelope)
	fresh.Payload = nil
	fresh.ProtoReflect().SetUnknown([]byte{0xba, 0x3e, 0x00}) // field 999, an empty message
	b.deliver(t, e[0], fresh, e[2])
	b.wantSum(t, dresser, "10 [1]")
	b.wantProgress(t, 1, 1)
}

// A handler's panic is about one event and must not take the whole consumer down.
func TestHandle_HandlerPanics(t *testing.T) {
	b := setup(t)
	b.adder.panics[20] = true
	e := b.intake.writeAll(dresser, 10, 20, 30)
	other := b.intake.write(table, 1)
	b.deliver(t, e[0], e[1], e[2], other)
	b.wantSum(t, dresser, "10 [1]")
	b.wantSum(t, table, "1 [1]")
	b.wantProgress(t, 1, 1)
	if l := b.letters(t)[0]; l.EventID != e[1].EventId || strings.Contains(l.Error, "goroutine") {
		t.Errorf("dead letter = %+v, want the second event's without a stack", l)
	}
}
