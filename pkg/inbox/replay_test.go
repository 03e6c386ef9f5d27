package inbox_test

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"testing"

	"google.golang.org/grpc"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/inbox"
	eventsv1 "tackfree/proto/tackfree/events/v1"
)

func (b *bundle) replay(t *testing.T, want int64) {
	t.Helper()
	if n, err := b.Replay(t.Context()); n != want || err != nil {
		t.Fatalf("Replay = %d, %v, want %d events", n, err, want)
	}
}

// What a replay has applied the inbox knows: nothing of it is asked for again, and it goes on from there.
func TestReplay_AllLogs(t *testing.T) {
	b := setup(t)
	b.intake.writeAll(dresser, 10, 20)
	b.intake.writeAll(table, 1)
	b.intake.writeAll(dresser, 30)
	b.sales.writeAll(dresser, 5, 6)
	b.replay(t, 6)
	b.wantSum(t, dresser, "60 [1 2 3]")
	b.wantSum(t, table, "1 [1]")
	if got := b.sumOf(t, "sales", dresser); got != "11 [1 2]" {
		t.Errorf("of sales: %q, want 11 of 1 and 2", got)
	}
	pages := b.intake.pages
	if err := b.Compare(t.Context()); err != nil || b.intake.pages != pages {
		t.Errorf("Compare = %v, and asked for %d pages more, want none", err, b.intake.pages-pages)
	}
	e := b.intake.write(dresser, 40)
	b.deliver(t, e, b.intake.events[0])
	b.wantSum(t, dresser, "100 [1 2 3 4]")
	b.wantProgress(t, 0, 0)
}

// More events than are applied at once, and one of them in a later transaction than the one behind it.
func TestReplay_Many(t *testing.T) {
	b := setup(t)
	var want int64
	const pieces = 2_500
	events := make([]*eventsv1.Envelope, 0, 2*pieces)
	for n := range 2 * pieces {
		e := b.intake.write(numbered(n%pieces), int32(n))
		e.Version, b.intake.events = int64(1+n/pieces), nil // or the log counts versions for long
		events = append(events, e)
		want += int64(n)
	}
	e := b.intake.writeAll(dresser, 10, 20, 30)
	b.intake.events = slices.Concat(events[:1], e[:1], e[2:], events[1:], e[1:2])
	want += 60
	b.replay(t, 2*pieces+3)
	b.wantSum(t, dresser, "60 [1 2 3]")
	b.wantProgress(t, 0, 0)
	var total, applied int64
	b.scan(t, `SELECT (SELECT sum(total) FROM sum)::bigint, (SELECT sum(version) FROM applied)::bigint`, &total, &applied)
	if total != want || applied != 2*pieces+3 {
		t.Errorf("the sum is %d of %d events, want %d of %d", total, applied, want, 2*pieces+3)
	}
}

func numbered(n int) (i id.ID) {
	i[0], i[14], i[15] = 1, byte(n>>8), byte(n)
	return i
}

// A refused event holds up its own aggregate, and a retry goes on behind it, as it does with what
// the broker brings.
func TestReplay_Refused(t *testing.T) {
	b := setup(t)
	b.intake.writeAll(dresser, 10, 20, 30)
	b.intake.writeAll(table, 1, 2)
	b.adder.setRefuse(20, errMalformed)
	b.replay(t, 5)
	b.wantSum(t, dresser, "10 [1]")
	b.wantSum(t, table, "3 [1 2]")
	b.wantProgress(t, 1, 1)
	b.adder.setRefuse(20, nil)
	if err := b.Retry(t.Context(), b.letters(t)[0].ID); err != nil {
		t.Fatal(err)
	}
	b.wantSum(t, dresser, "60 [1 2 3]")
	b.wantProgress(t, 0, 0)
}

// A panic is a refusal too.
func TestReplay_Panic(t *testing.T) {
	b := setup(t)
	b.intake.writeAll(dresser, 10)
	b.intake.writeAll(table, 1)
	b.adder.panics[10] = true
	b.replay(t, 2)
	b.wantSum(t, table, "1 [1]")
	b.wantProgress(t, 0, 1)
}

// Paging may pass over an event that is committed late; what comes behind it waits, and it is fetched.
func TestReplay_PassedOver(t *testing.T) {
	b := setup(t)
	e := b.intake.writeAll(dresser, 10, 20, 30)
	b.intake.writeAll(table, 1)
	b.intake.events = append(b.intake.events[:1:1], b.intake.events[2:]...)
	b.replay(t, 3)
	b.wantSum(t, dresser, "10 [1]")
	b.wantSum(t, table, "1 [1]")
	b.wantProgress(t, 1, 0)
	b.intake.events = append(e[:2:2], b.intake.events[1:]...)
	if err := b.Compare(t.Context()); err != nil {
		t.Fatal(err)
	}
	b.wantSum(t, dresser, "60 [1 2 3]")
	b.wantProgress(t, 0, 0)
}

// restoring is a producer that is restored from a backup behind its first page.
type restoring struct{ *producer }

func (r restoring) ListEvents(ctx context.Context, q *eventsv1.ListEventsRequest, opts ...grpc.CallOption) (*eventsv1.ListEventsResponse, error) {
	out, err := r.producer.ListEvents(ctx, q, opts...)
	r.setEpoch("second")
	return out, err
}

func (p *producer) setEpoch(epoch string) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.epoch = epoch
}

func TestReplay_RestoredMeanwhile(t *testing.T) {
	b := setup(t)
	b.intake.writeAll(dresser, 10, 20, 30, 40)
	b.Inbox = inbox.New(b.db, "costing", map[string]eventsv1.EventLogServiceClient{"intake": restoring{b.intake}}, b.adder, 0, quiet)
	if _, err := b.Replay(t.Context()); !fault.Is(err, "PRODUCER_RESTORED") {
		t.Errorf("Replay = %v, want PRODUCER_RESTORED", err)
	}
}

func TestReplay_ProducerAway(t *testing.T) {
	b := setup(t)
	b.intake.writeAll(dresser, 10)
	b.sales.setAway(true)
	if _, err := b.Replay(t.Context()); !fault.Is(err, "SERVICE_UNAVAILABLE") {
		t.Errorf("Replay = %v, want SERVICE_UNAVAILABLE", err)
	}
}

// The pages of a log come in its order, and the first error, of a reader or of the caller, ends it.
func TestEachPage_EndsWithTheFirstError(t *testing.T) {
	b := setup(t)
	for n := range int32(60) {
		b.intake.write(dresser, n)
	}
	var seen []int64
	err := inbox.EachPage(t.Context(), b.intake, &eventsv1.ListEventsRequest{}, func(_ context.Context, events []inbox.Event) error {
		for _, e := range events {
			seen = append(seen, e.Version)
		}
		if len(seen) == 6 {
			return errMalformed
		}
		return nil
	})
	if !errors.Is(err, errMalformed) || fmt.Sprint(seen) != "[1 2 3 4 5 6]" || b.intake.pages > 8 {
		t.Errorf("EachPage = %v after %v and %d pages, want the caller's error after six events and few pages more", err, seen, b.intake.pages)
	}
	ctx, cancel := context.WithCancel(t.Context())
	err = inbox.EachPage(ctx, b.intake, &eventsv1.ListEventsRequest{}, func(context.Context, []inbox.Event) error {
		cancel()
		return nil
	})
	if !errors.Is(err, context.Canceled) {
		t.Errorf("EachPage of one who left = %v", err)
	}
}

// Pages of several logs come by when they were recorded, as the shop lived through it.
func TestEachPageOfAll_ByTime(t *testing.T) {
	b := setup(t)
	for n := range int32(24) { // three to a page
		p := b.intake
		if n%6 < 3 {
			p = b.sales
		}
		p.write(dresser, n)
	}
	var got []int32
	err := inbox.EachPageOfAll(t.Context(), map[string]eventsv1.EventLogServiceClient{"intake": b.intake, "sales": b.sales}, func(_ context.Context, events []inbox.Event) error {
		for _, e := range events {
			got = append(got, e.GetPieceTakenIn().GetTag())
		}
		return nil
	})
	if err != nil || len(got) != 24 || !slices.IsSorted(got) {
		t.Errorf("EachPageOfAll = %v, %v, want all in their order", got, err)
	}
}
