package faults_test

import (
	"slices"
	"strings"
	"sync/atomic"
	"time"
)

// Costing dies at every third commit of what it booked: when it is about to commit, or when it has
// committed and not yet acknowledged. Of 400 deaths in a minute or two some 20 are left. What
// it has acknowledged, the books must have.
func booksDieAtCommit(x *trial) {
	struck := make(chan fate, 1)
	first, deaths := x.dice.oneIn(2), new(atomic.Int64)
	judge := func(sql []string) (f fate) {
		if !slices.ContainsFunc(sql, func(s string) bool { return strings.HasPrefix(s, "insert into applied") }) || !x.dice.oneIn(3) {
			return f
		}
		f.lost = first == (deaths.Add(1)%2 == 1) // in turns, so that a busy machine's few deaths are of both kinds
		f.deaf = !f.lost
		f.then = func() {
			x.fleet.kill("costing")
			struck <- f
		}
		return f
	}
	x.open(setting{judges: map[string]func([]string) fate{"costing": judge}})
	before, after, settled := 0, 0, x.broker.settled(x, "costing")
	revive := func(f fate) {
		if f.lost {
			before++
		} else {
			after++
		}
		x.checkOwed(settled())
		x.fleet.start(x, "costing")
	}
	x.tend = func() {
		select {
		case f := <-struck:
			revive(f)
		case <-time.After(50 * time.Millisecond):
		}
	}
	x.busy(x.tend)
	x.wait(200 * time.Millisecond)
	x.tend() // the last one, if it was on its way
	x.fleet.ready(x, "costing")
	if x.Logf("%d deaths before the commit, %d after", before, after); before == 0 || after == 0 {
		x.found("fault: it never died before a commit, or never after")
	}
	x.caughtUp(5 * time.Second)
	x.checkRedelivered()
	x.checkBooks()
}

// checkRedelivered waits until the broker has delivered again what nobody acknowledged, which it
// does after half a minute; that it did is the proof that something died.
func (x *trial) checkRedelivered() {
	x.Helper()
	if x.bug != "" {
		return // that is long, and by then it is known
	}
	for end := time.Now().Add(x.patience(35 * time.Second)); ; x.wait(100 * time.Millisecond) {
		info := x.broker.follower(x, "costing")
		if info.NumAckPending == 0 && info.NumPending == 0 {
			again := int64(info.Delivered.Consumer) - int64(info.Delivered.Stream)
			if x.Logf("%d deliveries were repeats", again); again <= 0 {
				x.found("fault: nothing was delivered again")
			}
			return
		}
		if time.Now().After(end) {
			x.found("owed: %d messages are still not acknowledged", info.NumAckPending)
			return
		}
	}
}
