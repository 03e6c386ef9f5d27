package inbox_test

import (
	"context"
	"errors"
	"fmt"
	"testing"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/inbox"
	"tackfree/pkg/pg"
	eventsv1 "tackfree/proto/tackfree/events/v1"
)

// A backup of the producer is taken after two events of the dresser; then three more
// happen, and the disk is lost. The shop goes on from the backup and versions are issued
// a second time. Whatever of the lost time still arrives must not be mixed in.
func TestRestored_VersionsIssuedTwice(t *testing.T) {
	shop := setup(t)
	type then struct {
		happens func(t *testing.T, b *bundle, lost, fresh []*eventsv1.Envelope)
		noticed bool // by what happens
	}
	for name, next := range map[string]then{
		"ComparedFirst": {func(t *testing.T, b *bundle, lost, fresh []*eventsv1.Envelope) { b.compare(t) }, true},
		"NewOnesFirst":  {func(t *testing.T, b *bundle, lost, fresh []*eventsv1.Envelope) { b.deliver(t, fresh...) }, true},
		"NewestFirst":   {func(t *testing.T, b *bundle, lost, fresh []*eventsv1.Envelope) { b.deliver(t, fresh[1]) }, true},
		"OldOnesFirst":  {func(t *testing.T, b *bundle, lost, fresh []*eventsv1.Envelope) { b.deliver(t, lost...) }, false},
		"Mixed": {func(t *testing.T, b *bundle, lost, fresh []*eventsv1.Envelope) {
			b.deliver(t, lost[2], fresh[1], fresh[0])
		}, true},
	} {
		for arrived := range 4 { // how many of the lost three had been applied
			t.Run(fmt.Sprintf("%s/%d", name, arrived), func(t *testing.T) {
				b := shop.fresh(t)
				kept := b.intake.writeAll(dresser, 10, 20)
				other := b.intake.write(table, 1)
				for _, e := range append(kept, other) {
					e.RecordedAt = timestamppb.New(time.Now().Add(-time.Hour))
				}
				b.deliver(t, kept...)
				b.deliver(t, other)
				b.compare(t)
				lost := b.intake.writeAll(dresser, 301, 302, 303)
				b.deliver(t, lost[:arrived]...)
				b.intake.restore(3)
				fresh := b.intake.writeAll(dresser, 5, 6)
				if next.happens(t, b, lost, fresh); next.noticed {
					b.wantSum(t, dresser, "41 [1 2 3 4]")
				}
				b.compare(t)
				b.deliver(t, lost...)
				b.deliver(t, fresh...)
				b.deliver(t, kept...)
				b.wantSum(t, dresser, "41 [1 2 3 4]")
				b.wantSum(t, table, "1 [1]")
				b.wantProgress(t, 0, 0)
				if len(b.adder.restored) != 1 || b.adder.restored[0] != "intake" {
					t.Errorf("Restored was told of %v, want intake once", b.adder.restored)
				}
			})
		}
	}
}

// What waited or was refused before the restore is history.
func TestRestored_ForgetsWhatWaited(t *testing.T) {
	b := setup(t)
	b.adder.setRefuse(302, errMalformed)
	kept := b.intake.writeAll(dresser, 10)
	b.compare(t)
	lost := b.intake.writeAll(dresser, 301, 302, 303)
	waits := b.intake.writeAll(table, 1, 2)[1]
	b.deliver(t, append(append(kept, lost...), waits)...)
	b.wantProgress(t, 2, 1)
	b.intake.restore(1)
	b.compare(t)
	b.wantSum(t, dresser, "10 [1]")
	b.wantProgress(t, 0, 0)
}

// A restore that is cut short, as by a crash, is begun again by whoever comes next.
func TestRestored_CutShort(t *testing.T) {
	b := setup(t)
	b.intake.writeAll(dresser, 10, 20)
	b.compare(t)
	b.intake.restore(1)
	b.adder.cannotForget = errMalformed
	if err := b.Compare(t.Context()); !errors.Is(err, errMalformed) {
		t.Errorf("Compare = %v, want the handler's error", err)
	}
	b.adder.cannotForget = nil
	if err := b.another().Compare(t.Context()); err != nil {
		t.Fatal(err)
	}
	b.wantSum(t, dresser, "10 [1]")
	if n := len(b.adder.restored); n != 2 {
		t.Errorf("Restored was called %d times, want 2", n)
	}
}

// Forget makes a consumer to whom repeats change nothing read everything again.
func TestForget(t *testing.T) {
	b := setup(t)
	b.deliver(t, b.intake.writeAll(dresser, 10, 20)...)
	sold := b.sales.writeAll(chair, 7)
	b.deliver(t, sold...)
	b.deliver(t, b.intake.writeAll(table, 1, 2)[1]) // it waits
	if err := inbox.Forget(t.Context(), b.db, "costing", "intake"); err != nil {
		t.Fatal(err)
	}
	b.wantProgress(t, 0, 0)
	b.compare(t)
	b.wantSum(t, dresser, "60 [1 2 1 2]")
	b.wantSum(t, table, "3 [1 2]")
	if got := b.sumOf(t, "sales", chair); got != "7 [1]" {
		t.Errorf("of sales: %q, want 7 [1]: it was not to be forgotten", got)
	}
}

// A booking in work knows how far it was before, and would write that again: it is waited for.
func TestForget_WaitsForABooking(t *testing.T) {
	b := setup(t)
	b.deliver(t, b.intake.writeAll(dresser, 10, 20)...)
	forgotten := make(chan error, 1)
	err := b.db.InTx(t.Context(), func(ctx context.Context, tx *pg.Tx) error {
		b.Freeze(ctx, tx)
		if err := tx.QueryRow(ctx, `SELECT 1`).Scan(new(int)); err != nil {
			return err
		}
		go func() { forgotten <- inbox.Forget(t.Context(), b.db, "costing", "intake") }()
		b.untilABookingWaits(t)
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if err := <-forgotten; err != nil {
		t.Fatal(err)
	}
	b.compare(t)
	b.wantSum(t, dresser, "60 [1 2 1 2]")
}
