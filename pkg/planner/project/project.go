// Package project plans activities that share resources of limited capacity, with least and longest lags between
// their starts: the resource-constrained project scheduling problem, RCPSP and RCPSP/max. Trade, pure.
//
//	Project ─▶ Check ─▶ solver: bounds of starts on a trail, each with the bounds it follows from
//	              │       ├ lags: a start follows another by so much, both ways
//	              │       ├ usage: parts of time that activities take for certain; who does not fit beside waits
//	              │       ├ nogoods: what conflicts taught, watched by two bounds each
//	              │       └ learn: first unique implication point of a conflict ─▶ a nogood, and how far back
//	              └▶ Solve: two searches that meet after a fixed number of conflicts
//	                      ├ down: the earliest start first, then what was of weight in conflicts, near the best plan
//	                      └ up: whether the least makespan not yet refuted can be had ─▶ Result.Bound
//	Validate: the rules once more, by the starts alone; the search does not know it
//
// A bound is "activity a starts no earlier than t", or no later; the conjunction of some bounds that cannot be
// together is a nogood. Everything that is derived is derived from such bounds, so that a conflict can be traced back
// to those that matter and is never met again.
//
// Sources. Model: Bartusch, Möhring and Radermacher, Annals of Operations Research 16 (1988) 201-240. Method: Schutt,
// Feydy, Stuckey and Wallace, Constraints 16 (2011) 250-282 and Journal of Scheduling 16 (2013) 273-289. Learning:
// Marques-Silva and Sakallah, IEEE Transactions on Computers 48 (1999) 506-521; Moskewicz and others, DAC 2001.
// Restarts: Luby, Sinclair and Zuckerman, Information Processing Letters 47 (1993) 173-180.
package project

import "tackfree/pkg/fault"

// Activity is one thing to do, without interruption.
type Activity struct {
	Duration int   // 0 or more
	Demands  []int // of each resource, 0 or more
}

// Lag makes an activity start at least Min after another starts. A negative one is a longest lag the other way: the
// other starts at most -Min after it.
type Lag struct{ From, To, Min int }

// Project is what is to be planned; its makespan is when the last activity ends, from 0.
type Project struct {
	Activities []Activity
	Capacities []int // of each resource
	Lags       []Lag
}

// most bounds times and sums, so that no arithmetic overflows.
const most = 1 << 28

// Check says what is wrong with a project, or nil. Faults: PROJECT_MALFORMED.
func (p *Project) Check() error {
	for a := range p.Activities {
		if err := p.checkActivity(a); err != nil {
			return err
		}
	}
	for i, l := range p.Lags {
		if l.From < 0 || l.To < 0 || l.From >= len(p.Activities) || l.To >= len(p.Activities) || l.Min < -most || l.Min > most {
			return malformed("Lag %d is between activities %d and %d, of %d.", i, l.From, l.To, len(p.Activities))
		}
	}
	if len(p.Activities) == 0 || p.horizon() > most {
		return malformed("The project has %d activities and may take %d; it needs one, and less than %d.", len(p.Activities), p.horizon(), most)
	}
	return nil
}

func (p *Project) checkActivity(a int) error {
	it := p.Activities[a]
	if it.Duration < 0 || it.Duration > most || len(it.Demands) != len(p.Capacities) {
		return malformed("Activity %d takes %d and has demands of %d resources, of %d.", a, it.Duration, len(it.Demands), len(p.Capacities))
	}
	for r, d := range it.Demands {
		if d < 0 || d > most || p.Capacities[r] > most {
			return malformed("Activity %d wants %d of resource %d, which has %d.", a, d, r, p.Capacities[r])
		}
	}
	return nil
}

// horizon is a time before which a project that can be planned at all has a plan that ends: each activity adds at
// most its duration or the longest lag from it.
func (p *Project) horizon() (sum int) {
	longest := make([]int, len(p.Activities))
	for a, it := range p.Activities {
		longest[a] = it.Duration
	}
	for _, l := range p.Lags {
		if l.From < len(longest) && l.From >= 0 {
			longest[l.From] = max(longest[l.From], l.Min)
		}
	}
	for _, d := range longest {
		sum = min(sum+d, most+1)
	}
	return sum
}

func malformed(format string, args ...any) error {
	return fault.New(fault.Invalid, "PROJECT_MALFORMED", format, args...)
}
