package faults_test

import (
	"log/slog"
	"sync"
	"time"

	"tackfree/pkg/bus"
)

// post is the test itself in the relays' place: it reads the producers' logs, and sends what it
// likes when it likes.
type post struct {
	*trial
	bus  *bus.Bus
	read map[string]int64 // of each producer, up to where all has been read for sure
	seen map[string]bool  // the ids of the events that have been read
}

func (x *trial) post() *post {
	x.Helper()
	b, err := bus.Connect(x.broker.url(), slog.New(slog.DiscardHandler))
	if err != nil {
		x.Fatal(err)
	}
	x.Cleanup(b.Close)
	return &post{trial: x, bus: b, read: map[string]int64{}, seen: map[string]bool{}}
}

// fresh reads what has been written since the last time. Ids are committed in any order, so it looks
// back over the last hundred: more are not under way at once.
func (p *post) fresh() (all []noted) {
	p.Helper()
	for _, e := range p.db.events(p, p.read) {
		p.read[e.Producer] = max(p.read[e.Producer], e.id-100)
		if !p.seen[e.EventId] {
			p.seen[e.EventId] = true
			all = append(all, e)
		}
	}
	return all
}

// send publishes messages in the order given.
func (p *post) send(messages ...bus.Message) {
	p.Helper()
	for len(messages) > 0 {
		n := min(len(messages), 1000)
		if _, err := p.bus.Publish(p.Context(), messages[:n]); err != nil {
			p.Fatal(err)
		}
		messages = messages[n:]
	}
}

// message is an event as its relay would send it.
func (n noted) message() bus.Message {
	return bus.Message{EventID: n.EventId, Producer: n.Producer, Type: n.states, Aggregate: n.AggregateId, Version: n.Version, Piece: n.PieceId, Body: n.body}
}

// relaying is a post that sends everything at once, but for what it holds.
type relaying struct {
	*post
	stop func()

	mu   sync.Mutex
	hold map[string][]noted // by piece: its events since it is held
}

// relay relays until stop is called.
func (p *post) relay() *relaying {
	r := &relaying{post: p, hold: map[string][]noted{}}
	over := make(chan struct{})
	var running sync.WaitGroup
	running.Go(func() {
		for {
			select {
			case <-over:
				return
			case <-time.After(10 * time.Millisecond):
				r.step()
			}
		}
	})
	r.stop = func() {
		close(over)
		running.Wait()
	}
	return r
}

func (r *relaying) step() {
	var messages []bus.Message
	r.mu.Lock()
	for _, e := range r.fresh() {
		if of, held := r.hold[e.PieceId]; held {
			r.hold[e.PieceId] = append(of, e)
		} else {
			messages = append(messages, e.message())
		}
	}
	r.mu.Unlock()
	r.send(messages...)
}

// keep holds what comes of a piece from now on.
func (r *relaying) keep(piece string) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.hold[piece] = nil
}

// held waits for the first event that is held of a piece.
func (r *relaying) held(piece string) (e noted, there bool) {
	r.until("an event of the piece", 2*time.Second, func() bool {
		r.mu.Lock()
		defer r.mu.Unlock()
		if there = len(r.hold[piece]) > 0; there {
			e = r.hold[piece][0]
		}
		return there
	})
	return e, there
}

// release sends what was held of a piece.
func (r *relaying) release(piece string) {
	r.mu.Lock()
	held := r.hold[piece]
	delete(r.hold, piece)
	r.mu.Unlock()
	for _, e := range held {
		r.send(e.message())
	}
}
