package bench

import (
	"context"
	"iter"
	"math/rand/v2"
	"time"
)

// dueUntil are the instants up to an end at which a caller is to ask: at a pace by chance, as
// pgbench draws them; without one whenever the last answer is there. A caller who is late asks
// at once, and the wait counts from when it was due: otherwise a slow answer would hide those
// that it kept waiting.
func (c *clockBench) dueUntil(end time.Time, caller int) iter.Seq[time.Time] {
	if c.pace == 0 {
		return atOnceUntil(end)
	}
	between := float64(time.Second) * float64(c.callers) / float64(c.pace)
	by := rand.New(rand.NewPCG(1, uint64(caller)))
	next := func(t time.Time) time.Time { return t.Add(time.Duration(by.ExpFloat64() * between)) }
	return func(yield func(time.Time) bool) {
		for due := next(time.Now()); due.Before(end); due = next(due) {
			time.Sleep(time.Until(due))
			if !yield(due) {
				return
			}
		}
	}
}

// atOnceUntil are the instants of a caller who asks whenever the last answer is there.
func atOnceUntil(end time.Time) iter.Seq[time.Time] {
	return func(yield func(time.Time) bool) {
		for now := time.Now(); now.Before(end) && yield(now); now = time.Now() {
		}
	}
}

// pacing lets both sides clock people on once more, at a pace that is many times that of a shop of twelve.
func (c *clockBench) pacing(ctx context.Context, o Options, r *Floor) error {
	c.took, c.baseTook, c.pace = nil, nil, floorPace
	defer func() { c.pace = 0 }()
	for range o.Rounds {
		for _, side := range []func(context.Context, time.Duration) (float64, error){c.pgbench, c.grpc} {
			if _, err := c.turn(ctx, o.Slice, side); err != nil {
				return err
			}
		}
	}
	r.PaceP50ms, r.PaceP99ms, r.PacePgbenchP99ms = percentile(c.took, 0.50), percentile(c.took, 0.99), percentile(c.baseTook, 0.99)
	o.Say("%d clock-ons at %d a second", len(c.took), c.pace)
	return c.clockAllOff(ctx)
}
