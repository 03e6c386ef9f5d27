package faults_test

import (
	"time"
)

// Of twenty commits one is cut off: half of these never reach the database, and half are done and
// nobody hears of it. Whoever asks again under the same id has it done once.
func cutAtCommit(x *trial) {
	x.open(setting{judges: producers(func([]string) (f fate) {
		if x.dice.oneIn(20) {
			f.lost = x.dice.oneIn(2)
			f.deaf = !f.lost
		}
		return f
	})})
	x.busy(func() { x.wait(50 * time.Millisecond) })
	var struck int64
	for _, l := range x.links {
		struck += l.struck.Load()
	}
	if x.Logf("%d commits were cut off", struck); struck == 0 {
		x.found("fault: no commit was cut off")
	}
	x.caughtUp(5 * time.Second)
	x.checkBooks()
}
