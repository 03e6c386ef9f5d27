package faults_test

import (
	"fmt"
	"maps"
	"slices"
	"time"

	costingv1 "tackfree/proto/tackfree/costing/v1"
)

// caughtUp waits until nobody is behind, and finds it if that takes longer than it should.
func (x *trial) caughtUp(within time.Duration) {
	x.Helper()
	since := time.Now()
	for {
		l := x.db.lag(x)
		if x.apart != nil {
			l.unsent = 0 // nobody is there to whom they could be sent
		}
		if l == (lag{}) {
			x.Logf("nobody was behind after %v, within %v is right", time.Since(since).Round(time.Millisecond), within)
			return
		}
		if time.Since(since) > x.patience(within) {
			x.found("behind: %v, %v after", l, time.Since(since).Round(time.Second))
			return
		}
		x.wait(20 * time.Millisecond)
	}
}

// checkBooks is what every scenario ends with.
func (x *trial) checkBooks() {
	x.Helper()
	x.checkEffects()
	x.checkTables()
	x.checkCosts()
	for _, tell := range x.fleet.secrets(x) {
		x.found("secret: %s", tell)
	}
	if x.apart == nil {
		x.checkStream()
	}
}

// checkEffects: a command that was answered has brought its event about once, one that was refused
// nothing, and one of which nobody knows once or nothing. Nothing comes of a command that nobody gave.
func (x *trial) checkEffects() {
	x.Helper()
	all, states := map[string]int{}, map[string]int{}
	for _, e := range x.db.events(x, nil) {
		all[e.RequestId]++
		states[e.RequestId+e.states]++
	}
	delete(all, "") // what happens by itself
	for _, d := range x.floor.history.deeds {
		n, rest := states[d.request+d.states], all[d.request]
		delete(all, d.request)
		switch {
		case d.states == "":
		case d.outcome == done && n != d.events:
			x.found("effects: %s was answered, and brought %d events about, not %d (request %s)", d.states, n, d.events, d.request)
		case d.outcome == unknown && n != d.events && rest > 0:
			x.found("effects: of %s nobody knows, and it brought %d events about, not %d or none (request %s)", d.states, n, d.events, d.request)
		case d.outcome == refused && rest > 0:
			x.found("effects: %s was refused, and brought %d events about (request %s: %s)", d.states, rest, d.request, d.why)
		}
	}
	if len(all) > 0 {
		x.found("effects: %d commands that nobody gave were done", len(all))
	}
}

// checkTables looks at what the producers' tables must be whatever was done. Most of it is
// constraints of the database too: they are not believed here.
func (x *trial) checkTables() {
	x.Helper()
	for what, sql := range map[string]string{
		"versions: of %d things are not 1, 2, 3 …": eachProducer(`SELECT '%[1]s', aggregate_id FROM %[1]s.event GROUP BY aggregate_id HAVING min(version) <> 1 OR max(version) <> count(*)`),
		"clocks: %d pairs of entries of a person overlap": `SELECT FROM workflow.clock_entry a JOIN workflow.clock_entry b ON a.person_id = b.person_id AND a.id < b.id
			AND a.started_at < coalesce(b.ended_at, 'infinity') AND b.started_at < coalesce(a.ended_at, 'infinity')
			WHERE NOT (a.superseded OR b.superseded OR a.held OR b.held)`,
		"stock: of %d products there is not what came less what went": `SELECT FROM materials.product p LEFT JOIN materials.movement m ON m.product_id = p.id
			GROUP BY p.id HAVING p.on_hand <> coalesce(sum(m.quantity), 0) OR p.value <> coalesce(sum(m.cost), 0) OR p.on_hand < 0`,
		"stock: of %d lots there is not what came less what went": `SELECT FROM materials.lot l LEFT JOIN materials.movement m ON m.lot_id = l.id
			GROUP BY l.id HAVING l.quantity_left <> coalesce(sum(m.quantity), 0) OR l.quantity_left < 0`,
		"sales: %d pieces are sold twice": `SELECT FROM sales.sale WHERE NOT piece_returned GROUP BY piece_id HAVING count(*) > 1`,
	} {
		var n int
		if x.db.row(x, `SELECT count(*) FROM (`+sql+`) AS broken`, nil, &n); n > 0 {
			x.found(what, n)
		}
	}
}

// checkCosts compares each cost sheet with the fold, and lets the books prove themselves.
func (x *trial) checkCosts() {
	x.Helper()
	var rates map[string]int64
	var n int
	var got map[string]sheet
	var proof *costingv1.VerifyResponse
	x.ask(func() (err error) { rates, n, err = lastRates(x.Context(), x.fleet.shop); return err })
	x.ask(func() (err error) { got, err = booked(x.Context(), x.fleet.shop); return err })
	x.ask(func() (err error) {
		proof, err = x.fleet.shop.Books.Verify(x.Context(), &costingv1.VerifyRequest{})
		return err
	})
	if least, most := x.floor.history.count(""); n < least || n > most {
		x.found("effects: %d pay rates were recorded, and %d to %d were set", n, least, most)
	}
	want := x.db.folded(x, rates)
	for _, piece := range slices.Sorted(maps.Keys(want)) {
		if !maps.Equal(got[piece], want[piece]) {
			x.found("costs: the books say %v of %s, and its entries come to %v", got[piece], piece, want[piece])
		}
	}
	if len(got) != len(want) {
		x.found("costs: the books have %d pieces, and there are %d", len(got), len(want))
	}
	for _, d := range proof.Differences {
		x.found("verify: %s", d)
	}
	x.Logf("%d events, %d lines in the ledger, %d pieces", proof.Events, proof.LedgerLines, len(got))
}

// checkStream: whatever a relay takes for sent is in the stream.
func (x *trial) checkStream() {
	x.Helper()
	copies, lost := x.broker.kept(x), 0
	for _, e := range x.db.events(x, nil) {
		if copies[e.EventId] == 0 {
			lost++
		}
		delete(copies, e.EventId)
	}
	if lost > 0 {
		x.found("stream: %d events are marked as sent, and the stream does not hold them", lost)
	}
	if len(copies) > 0 {
		x.found("stream: it holds %d events that never were", len(copies))
	}
}

// repeats counts the copies in the stream beside the first of each event.
func (x *trial) repeats() (n int) {
	for _, copies := range x.broker.kept(x) {
		n += copies - 1
	}
	return n
}

// found notes what is wrong; that fails the test, unless it was planted.
func (x *trial) found(format string, args ...any) {
	x.mu.Lock()
	defer x.mu.Unlock()
	x.finds = append(x.finds, fmt.Sprintf(format, args...))
}
