package bench

import (
	"context"
	"strings"
	"testing"
	"time"

	eventsv1 "tackfree/proto/tackfree/events/v1"

	"google.golang.org/protobuf/proto"
)

// The years are a shop's: each piece comes in, is worked on and leaves, versions are dense, and nobody
// is on two clocks at once.
func TestYears_AreAShops(t *testing.T) {
	y := &years{}
	versions, left, until := map[string]int64{}, 0, map[string]time.Time{}
	for range 20_000 {
		m := y.next()
		e := &eventsv1.Envelope{}
		if err := proto.Unmarshal(m.Body, e); err != nil {
			t.Fatal(err)
		}
		of := m.Producer + m.Aggregate
		if versions[of]++; m.Version != versions[of] || e.Version != m.Version || e.EventId != m.EventID {
			t.Fatalf("version %d of %s in %s, want %d", m.Version, m.Aggregate, m.Producer, versions[of])
		}
		if span := e.GetClockedOff().GetSpan(); span != nil {
			start, end := span.Start.AsTime(), span.End.AsTime()
			if start.Before(until[span.PersonId]) || !end.After(start) || e.OccurredAt.AsTime() != end {
				t.Fatalf("%s works from %s to %s, told at %s, and before until %s", span.PersonName, start, end, e.OccurredAt.AsTime(), until[span.PersonId])
			}
			until[span.PersonId] = end
		}
		if e.GetPieceSold() != nil || e.GetPieceScrapped() != nil {
			left++
		}
	}
	if pieces := 20_000 / steps; left < pieces-2*helpers || left > pieces {
		t.Errorf("%d pieces have left, of about %d", left, pieces)
	}
}

// The measurements refuse books that differ, so that they end at all shows that these are right.
func TestRunRebuild_Short(t *testing.T) {
	r, err := RunRebuild(t.Context(), short(t), 5_000)
	if err != nil {
		t.Fatal(err)
	}
	if r.Lines < 5_000 || r.Seconds <= 0 || r.GroupByS <= 0 || r.LostSeconds <= 0 || r.EventsPerS <= 0 {
		t.Errorf("the rebuild comes to %+v", r)
	}
}

func TestRunVerify_Short(t *testing.T) {
	r, err := RunVerify(t.Context(), short(t), 1_000)
	if err != nil {
		t.Fatal(err)
	}
	if r.Seconds <= 0 || r.Rate != lagRate {
		t.Errorf("the verification comes to %+v", r)
	}
}

func TestRunOutage_Short(t *testing.T) {
	r, err := RunOutage(t.Context(), short(t), time.Second)
	if err != nil {
		t.Fatal(err)
	}
	if r.Missed == 0 || r.CaughtS <= 0 {
		t.Errorf("the outage comes to %+v", r)
	}
}

func TestRunGrowth_Short(t *testing.T) {
	r, err := RunGrowth(t.Context(), short(t), 1_000)
	if err != nil {
		t.Fatal(err)
	}
	if len(r) != 1 || r[0].EventUs <= 0 {
		t.Errorf("the growth comes to %+v", r)
	}
}

func TestRun_RefusesTooLittle(t *testing.T) {
	for want, run := range map[string]func(context.Context, Options) error{
		"at least 1000 events, not 999": func(ctx context.Context, o Options) error { _, err := RunRebuild(ctx, o, 999); return err },
		"at least 1000 events, not 0":   func(ctx context.Context, o Options) error { _, err := RunVerify(ctx, o, 0); return err },
		"at least 1s, not 1ms":          func(ctx context.Context, o Options) error { _, err := RunOutage(ctx, o, time.Millisecond); return err },
		"at least one number":           func(ctx context.Context, o Options) error { _, err := RunGrowth(ctx, o); return err },
		"from low to high":              func(ctx context.Context, o Options) error { _, err := RunGrowth(ctx, o, 30_000, 20_000); return err },
	} {
		if err := run(t.Context(), short(t)); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("it says %v, want that there must be %s", err, want)
		}
	}
}
