package inbox_test

import (
	"context"
	"fmt"
	"slices"
	"sync"
	"testing"

	"github.com/jackc/pgx/v5/pgconn"

	"tackfree/pkg/bus"
	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/pg"
)

func TestHandle_InOrder(t *testing.T) {
	b := setup(t)
	e := b.intake.writeAll(dresser, 10, 20, 30)
	b.deliver(t, e[0])
	b.deliver(t, e[1], e[2])
	b.wantSum(t, dresser, "60 [1 2 3]")
	b.wantProgress(t, 0, 0)
}

func TestHandle_Repeats(t *testing.T) {
	b := setup(t)
	e := b.intake.writeAll(dresser, 10, 20, 30)
	b.deliver(t, e[0], e[0], e[1], e[0])
	b.deliver(t, e[1], e[2], e[2])
	b.deliver(t, e...) // as after a crash between commit and acknowledgement
	b.wantSum(t, dresser, "60 [1 2 3]")
	b.wantProgress(t, 0, 0)
}

func TestHandle_AnyPermutation(t *testing.T) {
	shop := setup(t)
	for _, at := range permutations(4) {
		t.Run(fmt.Sprint(at), func(t *testing.T) {
			b := shop.fresh(t)
			e := b.intake.writeAll(dresser, 10, 20, 30, 40)
			other := b.intake.writeAll(table, 1, 2)
			b.deliver(t, e[at[0]], other[1], e[at[1]])
			for _, i := range at[2:] {
				b.deliver(t, e[i])
			}
			b.deliver(t, other[0])
			b.wantSum(t, dresser, "100 [1 2 3 4]")
			b.wantSum(t, table, "3 [1 2]")
			b.wantProgress(t, 0, 0)
		})
	}
}

// permutations gives all orders of 0 … n-1.
func permutations(n int) (all [][]int) {
	if n == 0 {
		return [][]int{nil}
	}
	for _, shorter := range permutations(n - 1) {
		for at := range n {
			all = append(all, slices.Insert(slices.Clone(shorter), at, n-1))
		}
	}
	return all
}

func TestHandle_GapWaitsAndIsHealed(t *testing.T) {
	b := setup(t)
	e := b.intake.writeAll(dresser, 10, 20, 30, 40)
	b.deliver(t, e[0], e[2], e[3])
	b.wantSum(t, dresser, "10 [1]")
	b.wantProgress(t, 2, 0)
	b.heal(t, "the missing one is fetched", func() bool { return b.progress(t).Parked == 0 })
	b.wantSum(t, dresser, "100 [1 2 3 4]")
}

// An aggregate is a producer's own: two of them may use one id.
func TestHandle_ProducersCountForThemselves(t *testing.T) {
	b := setup(t)
	in, sold := b.intake.writeAll(dresser, 10, 20), b.sales.writeAll(dresser, 7, 8)
	b.deliver(t, in[0], sold[1], sold[0], in[1])
	b.wantSum(t, dresser, "30 [1 2]")
	if got := b.sumOf(t, "sales", dresser); got != "15 [1 2]" {
		t.Errorf("of sales: %q, want 15 [1 2]", got)
	}
}

// Passing trouble refuses the batch as a whole, and nothing of it is done: the broker
// brings it again.
func TestHandle_PassingTrouble(t *testing.T) {
	shop := setup(t)
	for name, trouble := range map[string]error{
		"Serialisation": &pgconn.PgError{Code: "40001"}, "Shutdown": &pgconn.PgError{Code: "57P01"},
		"Peer": errAway, "Conflict": fault.New(fault.Conflict, "CONTENTION", "Try again."), "Deadline": context.DeadlineExceeded,
	} {
		t.Run(name, func(t *testing.T) {
			b := shop.fresh(t)
			e := b.intake.writeAll(dresser, 10, 20)
			b.adder.setRefuse(20, trouble)
			if err := b.Handle(t.Context(), []bus.Delivery{delivery(e[0]), delivery(e[1])}); err == nil {
				t.Error("Handle = nil, so the batch would not come again")
			}
			b.wantSum(t, dresser, "")
			b.wantProgress(t, 0, 0)
			b.adder.setRefuse(20, nil)
			b.deliver(t, e...)
			b.wantSum(t, dresser, "30 [1 2]")
		})
	}
}

// Several copies of a consumer may be handed the same events at the same moment.
func TestHandle_CopiesAtOnce(t *testing.T) {
	b := setup(t)
	var batch []bus.Delivery
	for _, piece := range []id.ID{dresser, table, chair} {
		for _, e := range b.intake.writeAll(piece, 1, 2, 3, 4, 5, 6, 7, 8) {
			batch = append(batch, delivery(e))
		}
	}
	var done sync.WaitGroup
	for copy := range 4 {
		in := b.another()
		done.Go(func() {
			for i := range batch { // each begins elsewhere
				at := (i + copy*7) % len(batch)
				if err := in.Handle(t.Context(), batch[at:min(at+3, len(batch))]); err != nil {
					t.Errorf("copy %d: %v", copy, err)
				}
			}
		})
	}
	done.Wait()
	for _, piece := range []id.ID{dresser, table, chair} {
		b.wantSum(t, piece, "36 [1 2 3 4 5 6 7 8]")
	}
	b.wantProgress(t, 0, 0)
}

func (b *bundle) untilABookingWaits(t *testing.T) {
	t.Helper()
	eventually(t, "a booking waits", func() bool {
		var waiting int
		b.scan(t, "SELECT count(*) FROM pg_stat_activity WHERE datname = current_database() AND wait_event = 'advisory'", &waiting)
		return waiting == 1
	})
}

// A sale and a cost of one piece come from two producers, and each changes what the other
// is to book: so they are booked one after the other, whatever brings them.
func TestHandle_OneBookingAtATime(t *testing.T) {
	b := setup(t)
	sale, cost := b.sales.write(dresser, 1), b.intake.write(dresser, 2)
	second := make(chan error, 1)
	b.adder.midway = func() {
		go func() { second <- b.another().Handle(t.Context(), []bus.Delivery{delivery(cost)}) }()
		b.untilABookingWaits(t)
		b.wantSum(t, dresser, "")
	}
	b.deliver(t, sale)
	if err := <-second; err != nil {
		t.Fatal(err)
	}
	b.wantSum(t, dresser, "2 [1]")
}

// Whoever freezes the inbox, as a rebuild does, sees nothing change until it is done.
func TestInbox_Freeze(t *testing.T) {
	b := setup(t)
	e := b.intake.write(dresser, 10)
	handled := make(chan error, 1)
	err := b.db.InTx(t.Context(), func(ctx context.Context, tx *pg.Tx) error {
		b.Freeze(ctx, tx)
		if err := tx.QueryRow(ctx, `SELECT 1`).Scan(new(int)); err != nil {
			return err
		}
		go func() { handled <- b.Handle(t.Context(), []bus.Delivery{delivery(e)}) }()
		b.untilABookingWaits(t)
		b.wantSum(t, dresser, "")
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if err := <-handled; err != nil {
		t.Fatal(err)
	}
	b.wantSum(t, dresser, "10 [1]")
}

func TestInbox_RunHeals(t *testing.T) {
	b := setup(t)
	ctx, cancel := context.WithCancel(t.Context())
	ended := make(chan struct{})
	go func() {
		defer close(ended)
		b.Run(ctx)
	}()
	eventually(t, "the first comparison is done", func() bool { return !b.progress(t).ComparedAt.IsZero() })
	e := b.intake.writeAll(dresser, 10, 20, 30)
	b.deliver(t, e[2])
	eventually(t, "the gap is healed", func() bool { return b.sum(t, dresser) == "60 [1 2 3]" })
	cancel()
	<-ended
}
