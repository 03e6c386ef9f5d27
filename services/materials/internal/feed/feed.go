// Package feed wakes those who watch what is told of alerts.
//
//	commit here ──▶ Tell ─┐
//	commit elsewhere      ├─▶ each watcher looks, from its own position on
//	        each second ──┘
//
// What is told stands in one table, at positions that follow each other without a gap and are
// seen in their order; so a watcher that remembers its position misses nothing and is told of
// nothing twice, whoever woke it and however often.
package feed

import (
	"context"
	"sync"
	"time"
)

// Look is how often a watcher looks by itself, for what another copy of the service has told.
const Look = time.Second

// Hub wakes watchers. The zero value is good.
type Hub struct {
	mu      sync.Mutex
	changed chan struct{} // closed at the next Tell; nil: nobody watches
}

// Tell wakes all who watch. It never waits for them.
func (h *Hub) Tell() {
	h.mu.Lock()
	defer h.mu.Unlock()
	if h.changed != nil {
		close(h.changed)
		h.changed = nil
	}
}

// next is closed at the next Tell.
func (h *Hub) next() <-chan struct{} {
	h.mu.Lock()
	defer h.mu.Unlock()
	if h.changed == nil {
		h.changed = make(chan struct{})
	}
	return h.changed
}

// Watch calls look at once, after each Tell, and now and then, until ctx or stop ends or look
// fails. What is told while it looks is looked for again.
func (h *Hub) Watch(ctx context.Context, stop <-chan struct{}, look func(context.Context) error) error {
	tick := time.NewTicker(Look)
	defer tick.Stop()
	for {
		changed := h.next()
		if err := look(ctx); err != nil {
			return err
		}
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-stop:
			return nil
		case <-changed:
		case <-tick.C:
		}
	}
}
