package workflow

import (
	"slices"

	"tackfree/pkg/finish"
)

// doubtful is the body as if each old coating that nobody could tell came off, and whether there is one.
// A coating that the rules would keep may turn out to flake, or to hold wax or lead: half of such
// coatings come off. From memory.
func (b PlanBody) doubtful() (off PlanBody, there bool) {
	off = b
	off.Parts = slices.Clone(b.Parts)
	for i, p := range b.Parts {
		if p.OldFinish == finish.UnknownFinish {
			off.Parts[i].Bared, there = true, true
		}
	}
	return off, there
}

// or is the estimate of work that may as well be another: the mean of both, and a range that holds both.
// Products and findings stay those of the first, which is what a plan would be drafted like.
func (e Estimate) or(other Estimate) Estimate {
	e.Hands = Hands{Likely: (e.Hands.Likely + other.Hands.Likely) / 2, Low: min(e.Hands.Low, other.Hands.Low), High: max(e.Hands.High, other.Hands.High)}
	e.Learned = (e.Learned + other.Learned) / 2
	e.Days = max(e.Days, other.Days)
	e.Cautions = united(e.Cautions, other.Cautions)
	return e
}
