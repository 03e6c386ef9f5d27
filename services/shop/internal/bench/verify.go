package bench

import (
	"context"
	"fmt"
	"time"

	"tackfree/pkg/caller"
	costingv1 "tackfree/proto/tackfree/costing/v1"
)

// Verify is how long it takes to prove the books while people work, and what these notice of it.
type Verify struct {
	Events     int     `json:"events"`
	Seconds    float64 `json:"seconds"`
	EventsPerS float64 `json:"events_per_s"`
	Rate       int     `json:"rate"` // commands a second meanwhile
	P50ms      float64 `json:"p50_ms"`
	P99ms      float64 `json:"p99_ms"`
	MemoryMB   float64 `json:"memory_mb"` // at most, of the process with all services in it
}

// longest is how long people may have to work while the books are proved.
const longest = 5 * time.Minute

// RunVerify fills the producers' logs with so many events, lets costing catch up, and proves the
// books while 50 commands a second are given as RunLag gives them.
func RunVerify(ctx context.Context, o Options, events int) (r Verify, err error) {
	b, stop, err := openLedger(ctx, o, events)
	if err != nil {
		return r, err
	}
	defer stop()
	if _, err := b.fill(ctx, o, events); err != nil {
		return r, err
	}
	ctx, cancel := context.WithCancel(caller.With(ctx, caller.Caller{Actor: "bench"}))
	defer cancel()
	work := &lagBench{shop: b.Shop, rate: lagRate, people: lagPeople, commands: int(lagRate * longest.Seconds()), stop: make(chan struct{})}
	if err := work.fill(ctx); err != nil {
		return r, err
	}
	worked := make(chan error, 1)
	go func() { worked <- work.run(ctx) }()
	seconds, mb, err := b.verify(ctx, o)
	close(work.stop)
	if other := <-worked; err == nil {
		err = other
	}
	lag := work.seen()
	return Verify{Events: events, Seconds: seconds, EventsPerS: float64(events) / seconds, Rate: lag.Rate, P50ms: lag.P50ms, P99ms: lag.P99ms, MemoryMB: mb}, err
}

// verify times verifications that must find nothing.
func (b *ledgerBench) verify(ctx context.Context, o Options) (seconds, mb float64, err error) {
	if err := forgetPeak(); err != nil {
		return 0, 0, err
	}
	var took []float64
	for round := range o.Rounds {
		began := time.Now()
		done, err := b.Shop.Books.Verify(ctx, &costingv1.VerifyRequest{})
		if err != nil {
			return 0, 0, err
		}
		t := time.Since(began).Seconds()
		if !done.Clean {
			return 0, 0, unclean(done)
		}
		o.Say("round %d: %d events proved in %.1f s", round+1, done.Events, t)
		took = append(took, t)
	}
	mb, err = peak()
	return median(took), mb, err
}

// unclean is the error that books are wrong, or lack events.
func unclean(v *costingv1.VerifyResponse) error {
	return fmt.Errorf("the books differ in %d places, and %d events are not booked: %v", v.DifferenceCount, v.RefusedCount+v.WaitingCount, v.Differences[:min(len(v.Differences), 5)])
}
