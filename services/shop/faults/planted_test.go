//go:build planted

package faults_test

import (
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"tackfree/pkg/planted"
)

// plant is a bug, the scenario that must catch it, and by which checks.
type plant struct {
	bug    string
	in     string
	by     []string
	length time.Duration
}

// The longest first.
var plants = []plant{
	{"KeepNothing", "ServicesDie", []string{"effects"}, 6 * time.Second},
	{"AnswerBeforeCommit", "PostgresDies", []string{"effects"}, 5 * time.Second},
	{"IDCursor", "RelaysDieAfterPublishing", []string{"behind", "stream"}, 5 * time.Second},
	{"MarkBeforeAck", "BrokerDies", []string{"stream"}, 5 * time.Second},
	{"AckBeforeCommit", "BooksDieAtCommit", []string{"owed"}, 5 * time.Second},
	{"NoVersionCheck", "ShuffledAndRepeated", []string{"behind", "costs"}, 2 * time.Second},
	{"FloatMoney", "ShuffledAndRepeated", []string{"costs"}, 2 * time.Second},
	{"DropPoison", "Poison", []string{"poison"}, time.Second},
	{"BlockOnPoison", "Poison", []string{"poison"}, time.Second},
	{"KeepApart", "ManyAtOnceUnderOneID", []string{"effects"}, time.Second},
}

// TestPlanted runs each scenario with its bug, and fails when that is not caught.
func TestPlanted(t *testing.T) {
	// The client is part of this process, so its bug is everybody's here: it comes alone.
	planted.FreshRequestID = true
	t.Run("FreshRequestID", plant{"FreshRequestID", "CutAtCommit", []string{"effects"}, 3 * time.Second}.caught)
	planted.FreshRequestID = false
	sideBySide(atOnce, plants, func(p plant) { t.Run(p.bug, p.caught) })
}

// caught runs the scenario for a few seconds, and again if the bug happened to do no harm.
func (p plant) caught(t *testing.T) {
	for range 3 {
		x := newTrial(t, rand.Uint64N(1_000_000), p.length, p.bug)
		for _, s := range scenarios {
			if s.name == p.in {
				s.run(x)
			}
		}
		for _, what := range x.finds {
			if check, _, _ := strings.Cut(what, ":"); slices.Contains(p.by, check) {
				t.Logf("%s: %s", p.in, what)
				return
			}
		}
		t.Logf("%s did no harm; seed %d, found %q", p.bug, x.seed, x.finds)
	}
	t.Errorf("%s is not caught in %s", p.bug, p.in)
}
