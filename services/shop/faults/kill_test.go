package faults_test

import (
	"fmt"
	"time"

	"tackfree/services/shop/internal/client"
)

// A service is killed about every second, of a hundred times in a minute or two some 20 are left, and
// started again at once. The way back from the database is slow, so that some commands are done and
// not yet answered whenever that is; most are workflow's, and so it is killed every other time.
func servicesDie(x *trial) {
	x.open(setting{judges: producers(func([]string) fate { return fate{slow: x.dice.upTo(tardy)} })})
	x.floor.pace = hurry
	var slowest time.Duration
	kills := 0
	x.busy(func() {
		x.between(300*time.Millisecond, time.Second)
		name := "workflow"
		if kills%2 == 1 {
			name = client.Names[x.dice.below(len(client.Names))]
		}
		x.fleet.kill(name)
		x.fleet.start(x, name)
		slowest = max(slowest, x.fleet.ready(x, name))
		kills++
	})
	x.Logf("%d kills", kills)
	x.took("a start until it was ready", slowest, 2*time.Second)
	if x.floor.history.unsure == 0 {
		x.found("fault: no command was ever in doubt")
	}
	x.caughtUp(5 * time.Second)
	x.checkBooks()
}

// producers lets one judge all that the producers commit.
func producers(judge func([]string) fate) map[string]func([]string) fate {
	judges := map[string]func([]string) fate{}
	for _, name := range client.Producers {
		judges[name] = judge
	}
	return judges
}

// Each producer's relay dies over and over after it has published and before it marks what it
// published; and commits are held up, so that events are committed in another order than they were
// numbered in. Of 200 deaths in a minute or two some 20 are left.
func relaysDieAfterPublishing(x *trial) {
	x.open(setting{judges: producers(func([]string) (f fate) {
		if x.dice.oneIn(2) {
			f.late = x.dice.upTo(40 * time.Millisecond)
		}
		return f
	})})
	x.floor.pace = usualPace / 2
	for _, name := range client.Producers {
		x.again(name, x.deathSoon())
	}
	deaths := 0
	x.tend = func() { x.reviveAll(func() []string { return nil }) }
	x.busy(func() {
		deaths += x.reviveAll(func() []string { return []string{x.deathSoon()} })
		x.wait(5 * time.Millisecond)
	})
	for _, name := range client.Producers {
		x.again(name)
	}
	for _, name := range client.Producers {
		x.fleet.ready(x, name)
	}
	x.caughtUp(5 * time.Second)
	x.checkBooks()
	repeats := x.repeats()
	if x.Logf("%d deaths, %d repeats in the stream", deaths, repeats); deaths == 0 || repeats == 0 {
		x.found("fault: %d deaths left %d repeats", deaths, repeats)
	}
}

// again starts a service anew.
func (x *trial) again(name string, more ...string) {
	x.Helper()
	x.fleet.kill(name)
	x.fleet.start(x, name, more...)
}

// reviveAll starts the producers anew that have died, and counts them.
func (x *trial) reviveAll(with func() []string) (dead int) {
	x.Helper()
	for _, name := range client.Producers {
		if !x.fleet.process(name).running() {
			dead++
			x.again(name, with()...)
		}
	}
	return dead
}

// deathSoon is for a service that is to die after its relay has published a few times.
func (x *trial) deathSoon() string { return dieAfter + "=" + fmt.Sprint(5+x.dice.below(60)) }
