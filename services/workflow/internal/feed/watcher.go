package feed

import (
	"context"
	"time"

	"tackfree/pkg/outbox"
)

// Watch gives each event after a position once, in the order of the log, until ctx or stop
// ends or give fails. Fault: WATCHER_SLOW.
func (h *Hub) Watch(ctx context.Context, stop <-chan struct{}, from outbox.Position, give Give) error {
	defer h.enter()()
	w := &watcher{hub: h, stop: stop, at: from, give: give}
	return w.watch(ctx)
}

// watcher is somebody who watches. It has been given all events that at sees.
type watcher struct {
	hub  *Hub
	stop <-chan struct{}
	at   outbox.Position
	next uint64 // its place in the ring
	give Give
}

func (w *watcher) watch(ctx context.Context) error {
	// Twice, for the ring is not to run full of what is read here from far back.
	if again, err := w.catchUp(ctx); !again || err != nil {
		return err
	}
	if again, err := w.join(ctx); !again || err != nil {
		return err
	}
	// What the hub had been given was committed then: after this it was all given here as well.
	if again, err := w.catchUp(ctx); !again || err != nil {
		return err
	}
	for {
		told, changed, err := w.hub.from(w.next)
		if err != nil {
			return err
		}
		if err := w.take(told); err != nil {
			return err
		}
		if len(told) > 0 {
			continue
		}
		if again, err := w.wait(ctx, changed); !again || err != nil {
			return err
		}
	}
}

// join takes a place in the ring, as soon as the hub is awake.
func (w *watcher) join(ctx context.Context) (again bool, err error) {
	for {
		next, awake, changed := w.hub.place()
		if awake {
			w.next = next
			return true, nil
		}
		if again, err := w.wait(ctx, changed); !again || err != nil {
			return false, err
		}
	}
}

// catchUp reads the log until there is nothing more in it.
func (w *watcher) catchUp(ctx context.Context) (again bool, err error) {
	for {
		b, err := w.hub.read(ctx, w.at, batch)
		if err != nil {
			return false, err
		}
		told, err := w.hub.tellOf(ctx, b)
		if err != nil {
			return false, err
		}
		for _, t := range told {
			w.at = t.After
			if err := w.give(t); err != nil {
				return false, err
			}
		}
		stuck := b.Now.Is(w.at) && len(b.Events) == 0
		if w.at = b.Now; !b.More {
			return true, nil
		}
		if again, err := w.pause(ctx, stuck); !again || err != nil {
			return false, err
		}
	}
}

// take gives what comes from the ring, but for what was read from the log before.
func (w *watcher) take(told []Told) error {
	for _, t := range told {
		w.next++
		if w.at.Sees(t.ID) {
			continue
		}
		if w.at = w.at.And(t.After); !w.at.Is(t.After) {
			t.Position = w.hub.log.Token(w.at)
		}
		if err := w.give(t); err != nil {
			return err
		}
	}
	return nil
}

// pause waits a moment before it is read again in vain, or not at all.
func (w *watcher) pause(ctx context.Context, stuck bool) (again bool, err error) {
	now := make(chan struct{})
	if !stuck {
		close(now)
		return w.wait(ctx, now)
	}
	timer := time.AfterFunc(poll, func() { close(now) })
	defer timer.Stop()
	return w.wait(ctx, now)
}

// wait waits for a change; false when the service stops.
func (w *watcher) wait(ctx context.Context, changed <-chan struct{}) (again bool, err error) {
	select {
	case <-w.stop:
		return false, nil
	default:
	}
	select {
	case <-ctx.Done():
		return false, ctx.Err()
	case <-w.stop:
		return false, nil
	case <-changed:
		return true, nil
	}
}
