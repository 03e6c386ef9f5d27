package feed

import (
	"context"
	"errors"
	"sync/atomic"
	"testing"
	"testing/synctest"
	"time"
)

// Each who watches looks at once, and again when something is told, however fast it is told.
func TestHub_WakesAll(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		h, stop, looks := &Hub{}, make(chan struct{}), make([]atomic.Int32, 3)
		for n := range looks {
			go func() { _ = h.Watch(t.Context(), stop, func(context.Context) error { looks[n].Add(1); return nil }) }()
		}
		synctest.Wait()
		h.Tell()
		synctest.Wait()
		for n := range looks {
			if times := looks[n].Load(); times != 2 {
				t.Errorf("watcher %d looked %d times, want at first and when told", n, times)
			}
		}
		time.Sleep(Look + Look/2)
		synctest.Wait()
		if times := looks[0].Load(); times != 3 {
			t.Errorf("looked %d times, want once more by itself", times)
		}
		close(stop)
	})
}

// What is told while somebody looks is looked for again.
func TestHub_ToldWhileLooking(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		h, stop, looks := &Hub{}, make(chan struct{}), 0
		go func() {
			_ = h.Watch(t.Context(), stop, func(context.Context) error {
				if looks++; looks == 1 {
					h.Tell()
				}
				return nil
			})
		}()
		synctest.Wait() // no time has passed, so it did not look by itself
		if looks != 2 {
			t.Errorf("looked %d times, want twice", looks)
		}
		close(stop)
	})
}

func TestHub_WatchEnds(t *testing.T) {
	broken := errors.New("broken")
	for name, c := range map[string]struct {
		look error
		end  func(cancel func(), stop chan struct{})
		want error
	}{
		"ServiceStops":   {nil, func(_ func(), stop chan struct{}) { close(stop) }, nil},
		"CallerGoesAway": {nil, func(cancel func(), _ chan struct{}) { cancel() }, context.Canceled},
		"LookFails":      {broken, func(func(), chan struct{}) {}, broken},
	} {
		t.Run(name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				ctx, cancel := context.WithCancel(t.Context())
				defer cancel()
				stop, ended := make(chan struct{}), make(chan error, 1)
				go func() { ended <- (&Hub{}).Watch(ctx, stop, func(context.Context) error { return c.look }) }()
				synctest.Wait()
				c.end(cancel, stop)
				if err := <-ended; !errors.Is(err, c.want) {
					t.Errorf("Watch = %v, want %v", err, c.want)
				}
			})
		})
	}
}
