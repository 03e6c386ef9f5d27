package faults_test

import (
	"context"
	"math/rand/v2"
	"time"

	moneyv1 "google.golang.org/genproto/googleapis/type/money"
	"google.golang.org/grpc"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/caller"
	"tackfree/pkg/id"
	"tackfree/pkg/once"
)

// usualPace is how fast people work where nothing else is said.
const usualPace = 70 * time.Millisecond

// Where a fault is to come upon commands between their commit and their answer, people hurry and
// commits are tardy, so that most of the time somebody's is there.
const (
	hurry = 10 * time.Millisecond
	tardy = 100 * time.Millisecond
)

// hand is somebody who gives commands, one after the other.
type hand struct {
	*floor
	name   string
	random *rand.Rand
	at     time.Time // by their own account of the day
}

func (f *floor) hand(name string, n uint64) *hand {
	return &hand{floor: f, name: name, random: rand.New(rand.NewPCG(f.seed, n)), at: f.opening}
}

// request makes a request id.
func (h *hand) request() string {
	var b id.ID
	for i := range b {
		b[i] = byte(h.random.IntN(256))
	}
	b[6], b[8] = b[6]&0x0f|0x40, b[8]&0x3f|0x80 // a random UUID, RFC 9562
	return b.String()
}

// give gives a command that brings one event about, and again under the same id until it is answered
// or refused. One time in twenty they give up at once, and nobody tries for ever.
func give[Q once.Command, R any](h *hand, states string, r Q, call func(context.Context, Q, ...grpc.CallOption) (R, error)) (answer R, ok bool) {
	return giveFor(h, states, 1, r, call)
}

// giveFor is give for a command that brings several events about.
func giveFor[Q once.Command, R any](h *hand, states string, events int, r Q, call func(context.Context, Q, ...grpc.CallOption) (R, error)) (answer R, ok bool) {
	giveUp := time.Now().Add(30 * time.Second)
	if h.random.IntN(20) == 0 {
		giveUp = time.Now()
	}
	h.history.begin(r.GetRequestId(), states, events)
	for {
		ctx, cancel := context.WithTimeout(caller.With(h.ctx, caller.Caller{Actor: h.name}), 10*time.Second)
		answer, err := call(ctx, r)
		cancel()
		if again := h.history.note(r.GetRequestId(), err); !again || time.Now().After(giveUp) {
			return answer, err == nil
		}
		h.pause(time.Duration(50+h.random.IntN(100)) * time.Millisecond)
	}
}

// pause lets some time pass, as people do.
func (h *hand) pause(d time.Duration) {
	select {
	case <-h.ctx.Done():
	case <-time.After(d):
	}
}

func (h *hand) rest() { h.pause(h.pace) }

// later goes on in the day by up to so long, in whole milliseconds.
func (h *hand) later(atMost time.Duration) *timestamppb.Timestamp {
	h.at = h.at.Add(time.Duration(1+h.random.Int64N(atMost.Milliseconds())) * time.Millisecond)
	h.with(func() {
		if h.at.After(h.latest) {
			h.latest = h.at
		}
	})
	return timestamppb.New(h.at)
}

// one picks one of several.
func one[T any](h *hand, of []T) (picked T, ok bool) {
	if len(of) == 0 {
		return picked, false
	}
	return of[h.random.IntN(len(of))], true
}

// cents makes money of minor units.
func cents(n int64) *moneyv1.Money {
	return &moneyv1.Money{CurrencyCode: currency, Units: n / 100, Nanos: int32(n % 100 * 10_000_000)}
}

// pick picks one of a list.
func (h *hand) pick(list *[]string) (picked string, ok bool) {
	h.with(func() { picked, ok = one(h, *list) })
	return picked, ok
}

// take picks one of a list and takes it off.
func (h *hand) take(list *[]string) (taken string, ok bool) {
	h.with(func() {
		if ok = len(*list) > 0; ok {
			i := h.random.IntN(len(*list))
			taken = (*list)[i]
			*list = append((*list)[:i], (*list)[i+1:]...)
		}
	})
	return taken, ok
}
