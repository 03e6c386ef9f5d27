// Package live tells browsers that something changed, so that what they show is fetched anew.
//
//	workflow.WatchFloor ─▶ floor ┐
//	materials.WatchAlerts ▶ stock ├─▶ Hub ─▶ each browser that may know, over Server-Sent Events
//	costing.WatchShop ───▶ money ┘
//
// One stream of each subject serves all browsers of this copy of the gateway. The gateway may do nothing
// by itself: it watches with the access token of somebody who is connected and may, and with
// another's when they leave or the token is old. What is sent is only the subject's name; what changed
// a browser reads by its own right.
package live

import (
	"context"
	"log/slog"
	"sync"
	"time"

	"tackfree/pkg/clients"
	typev1 "tackfree/proto/tackfree/type/v1"
)

// subject is something that browsers can be told about, and whoever may know.
type subject struct {
	name   string
	least  typev1.Role
	follow func(ctx context.Context, s *clients.Suite, position string, told func(position string)) error
}

var subjects = []subject{
	{"floor", typev1.Role_ROLE_HELPER, followFloor},
	{"stock", typev1.Role_ROLE_LEAD, followStock},
	{"money", typev1.Role_ROLE_OWNER, followMoney},
}

// Hub serves all browsers of one copy of the gateway.
type Hub struct {
	Suite  *clients.Suite
	Logger *slog.Logger
	// Borrow gives a connected browser's access token, renewed; false when it has none any more.
	Borrow func(ctx context.Context, secret string) (context.Context, bool)

	mu       sync.Mutex
	browsers map[*browser]struct{}
	came     chan struct{} // closed when a browser comes
	stopped  chan struct{} // closed when Run ends
}

// browser is one that is connected.
type browser struct {
	role   typev1.Role
	secret string
	wake   chan struct{}
	mu     sync.Mutex
	due    map[string]bool // subjects that it has not been told of yet
	left   <-chan struct{}
}

// New makes a hub; Run lets it watch.
func New(h *Hub) *Hub {
	h.browsers, h.came = map[*browser]struct{}{}, make(chan struct{})
	h.stopped = make(chan struct{})
	return h
}

// Run watches each subject while somebody who may know is connected, until ctx ends.
func (h *Hub) Run(ctx context.Context) {
	context.AfterFunc(ctx, func() { close(h.stopped) })
	var running sync.WaitGroup
	for _, s := range subjects {
		running.Go(func() { h.watch(ctx, s) })
	}
	running.Wait()
}

// lent is how long one token watches before the next is borrowed: access that was taken away does not
// outlast it.
const lent = 4 * time.Minute

func (h *Hub) watch(ctx context.Context, s subject) {
	position := ""
	for ctx.Err() == nil {
		b, came := h.lender(s.least)
		if b == nil {
			position = "" // what changed meanwhile nobody shows
			select {
			case <-ctx.Done():
			case <-came:
			}
			continue
		}
		position = h.watchAs(ctx, s, b, position)
		pause(ctx, 200*time.Millisecond)
	}
}

// watchAs watches with a browser's token until that is old, the browser leaves, or the service does.
func (h *Hub) watchAs(ctx context.Context, s subject, b *browser, position string) string {
	as, ok := h.Borrow(ctx, b.secret)
	if !ok {
		pause(ctx, time.Second)
		return position
	}
	as, cancel := context.WithTimeout(as, lent)
	defer cancel()
	go func() {
		select {
		case <-b.left:
			cancel()
		case <-as.Done():
		}
	}()
	began := time.Now()
	err := s.follow(as, h.Suite, position, func(at string) {
		position = at
		h.tell(s)
	})
	if as.Err() == nil && err != nil {
		h.Logger.DebugContext(ctx, "a stream ended", "subject", s.name, "error", err)
		position = "" // it may be what the service no longer knows; browsers look at everything again
		h.tell(s)
		if time.Since(began) < time.Second {
			pause(ctx, time.Second)
		}
	}
	return position
}

// tell has each browser that may know told that a subject changed.
func (h *Hub) tell(s subject) {
	h.mu.Lock()
	defer h.mu.Unlock()
	for b := range h.browsers {
		if b.role >= s.least {
			b.tell(s.name)
		}
	}
}

func (b *browser) tell(name string) {
	b.mu.Lock()
	b.due[name] = true
	b.mu.Unlock()
	select {
	case b.wake <- struct{}{}:
	default: // it will look anyway
	}
}

// take gives what a browser is due, and makes it due nothing.
func (b *browser) take() map[string]bool {
	b.mu.Lock()
	defer b.mu.Unlock()
	due := b.due
	b.due = map[string]bool{}
	return due
}

// lender finds a browser whose token may watch; none: what is closed when another comes.
func (h *Hub) lender(least typev1.Role) (*browser, <-chan struct{}) {
	h.mu.Lock()
	defer h.mu.Unlock()
	for b := range h.browsers {
		if b.role >= least {
			return b, nil
		}
	}
	return nil, h.came
}

func (h *Hub) add(b *browser) {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.browsers[b] = struct{}{}
	close(h.came)
	h.came = make(chan struct{})
}

func (h *Hub) remove(b *browser) {
	h.mu.Lock()
	defer h.mu.Unlock()
	delete(h.browsers, b)
}

func pause(ctx context.Context, d time.Duration) {
	timer := time.NewTimer(d)
	defer timer.Stop()
	select {
	case <-ctx.Done():
	case <-timer.C:
	}
}
