package inbox_test

import (
	"context"
	"strings"
	"testing"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	eventsv1 "tackfree/proto/tackfree/events/v1"
)

func (b *bundle) compare(t *testing.T) {
	t.Helper()
	if err := b.Compare(t.Context()); err != nil {
		t.Fatalf("Compare: %v", err)
	}
}

func TestCompare_FindsWhatTheBrokerLost(t *testing.T) {
	b := setup(t)
	e := b.intake.writeAll(dresser, 10, 20, 30, 40, 50)
	b.intake.writeAll(table, 1, 2) // nothing of it ever arrives
	sold := b.sales.writeAll(chair, 7, 8)
	b.deliver(t, e[0], sold[0])
	b.compare(t)
	b.wantSum(t, dresser, "150 [1 2 3 4 5]")
	b.wantSum(t, table, "3 [1 2]")
	if got := b.sumOf(t, "sales", chair); got != "15 [1 2]" {
		t.Errorf("of sales: %q, want 15 [1 2]", got)
	}
	if p := b.progress(t); p.Behind != 0 || time.Since(p.ComparedAt) > time.Minute {
		t.Errorf("progress = %+v", p)
	}
	b.intake.write(table, 3)
	b.compare(t)
	b.wantSum(t, table, "6 [1 2 3]")
	b.deliver(t, e...) // what was thought lost may yet come
	b.wantSum(t, dresser, "150 [1 2 3 4 5]")
}

func TestCompare_ManyMissing(t *testing.T) {
	b := setup(t)
	for range 250 {
		b.intake.writeAll(id.New(), 1, 2)
	}
	b.compare(t)
	var pieces, total int
	b.scan(t, "SELECT count(*), sum(total) FROM sum WHERE versions = '{1,2}'", &pieces, &total)
	if pieces != 250 || total != 750 {
		t.Errorf("%d pieces with a sum of %d, want 250 and 750", pieces, total)
	}
	// The whole log is read once; one by one it would be two pages for each piece.
	if most := 2*250/3 + 2; b.intake.pages > most {
		t.Errorf("%d pages were read, want at most %d", b.intake.pages, most)
	}
}

// One producer that is away does not keep the others from being compared.
func TestCompare_ProducerAway(t *testing.T) {
	b := setup(t)
	b.intake.writeAll(dresser, 10)
	b.sales.writeAll(chair, 7)
	b.sales.setAway(true)
	if err := b.Compare(t.Context()); !fault.Is(err, "SERVICE_UNAVAILABLE") {
		t.Errorf("Compare = %v, want SERVICE_UNAVAILABLE", err)
	}
	if got, want := b.Trouble(), "sales: "+fault.Of(errAway).Text; got != want {
		t.Errorf("Trouble = %q, want %q", got, want)
	}
	b.wantSum(t, dresser, "10 [1]")
	b.sales.setAway(false)
	b.compare(t)
	if got := b.Trouble(); got != "" {
		t.Errorf("Trouble after a comparison that went well = %q", got)
	}
	if got := b.sumOf(t, "sales", chair); got != "7 [1]" {
		t.Errorf("of sales, back again: %q, want 7 [1]", got)
	}
}

// A producer whose clock is far behind writes events that are older than the last
// comparison; the full comparison of a fresh program sees them all the same.
func TestCompare_ClocksFarApart(t *testing.T) {
	b := setup(t)
	b.compare(t)
	e := b.intake.write(dresser, 10)
	e.RecordedAt = timestamppb.New(time.Now().Add(-time.Hour))
	b.compare(t)
	b.wantSum(t, dresser, "") // only what changed lately was asked for
	if err := b.another().Compare(t.Context()); err != nil {
		t.Fatal(err)
	}
	b.wantSum(t, dresser, "10 [1]")
}

// Healing asks an absent producer once a round, not once for each aggregate.
func TestHeal_ProducerAway(t *testing.T) {
	b := setup(t)
	var late []*eventsv1.Envelope
	for range 20 {
		late = append(late, b.intake.writeAll(id.New(), 1, 2)[1])
	}
	b.deliver(t, late...)
	b.intake.setAway(true)
	asked := 0
	eventually(t, "it tries", func() bool {
		before := b.intake.pages
		err := b.Heal(t.Context())
		asked = b.intake.pages - before
		return fault.Is(err, "SERVICE_UNAVAILABLE")
	})
	if asked != 1 {
		t.Errorf("it asked %d times, want once", asked)
	}
	b.intake.setAway(false)
	b.heal(t, "all are healed", func() bool { return b.progress(t).Parked == 0 })
}

// A comparison under way when the program ends is no trouble, and the next one is whole.
func TestCompare_Cancelled(t *testing.T) {
	b := setup(t)
	b.intake.writeAll(dresser, 10, 20)
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if err := b.Compare(ctx); err == nil {
		t.Error("Compare = nil under a cancelled context")
	}
	b.compare(t)
	b.wantSum(t, dresser, "30 [1 2]")
}

// Without a broker the producers are asked for what they have, long before the next comparison
// would be due.
func TestInbox_WithoutABroker(t *testing.T) {
	b := setup(t)
	b.run(t)
	b.intake.writeAll(dresser, 10)
	eventually(t, "the books follow the logs", func() bool {
		if err := b.Handle(t.Context(), nil); err != nil {
			t.Fatal(err)
		}
		return b.sum(t, dresser) == "10 [1]"
	})
	b.intake.writeAll(dresser, 20, 30)
	eventually(t, "and go on", func() bool {
		_ = b.Handle(t.Context(), nil)
		return b.sum(t, dresser) == "60 [1 2 3]"
	})
}

// A comparison that brings much is followed by another, for there may be as much again.
func TestInbox_MuchIsFollowedByMore(t *testing.T) {
	b := setup(t)
	b.run(t)
	eventually(t, "the first comparison", func() bool { return !b.progress(t).ComparedAt.IsZero() })
	if err := b.Handle(t.Context(), nil); err != nil { // one more is asked for, and no third
		t.Fatal(err)
	}
	for range 120 {
		b.intake.write(dresser, 1)
	}
	eventually(t, "much is brought", func() bool { return strings.HasPrefix(b.sum(t, dresser), "120 ") })
	b.intake.write(dresser, 1)
	eventually(t, "and what came since", func() bool { return strings.HasPrefix(b.sum(t, dresser), "121 ") })
}

// run lets the inbox heal and compare by itself until the test ends.
func (b *bundle) run(t *testing.T) {
	t.Helper()
	ctx, stop := context.WithCancel(t.Context())
	ended := make(chan struct{})
	go func() {
		defer close(ended)
		b.Run(ctx)
	}()
	t.Cleanup(func() {
		stop()
		<-ended
	})
}
