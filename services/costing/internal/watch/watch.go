// Package watch tells waiting clients that a piece's sheet changed.
//
// A booking of this process is told at once. What another copy of the service booked, and
// what makes a sheet final or not without being booked (an event put aside, a pay rate, a
// name), is seen by looking now and then; so a look should cost little when nothing changed.
package watch

import (
	"context"
	"sync"
	"time"

	"tackfree/pkg/id"
)

// Look is how often a watcher looks by itself.
const Look = time.Second

// Hub connects bookings with watchers.
type Hub struct {
	mu       sync.Mutex
	watchers map[id.ID]map[chan struct{}]bool
}

// NewHub makes a hub.
func NewHub() *Hub { return &Hub{watchers: map[id.ID]map[chan struct{}]bool{}} }

// Tell wakes the watchers of pieces. It never waits for them.
func (h *Hub) Tell(pieces []id.ID) {
	h.mu.Lock()
	defer h.mu.Unlock()
	for _, p := range pieces {
		wake(h.watchers[p])
	}
	wake(h.watchers[all])
}

// all is under which those wait who watch whatever changes.
var all = id.Nil

func wake(waiting map[chan struct{}]bool) {
	for c := range waiting {
		select {
		case c <- struct{}{}:
		default: // it has not looked since the last time, and will
		}
	}
}

// Watch calls look at once, after each change of the piece, and now and then, until ctx or
// stop ends or look fails.
func (h *Hub) Watch(ctx context.Context, stop <-chan struct{}, piece id.ID, look func(context.Context) error) error {
	told := make(chan struct{}, 1)
	h.add(piece, told)
	defer h.remove(piece, told)
	tick := time.NewTicker(Look)
	defer tick.Stop()
	for {
		if err := look(ctx); err != nil {
			return err
		}
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-stop:
			return nil
		case <-told:
		case <-tick.C:
		}
	}
}

// pace is how long at least those who watch whatever changes wait between two looks.
const pace = Look / 4

// WatchAll is Watch for whatever changes, but not more often than the pace: such a look costs more.
func (h *Hub) WatchAll(ctx context.Context, stop <-chan struct{}, look func(context.Context) error) error {
	return h.Watch(ctx, stop, all, func(ctx context.Context) error {
		if err := look(ctx); err != nil {
			return err
		}
		rest := time.NewTimer(pace)
		defer rest.Stop()
		select {
		case <-ctx.Done():
		case <-stop:
		case <-rest.C:
		}
		return nil
	})
}

func (h *Hub) add(piece id.ID, c chan struct{}) {
	h.mu.Lock()
	defer h.mu.Unlock()
	if h.watchers[piece] == nil {
		h.watchers[piece] = map[chan struct{}]bool{}
	}
	h.watchers[piece][c] = true
}

func (h *Hub) remove(piece id.ID, c chan struct{}) {
	h.mu.Lock()
	defer h.mu.Unlock()
	delete(h.watchers[piece], c)
	if len(h.watchers[piece]) == 0 {
		delete(h.watchers, piece)
	}
}
