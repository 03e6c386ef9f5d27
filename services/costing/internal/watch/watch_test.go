package watch

import (
	"context"
	"errors"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"tackfree/pkg/id"
)

// looker counts what a watcher sees.
type looker struct {
	mu    sync.Mutex
	looks int
}

func (l *looker) look(context.Context) error {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.looks++
	return nil
}

func (l *looker) seen() int {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.looks
}

func TestHub_TellsWatchersOfThePieceAtOnce(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		h, dresser, chair := NewHub(), id.New(), id.New()
		first, second, other := &looker{}, &looker{}, &looker{}
		stop := make(chan struct{})
		for l, piece := range map[*looker]id.ID{first: dresser, second: dresser, other: chair} {
			go func() { _ = h.Watch(t.Context(), stop, piece, l.look) }()
		}
		synctest.Wait()
		h.Tell([]id.ID{dresser, id.New()})
		synctest.Wait() // no time has passed, so nobody looked by himself
		if first.seen() != 2 || second.seen() != 2 || other.seen() != 1 {
			t.Errorf("looks = %d, %d and %d of another piece; want 2, 2 and 1", first.seen(), second.seen(), other.seen())
		}
		close(stop)
	})
}

// A change that another copy of the service made tells nobody here.
func TestHub_WatchersLookByThemselves(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		h, l, stop := NewHub(), &looker{}, make(chan struct{})
		go func() { _ = h.Watch(t.Context(), stop, id.New(), l.look) }()
		time.Sleep(3*Look + Look/2)
		if l.seen() != 4 {
			t.Errorf("looks = %d in 3.5 times %s, want 4", l.seen(), Look)
		}
		close(stop)
	})
}

// Bookings do not wait for a client that is slow, and what it missed it sees in one look.
func TestHub_TellDoesNotWait(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		h, piece, stop := NewHub(), id.New(), make(chan struct{})
		l, reading := &looker{}, make(chan struct{})
		go func() {
			_ = h.Watch(t.Context(), stop, piece, func(ctx context.Context) error {
				_ = l.look(ctx)
				<-reading
				return nil
			})
		}()
		synctest.Wait()
		for range 100 {
			h.Tell([]id.ID{piece})
		}
		reading <- struct{}{}
		reading <- struct{}{}
		synctest.Wait()
		if l.seen() != 2 {
			t.Errorf("looks = %d, want the first and one for all changes", l.seen())
		}
		close(stop)
	})
}

func TestHub_WatchEnds(t *testing.T) {
	broken := errors.New("broken")
	for name, c := range map[string]struct {
		end  func(cancel func(), stop chan struct{})
		look error
		want error
	}{
		"ServiceStops":   {end: func(_ func(), stop chan struct{}) { close(stop) }},
		"CallerGoesAway": {end: func(cancel func(), _ chan struct{}) { cancel() }, want: context.Canceled},
		"LookFails":      {end: func(func(), chan struct{}) {}, look: broken, want: broken},
	} {
		t.Run(name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				h, stop := NewHub(), make(chan struct{})
				ctx, cancel := context.WithCancel(t.Context())
				defer cancel()
				ended := make(chan error, 1)
				go func() { ended <- h.Watch(ctx, stop, id.New(), func(context.Context) error { return c.look }) }()
				synctest.Wait()
				c.end(cancel, stop)
				if err := <-ended; !errors.Is(err, c.want) {
					t.Errorf("Watch = %v, want %v", err, c.want)
				}
				if len(h.watchers) != 0 {
					t.Errorf("%d watchers are kept although nobody watches", len(h.watchers))
				}
			})
		})
	}
}

// Who watches whatever changes is told of every piece, at once while it is quiet and no more often than
// the pace while much changes.
func TestHub_WatchAll(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		h, l, stop := NewHub(), &looker{}, make(chan struct{})
		ended := make(chan error, 1)
		go func() { ended <- h.WatchAll(t.Context(), stop, l.look) }()
		time.Sleep(pace + time.Millisecond)
		h.Tell([]id.ID{id.New()})
		synctest.Wait()
		if l.seen() != 2 {
			t.Errorf("looks = %d, want the first and one for a change", l.seen())
		}
		for range 100 {
			h.Tell([]id.ID{id.New()})
		}
		synctest.Wait()
		if l.seen() != 2 {
			t.Errorf("looks = %d within the pace, want 2", l.seen())
		}
		time.Sleep(pace)
		if synctest.Wait(); l.seen() != 3 {
			t.Errorf("looks = %d, want one for all changes since", l.seen())
		}
		close(stop)
		if err := <-ended; err != nil || len(h.watchers) != 0 {
			t.Errorf("WatchAll = %v, and %d watchers are kept", err, len(h.watchers))
		}
	})
}
