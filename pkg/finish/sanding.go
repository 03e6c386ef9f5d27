package finish

import (
	"fmt"
	"slices"

	"tackfree/pkg/fault"
)

// SandingSequence is the fewest grades from one to another, coarse to fine, that leave out
// no more than one grade at a time: of their scale, or of FEPA's where they are of two. Faults: GRIT_UNKNOWN,
// GRIT_BACKWARDS.
func SandingSequence(from, to Grit) ([]Grit, error) {
	if err := from.check(); err != nil {
		return nil, err
	}
	if err := to.check(); err != nil {
		return nil, err
	}
	if from != to && !to.finer(from) {
		return nil, fault.New(fault.Invalid, "GRIT_BACKWARDS", "%s is not finer than %s; wood is sanded from coarse to fine.", to, from).At("to")
	}
	rungs, at, end := ladders[FEPA], from.rung(), to.rung()
	if from.Scale == to.Scale {
		rungs = ladders[from.Scale]
		at, end = slices.Index(rungs, from), slices.Index(rungs, to)
	}
	sequence := []Grit{from}
	for at += 2; at < end; at += 2 {
		sequence = append(sequence, rungs[at])
	}
	if to != from {
		sequence = append(sequence, to)
	}
	return sequence, nil
}

// SandingFault is what is wrong at one place of a sequence.
type SandingFault struct {
	At  int // index of the grade
	Why string
}

// CheckSequence looks for grades that go back, or that leave out more than one: the
// scratches of the coarse grade then show through, most of all under stain. Fault:
// GRIT_UNKNOWN.
func CheckSequence(sequence []Grit) ([]SandingFault, error) {
	var faults []SandingFault
	for i, g := range sequence {
		if err := g.check(); err != nil {
			return nil, err
		}
		if i == 0 {
			continue
		}
		before := sequence[i-1]
		skipped := g.above(before) - 1
		switch {
		case !g.finer(before):
			faults = append(faults, SandingFault{i, fmt.Sprintf("%s is not finer than %s before it", g, before)})
		case skipped > 1:
			faults = append(faults, SandingFault{i, fmt.Sprintf("from %s to %s leaves out %d grades; the scratches of %s stay", before, g, skipped, before)})
		}
	}
	return faults, nil
}

// The last grade before what comes next. Sources: guides to refinishing agree on 150 to
// 220 before a stain that is to soak in; the others are common practice.
var (
	coarsestBeforeStain  = P(150)
	finestBeforeStain    = P(220)
	coarsestBetweenCoats = P(320)
	coarsestDulling      = P(180) // of what is not ours: an old film, laminate or metal
)

// FitForStain reports whether bare wood sanded to this grade takes a stain evenly: not so
// coarse that scratches show, not so fine that the grain is closed.
func (g Grit) FitForStain() bool {
	return !coarsestBeforeStain.finer(g) && !g.finer(Grit{CAMI, finestBeforeStain.Number})
}

// FitBetweenCoats reports whether it dulls a film without cutting through it.
func (g Grit) FitBetweenCoats() bool { return !coarsestBetweenCoats.finer(g) }
