// Package feed gives what happens on the floor to whoever watches, as it happens.
//
//	commit here ──▶ wakes ─┐                              ┌─▶ watcher
//	commit elsewhere       ├─▶ Hub: one read of the log ──┼─▶ watcher      each from its place
//	        every 100 ms ──┘        for all ──▶ ring      └─▶ watcher      in the ring on
//
// What is read is put into sentences there and then, once for all who are given it.
//
// A watcher who comes from a position reads the log by itself until it has caught up, and
// joins the others then. Who has been given what is told by positions, of the hub and of the
// watcher, so that nothing is given twice and nothing is left out where they meet.
package feed

import (
	"context"
	"log/slog"
	"sync"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/outbox"
	eventsv1 "tackfree/proto/tackfree/events/v1"
)

// poll is how long what another copy of the service commits may stay unseen.
const poll = 100 * time.Millisecond

// batch is how many events are read at once, and kept is how many the ring holds: half a
// minute of a floor that gives fifty commands a second.
const (
	batch = 500
	kept  = 2048
)

// Hub reads the log for all who watch, and rests while nobody does.
type Hub struct {
	log    *outbox.Log
	read   func(context.Context, outbox.Position, int) (outbox.Batch, error) // of the log
	say    Say
	logger *slog.Logger
	wakes  <-chan struct{}
	came   chan struct{} // somebody began to watch

	mu       sync.Mutex
	watchers int
	awake    bool            // at and the ring hold
	at       outbox.Position // of who has been given all that was put into the ring
	ring     []Told
	next     uint64        // how many were put into the ring so far
	changed  chan struct{} // closed when more was put in, or the hub woke up
}

// Say puts events into sentences, one for each.
type Say func(ctx context.Context, events []*eventsv1.Envelope) ([]string, error)

// Told is an event, what it says, and where to go on after it.
type Told struct {
	outbox.Noted
	Text     string
	Position string
}

// NewHub makes a hub over a log.
func NewHub(log *outbox.Log, say Say, logger *slog.Logger) *Hub {
	return &Hub{log: log, read: log.After, say: say, logger: logger, wakes: log.Wakes(), came: make(chan struct{}, 1), changed: make(chan struct{})}
}

// Run reads the log until ctx ends. Trouble with the database is logged and tried again.
func (h *Hub) Run(ctx context.Context) {
	for ctx.Err() == nil {
		again, err := h.look(ctx)
		if err != nil && ctx.Err() == nil {
			h.logger.WarnContext(ctx, "the floor cannot be watched, trying again", "error", err)
		}
		if !again {
			h.wait(ctx)
		}
	}
}

// look reads what is new, if anybody watches, and reports whether there is more.
func (h *Hub) look(ctx context.Context) (again bool, err error) {
	watched, awake := h.rouse()
	switch {
	case !watched:
		return false, nil
	case !awake:
		return h.begin(ctx)
	}
	b, err := h.read(ctx, h.at, batch) // nobody else changes at
	if err != nil {
		return false, err
	}
	told, err := h.tellOf(ctx, b)
	if err != nil {
		return false, err
	}
	moved := !b.Now.Is(h.at)
	h.put(b.Now, told)
	return b.More && moved, nil
}

// rouse tells what there is to do, and goes to rest when nobody watches.
func (h *Hub) rouse() (watched, awake bool) {
	h.mu.Lock()
	defer h.mu.Unlock()
	if h.watchers == 0 {
		h.awake, h.ring = false, nil
	}
	return h.watchers > 0, h.awake
}

// begin goes on from now: who was told to wait for it has not joined yet.
func (h *Hub) begin(ctx context.Context) (bool, error) {
	at, err := h.log.Present(ctx)
	if err != nil {
		return false, err
	}
	h.mu.Lock()
	defer h.mu.Unlock()
	h.awake, h.at, h.ring, h.next = true, at, make([]Told, kept), 0
	h.tell()
	return true, nil
}

// tellOf is what a batch tells.
func (h *Hub) tellOf(ctx context.Context, b outbox.Batch) ([]Told, error) {
	if len(b.Events) == 0 {
		return nil, nil
	}
	events := make([]*eventsv1.Envelope, len(b.Events))
	for i, e := range b.Events {
		events[i] = e.Event
	}
	texts, err := h.say(ctx, events)
	if err != nil {
		return nil, err
	}
	told := make([]Told, len(b.Events))
	for i, e := range b.Events {
		told[i] = Told{e, texts[i], h.log.Token(e.After)}
	}
	return told, nil
}

// put puts what was read into the ring; of who has been given it is now.
func (h *Hub) put(now outbox.Position, told []Told) {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.at = now
	for _, t := range told {
		h.ring[h.next%kept] = t
		h.next++
	}
	if len(told) > 0 {
		h.tell()
	}
}

// tell wakes all who wait for a change.
func (h *Hub) tell() {
	close(h.changed)
	h.changed = make(chan struct{})
}

// wait waits until there may be something to read.
func (h *Hub) wait(ctx context.Context) {
	var tick <-chan time.Time
	wakes := h.wakes
	if watched, _ := h.rouse(); watched {
		timer := time.NewTimer(poll)
		defer timer.Stop()
		tick = timer.C
	} else {
		wakes = nil
	}
	select {
	case <-ctx.Done():
	case <-h.came:
	case <-wakes:
	case <-tick:
	}
}

// enter counts somebody who watches, until leave is called.
func (h *Hub) enter() (leave func()) {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.watchers++
	select {
	case h.came <- struct{}{}:
	default:
	}
	return func() {
		h.mu.Lock()
		defer h.mu.Unlock()
		h.watchers--
	}
}

// place is where the ring goes on from now; false while the hub is not awake. changed is
// closed when that, or what from gives, is another.
func (h *Hub) place() (next uint64, awake bool, changed <-chan struct{}) {
	h.mu.Lock()
	defer h.mu.Unlock()
	return h.next, h.awake, h.changed
}

// from gives up to so many events from a place in the ring on; none: wait for a change.
// Fault: WATCHER_SLOW, when they are not in the ring any more.
func (h *Hub) from(place uint64) (told []Told, changed <-chan struct{}, err error) {
	h.mu.Lock()
	defer h.mu.Unlock()
	if h.next-place > kept {
		return nil, nil, errSlow
	}
	for ; place < h.next && len(told) < batch; place++ {
		told = append(told, h.ring[place%kept])
	}
	return told, h.changed, nil
}

var errSlow = fault.New(fault.Exhausted, "WATCHER_SLOW",
	"More happened on the floor than was read here. Watch again from the last position.")

// Give is told of an event.
type Give func(Told) error
