package bench

import (
	"context"
	"fmt"
	"slices"
	"sync"
	"time"

	"tackfree/pkg/caller"
	"tackfree/pkg/grpcx"
	"tackfree/pkg/id"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// watching gives commands at an even pace while many watch, and times each from its answer to
// when each watcher has seen it.
func (c *clockBench) watching(ctx context.Context, o Options, r *Floor) error {
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	w := &watchBench{clockBench: c, answered: map[string]time.Time{}}
	for n := range floorWatchers {
		if err := w.watch(ctx, n); err != nil {
			return err
		}
	}
	commands := int(floorRate * max(o.Slice, 4*time.Second).Seconds())
	if err := w.command(ctx, commands); err != nil {
		return err
	}
	if err := w.wait(ctx, commands); err != nil {
		return err
	}
	r.WatchP50ms, r.WatchP99ms = w.lags()
	o.Say("%d commands were seen by each of %d watchers", commands, floorWatchers)
	return nil
}

// watchBench knows when each command was answered, and when each watcher saw it.
type watchBench struct {
	*clockBench
	mu       sync.Mutex
	answered map[string]time.Time
	seen     [floorWatchers]map[string]time.Time
	conns    []workflowv1.FloorServiceClient
}

// watch follows the floor from now on; ten watchers share a connection.
func (w *watchBench) watch(ctx context.Context, n int) error {
	if n%10 == 0 {
		conn, err := grpcx.Dial(w.suite.Addresses()["workflow"])
		if err != nil {
			return err
		}
		context.AfterFunc(ctx, func() { _ = conn.Close() })
		w.conns = append(w.conns, workflowv1.NewFloorServiceClient(conn))
	}
	stream, err := w.conns[n/10].WatchFloor(ctx, &workflowv1.WatchFloorRequest{})
	if err != nil {
		return err
	}
	if _, err := stream.Recv(); err != nil { // where it begins
		return err
	}
	w.seen[n] = map[string]time.Time{}
	go func() {
		for {
			r, err := stream.Recv()
			if err != nil {
				return // the measurement is over
			}
			w.mu.Lock()
			w.seen[n][r.Event.RequestId] = time.Now()
			w.mu.Unlock()
		}
	}()
	return nil
}

// command clocks on as many people as are asked for, at an even pace.
func (w *watchBench) command(ctx context.Context, commands int) error {
	if err := w.hire(ctx, w.used+commands); err != nil {
		return err
	}
	ctx = caller.With(ctx, caller.Caller{Actor: "bench"})
	tick := time.NewTicker(time.Second / floorRate)
	defer tick.Stop()
	failed := make(chan error, commands)
	var all sync.WaitGroup
	for n := range commands {
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-tick.C:
		}
		all.Go(func() {
			r := w.clockOn(w.used + n)
			r.RequestId = id.New().String()
			_, err := w.suite.Shop.Clocks.ClockOn(ctx, r)
			if err != nil {
				failed <- err
				return
			}
			w.mu.Lock()
			defer w.mu.Unlock()
			w.answered[r.RequestId] = time.Now()
		})
	}
	all.Wait()
	select {
	case err := <-failed:
		return err
	default:
		return nil
	}
}

// wait until everybody has seen all.
func (w *watchBench) wait(ctx context.Context, commands int) error {
	deadline := time.Now().Add(10 * time.Second)
	for {
		w.mu.Lock()
		fewest := len(slices.MinFunc(w.seen[:], func(a, b map[string]time.Time) int { return len(a) - len(b) }))
		w.mu.Unlock()
		if fewest >= commands {
			return nil
		}
		if time.Now().After(deadline) || ctx.Err() != nil {
			return fmt.Errorf("a watcher has only seen %d of %d commands", fewest, commands)
		}
		time.Sleep(10 * time.Millisecond) // polling the service under measurement, after it ends
	}
}

// lags are the median over all watchers, and the 99 of 100 of the slowest.
func (w *watchBench) lags() (p50, p99 float64) {
	w.mu.Lock()
	defer w.mu.Unlock()
	var all []time.Duration
	for _, seen := range w.seen {
		var own []time.Duration
		for command, at := range seen {
			own = append(own, max(0, at.Sub(w.answered[command])))
		}
		p99 = max(p99, percentile(own, 0.99))
		all = append(all, own...)
	}
	return percentile(all, 0.50), p99
}
