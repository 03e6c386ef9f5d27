package faults_test

import (
	"math/rand/v2"
	"sync"
	"testing"
	"time"

	"tackfree/services/shop/internal/client"
)

// trial is one run of a scenario: a shop of its own, and what was found wrong with it.
type trial struct {
	*testing.T
	seed   uint64
	length time.Duration // of the work, while things go wrong
	bug    string        // that is planted; empty: none

	db     *database
	broker *broker
	fleet  *fleet
	floor  *floor
	links  map[string]*link
	apart  []string // services that have no broker

	dice  *dice  // what goes wrong
	tend  func() // done over and over once nothing goes wrong any more, while people finish what they are at
	mu    sync.Mutex
	finds []string
}

func newTrial(t *testing.T, seed uint64, length time.Duration, bug string) *trial {
	return &trial{T: t, seed: seed, length: length, bug: bug, dice: &dice{random: rand.New(rand.NewPCG(seed, 1000))}}
}

// setting is how the shop of a scenario differs from others.
type setting struct {
	own    bool                           // a Postgres of its own
	apart  []string                       // services that have no broker
	judges map[string]func([]string) fate // of the commits of a service, whose link they stand for
}

// open opens the shop and lays it out. Nothing goes wrong yet.
func (x *trial) open(s setting) {
	x.Helper()
	x.apart, x.links = s.apart, map[string]*link{}
	if s.own {
		x.db = ownDatabase(x)
	} else {
		x.db = sharedDatabase(x)
	}
	x.Cleanup(x.db.close)
	for name, judge := range s.judges {
		x.links[name] = newLink(x, x.db, judge)
	}
	x.broker = startBroker(x)
	x.fleet = newFleet(x, x.db, x.broker, x.links, s.apart, x.bug)
	var err error
	if x.floor, err = newFloor(x.Context(), x.fleet.shop, x.seed); err != nil {
		x.Fatal(err)
	}
}

// arm lets the links do what they are there for, or not.
func (x *trial) arm(armed bool) {
	for _, l := range x.links {
		l.armed.Store(armed)
	}
}

// busy lets everybody work for the length of the trial while fault is done over and over, and the
// links do what they are there for; then it lets people finish what they are at.
func (x *trial) busy(fault func()) {
	x.Helper()
	stop, stopped := x.floor.busy(), make(chan struct{})
	x.arm(true)
	for end := time.Now().Add(x.length); time.Now().Before(end); {
		fault()
	}
	x.arm(false)
	go func() {
		stop()
		close(stopped)
	}()
	for {
		select {
		case <-stopped:
			x.Log(x.floor.history.summary())
			return
		case <-time.After(10 * time.Millisecond):
			if x.tend != nil {
				x.tend()
			}
		}
	}
}

// ask asks until it is answered: somebody may just have started again.
func (x *trial) ask(question func() error) {
	x.Helper()
	var err error
	for end := time.Now().Add(x.patience(10 * time.Second)); time.Now().Before(end); x.wait(50 * time.Millisecond) {
		if err = question(); err == nil {
			return
		}
	}
	x.Fatal(err)
}

// wait lets time pass in which the others work.
func (x *trial) wait(d time.Duration) {
	select {
	case <-x.Context().Done():
	case <-time.After(d):
	}
}

// between waits for some time between two.
func (x *trial) between(least, most time.Duration) { x.wait(least + x.dice.upTo(most-least)) }

// until polls until something is so, and reports whether it came to that.
func (x *trial) until(what string, right time.Duration, so func() bool) bool {
	x.Helper()
	for end := time.Now().Add(x.patience(right)); !so(); x.wait(10 * time.Millisecond) {
		if time.Now().After(end) {
			x.found("never: %s", what)
			return false
		}
	}
	return true
}

// patience is how long something is waited for that should take so long. With a bug planted that is
// all, for then it may never come.
func (x *trial) patience(right time.Duration) time.Duration {
	if x.bug != "" {
		return right
	}
	return patience * right
}

// took finds what took longer than patience has it.
func (x *trial) took(what string, d, right time.Duration) {
	x.Helper()
	x.Logf("%s took %v at most, %v is right", what, d.Round(time.Millisecond), right)
	if d > x.patience(right) && x.bug == "" {
		x.found("slow: %s took %v, and %v is right", what, d, right)
	}
}

// memory notes what the services' processes hold, and returns a check that they hold not much more
// later: half as much again, and what the race detector keeps of every goroutine there was.
func (x *trial) memory() (check func()) {
	before := map[string]int64{}
	for _, name := range client.Names {
		before[name] = x.fleet.resident(name)
	}
	return func() {
		for name, was := range before {
			is := x.fleet.resident(name)
			x.Logf("%s held %d MiB before and %d MiB after", name, was>>20, is>>20)
			if is > was+was/2+64<<20 {
				x.found("memory: %s held %d MiB before and holds %d MiB", name, was>>20, is>>20)
			}
		}
	}
}

// dice is a seeded source for several at once.
type dice struct {
	mu     sync.Mutex
	random *rand.Rand
}

// oneIn is true once in so many times.
func (d *dice) oneIn(n int) bool { return d.below(n) == 0 }

// below is a number from 0 to n-1.
func (d *dice) below(n int) int {
	d.mu.Lock()
	defer d.mu.Unlock()
	return d.random.IntN(n)
}

// upTo is a length of time below another.
func (d *dice) upTo(most time.Duration) time.Duration { return time.Duration(d.below(int(most))) }
