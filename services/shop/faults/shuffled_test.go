package faults_test

import (
	"slices"
	"time"

	"tackfree/pkg/bus"
	"tackfree/services/shop/internal/client"
)

// copies is how often every event is sent.
const copies = 3

// Every event is sent three times, far enough apart that the broker does not know it again, and in
// no order: each copy waits for up to a second, in which a hundred others come and go.
func shuffledAndRepeated(x *trial) {
	x.open(setting{apart: client.Producers})
	p := x.post()
	var waiting []copied
	x.busy(func() {
		waiting = p.sendDue(p.copy(waiting))
		x.wait(20 * time.Millisecond)
	})
	// What a service still has to say by itself, of stock that runs short, comes after the commands.
	for until := time.Now().Add(15 * time.Second); len(waiting) > 0 || x.db.lag(x).behind > 0 && time.Now().Before(until); x.wait(20 * time.Millisecond) {
		waiting = p.sendDue(p.copy(waiting))
	}
	x.caughtUp(5 * time.Second)
	x.checkBooks()
	for event, n := range x.broker.kept(x) {
		if n != copies {
			x.Fatalf("event %s was sent %d times", event, n)
		}
	}
}

// copied is an event of which copies are to be sent, and when the next one is.
type copied struct {
	noted
	left int
	due  time.Time
}

// copy puts what is new among what waits.
func (p *post) copy(waiting []copied) []copied {
	for _, e := range p.fresh() {
		waiting = append(waiting, copied{e, copies, time.Now().Add(p.dice.upTo(time.Second))})
	}
	return waiting
}

// sendDue sends what is due, in any order, and returns what is to be sent later.
func (p *post) sendDue(waiting []copied) (later []copied) {
	now := time.Now()
	due := func(c copied) bool { return !c.due.After(now) }
	var messages []bus.Message
	for _, c := range waiting {
		if due(c) {
			messages = slices.Insert(messages, p.dice.below(len(messages)+1), c.message())
		}
	}
	p.send(messages...)
	for _, c := range waiting {
		if due(c) {
			c.left, c.due = c.left-1, time.Now().Add(3*duplicates+p.dice.upTo(time.Second))
		}
		if c.left > 0 {
			later = append(later, c)
		}
	}
	return later
}
