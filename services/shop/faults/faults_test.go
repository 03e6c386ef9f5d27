package faults_test

import (
	"math/rand/v2"
	"os"
	"strconv"
	"sync"
	"testing"
	"time"
)

// atOnce is how many scenarios run side by side: each is six processes that mostly wait.
const atOnce = 3

// A scenario is what goes wrong, and what must hold all the same.
type scenario struct {
	name string
	run  func(*trial)
}

// The longest first, so that they end together.
var scenarios = []scenario{
	{"BooksDieAtCommit", booksDieAtCommit},
	{"PostgresDies", postgresDies},
	{"ServicesDie", servicesDie},
	{"BrokerDies", brokerDies},
	{"RelaysDieAfterPublishing", relaysDieAfterPublishing},
	{"CutAtCommit", cutAtCommit},
	{"Poison", poison},
	{"ShuffledAndRepeated", shuffledAndRepeated},
	{"ManyAtOnceUnderOneID", manyAtOnceUnderOneID},
}

// TestFaults runs them for about 20 seconds each; TACKFREE_FAULTS_LENGTH says otherwise, and
// TACKFREE_FAULTS_SEED what seed to take.
func TestFaults(t *testing.T) {
	seed, length := rand.Uint64N(1_000_000), 20*time.Second
	if given := os.Getenv("TACKFREE_FAULTS_SEED"); given != "" {
		var err error
		if seed, err = strconv.ParseUint(given, 10, 64); err != nil {
			t.Fatal(err)
		}
	}
	if given := os.Getenv("TACKFREE_FAULTS_LENGTH"); given != "" {
		var err error
		if length, err = time.ParseDuration(given); err != nil {
			t.Fatal(err)
		}
	}
	sideBySide(atOnce, scenarios, func(s scenario) {
		t.Run(s.name, func(t *testing.T) {
			t.Logf("seed %d: TACKFREE_FAULTS_SEED=%[1]d brings it back", seed)
			x := newTrial(t, seed, length, "")
			s.run(x)
			for _, what := range x.finds {
				t.Error(what)
			}
		})
	})
}

// sideBySide does something with each of several, so many at a time, in their order. Parallel
// subtests would be one for each core, and wait for the machine most of the time.
func sideBySide[T any](n int, of []T, do func(T)) {
	next := make(chan T, len(of))
	for _, each := range of {
		next <- each
	}
	close(next)
	var all sync.WaitGroup
	for range n {
		all.Go(func() {
			for each := range next {
				do(each)
			}
		})
	}
	all.Wait()
}
