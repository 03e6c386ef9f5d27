package bench

import (
	"context"
	"runtime"
	"syscall"
	"time"

	"tackfree/pkg/planner"
)

// PlannerClock is what a second of budget is.
type PlannerClock string

// The clocks.
const (
	Wall PlannerClock = "wall" // on the wall
	// CPU is the processor time that this process got, over the cores that it may use: what it would have taken on a
	// machine with nothing else to do.
	CPU PlannerClock = "cpu"
)

// pollClock is how often a clock is looked at to end a search.
const pollClock = 20 * time.Millisecond

// start gives how long it is from now on.
func (c PlannerClock) start() func() time.Duration {
	if c != CPU {
		began := time.Now()
		return func() time.Duration { return time.Since(began) }
	}
	began := processorTime()
	return func() time.Duration { return (processorTime() - began) / time.Duration(runtime.GOMAXPROCS(0)) }
}

func processorTime() time.Duration {
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		panic(err) // it fails for no argument but a bad one
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}

// within ends a context when a budget is gone, and tells how long it is. One that does not search uses no processor time: it is
// ended by its caller.
func (c PlannerClock) within(ctx context.Context, budget time.Duration) (within context.Context, gone func() time.Duration, cancel func()) {
	within, cancel = context.WithCancel(ctx)
	gone = c.start()
	go func() {
		for tick := time.Tick(pollClock); gone() < budget; {
			select {
			case <-within.Done():
				return
			case <-tick:
			}
		}
		cancel()
	}()
	return within, gone, cancel
}

// budget is one of the planner's, that is gone too when the context ends.
func (c PlannerClock) budget(ctx context.Context, length time.Duration) planner.Budget {
	gone := c.start()
	return func() float64 {
		if ctx.Err() != nil {
			return 1
		}
		return gone().Seconds() / length.Seconds()
	}
}
