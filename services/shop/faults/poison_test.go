package faults_test

import (
	"fmt"
	"slices"
	"time"

	"google.golang.org/protobuf/proto"

	"tackfree/pkg/bus"
	"tackfree/pkg/caller"
	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	"tackfree/services/shop/internal/client"
)

// poisons are what may become of an event on its way, and whether the books then wait for somebody
// to mend it; else they fetch it from the log by themselves.
var poisons = []struct {
	what  string
	waits bool
	spoil func(*dice, noted, *bus.Message)
}{
	{"garbage", false, func(d *dice, _ noted, m *bus.Message) { m.Body = d.noise(200) }},
	{"two megabytes of it", false, func(d *dice, _ noted, m *bus.Message) { m.Body = d.noise(2 << 20) }},
	{"version 0", false, func(_ *dice, e noted, m *bus.Message) {
		m.Version, m.Body = 0, reworded(e, func(w *eventsv1.Envelope) { w.Version = 0 })
	}},
	{"another piece", false, func(_ *dice, _ noted, m *bus.Message) { m.Piece = id.New().String() }},
	{"a kind that nobody knows", true, func(_ *dice, e noted, m *bus.Message) {
		m.Body = reworded(e, func(w *eventsv1.Envelope) {
			w.Payload = nil
			w.ProtoReflect().SetUnknown([]byte{0xfa, 0x3e, 1, 0}) // field 1007, of one byte
		})
	}},
	{"a word that nobody knows", true, func(_ *dice, e noted, m *bus.Message) {
		m.Body = reworded(e, func(w *eventsv1.Envelope) {
			w.Payload = &eventsv1.Envelope_StockEntryUndone{StockEntryUndone: &eventsv1.StockEntryUndone{Purpose: "lent out"}}
		})
	}},
}

// reworded encodes an event otherwise than it was written.
func reworded(e noted, change func(*eventsv1.Envelope)) []byte {
	other := proto.Clone(e.Envelope).(*eventsv1.Envelope)
	change(other)
	body, err := proto.Marshal(other)
	if err != nil {
		panic(err)
	}
	return body
}

func (d *dice) noise(n int) []byte {
	b := make([]byte, n)
	for i := range b {
		b[i] = byte(d.below(256))
	}
	return b
}

// While people work on, an event of each of some other pieces is spoilt on its way. Each is put
// aside once. What can be mended from the log is; the pieces of the others are provisional until
// somebody asks for it. The books follow everything else as fast as ever.
func poison(x *trial) {
	x.open(setting{apart: client.Producers})
	r, nell, rounds := x.post().relay(), x.floor.hand("Nell", 100), 0
	usual := x.probe(x.floor.hand("Sam", 101))
	x.busy(func() {
		x.poisonRound(r, nell)
		rounds++
	})
	x.Logf("%d rounds of %d poisons", rounds, len(poisons)+1)
	x.took("the cost of other work, in nine of ten times,", usual(), time.Second)
	x.caughtUp(5 * time.Second)
	r.stop()
	x.checkBooks()
}

// poisonRound spoils one event of each of several pieces, and mends it.
func (x *trial) poisonRound(r *relaying, h *hand) {
	x.Helper()
	pieces := x.victims(h)
	var spoilt []noted
	for i, piece := range pieces {
		r.keep(piece)
		h.test("pieces/" + piece)
		e, there := r.held(piece)
		if !there {
			return
		}
		m := e.message()
		poisons[i].spoil(x.dice, e, &m)
		r.send(m)
		spoilt = append(spoilt, e)
	}
	stray := bus.Message{EventID: h.request(), Producer: "workflow", Type: "clocked_off", Body: x.dice.noise(50)} // of nothing that is known
	r.send(stray)
	x.asideOnce(append(spoilt, noted{Envelope: &eventsv1.Envelope{EventId: stray.EventID}, states: "a stray"}))
	for i, piece := range pieces {
		c, err := x.fleet.shop.Costing.GetPieceCost(x.Context(), &costingv1.GetPieceCostRequest{Piece: "pieces/" + piece})
		if poisons[i].waits && (err != nil || !c.PieceCost.Provisional) {
			x.found("poison: a piece with %s is shown as if nothing were missing: %v, %v", poisons[i].what, c.GetPieceCost(), err)
		}
	}
	x.repair()
	for _, piece := range pieces {
		r.release(piece)
	}
}

// asideOnce waits until each of some events has been put aside, and checks that it was once.
func (x *trial) asideOnce(events []noted) {
	x.Helper()
	var want []string
	for _, e := range events {
		want = append(want, e.EventId)
	}
	for end := time.Now().Add(x.patience(3 * time.Second)); ; x.wait(20 * time.Millisecond) {
		var letters, different int
		x.db.row(x, `SELECT count(*), count(DISTINCT event_id) FROM costing.dead WHERE event_id = ANY ($1)`, []any{want}, &letters, &different)
		if letters == len(want) && different == len(want) {
			return
		}
		if letters > different || time.Now().After(end) {
			x.found("poison: of %d spoilt messages %d are put aside, in %d letters", len(want), different, letters)
			return
		}
	}
}

// repair retries all dead letters until there are none.
func (x *trial) repair() {
	x.Helper()
	var why string
	for end := time.Now().Add(x.patience(3 * time.Second)); time.Now().Before(end); x.wait(20 * time.Millisecond) {
		r, err := x.fleet.shop.Books.ListDeadLetters(x.Context(), &costingv1.ListDeadLettersRequest{PageSize: 100})
		if err != nil {
			x.Fatal(err)
		}
		if len(r.DeadLetters) == 0 {
			return
		}
		for _, l := range r.DeadLetters {
			_, err := x.fleet.shop.Books.RetryDeadLetter(caller.With(x.Context(), caller.Caller{Actor: owner}), &costingv1.RetryDeadLetterRequest{RequestId: id.New().String(), Name: l.Name})
			if err != nil && !fault.Is(err, "DEAD_LETTER_NOT_FOUND") { // it was mended meanwhile
				why = fmt.Sprintf("%s: %v", l.Error, err)
			}
		}
	}
	x.found("poison: a dead letter stays open although it was retried: %s", why)
}

// victims takes in a piece for each poison, and waits until the books know them.
func (x *trial) victims(h *hand) (pieces []string) {
	x.Helper()
	for len(pieces) < len(poisons) {
		if piece, ok := h.buy(); ok {
			pieces = append(pieces, piece[len("pieces/"):])
		}
	}
	x.until("the books know new pieces", 5*time.Second, func() bool {
		return !slices.ContainsFunc(pieces, func(piece string) bool {
			_, err := x.fleet.shop.Costing.GetPieceCost(x.Context(), &costingv1.GetPieceCostRequest{Piece: "pieces/" + piece})
			return err != nil
		})
	})
	return pieces
}
