// Package drying says when a wet film will be dry, from what its maker states, how the
// shop's air has been and will be, and how the product has dried here before. Trade, pure.
//
//	Reading, Reading, … ─┐
//	Cycle (what days are  ├─▶ Curve: dose over time ─┐
//	like) ────────────────┘    by Kinetics           ├─▶ Forecast: each Milestone as a
//	Product: stated times, film, Factor ─────────────┘    time with a range
//	Outcomes («tacky at», «dry at») ─▶ Stands: an Interval of each ─▶ Learn ─▶ Factor
//	«tacky at» ─▶ Still: that coat's Windows, behind it
//
// A stated time holds for the air it was stated for. In other air the film's clock runs
// faster or slower: dose is the integral of that rate, in hours, so that one hour at the
// reference is a dose of one. A film has passed a milestone when its dose has reached the
// stated time × how much its thickness slows it × the product's factor. A dose only grows,
// so a film never dries backwards.
package drying

import (
	"time"

	"tackfree/pkg/climate"
)

// Milestone is a state that a film reaches as it dries. Terms: ASTM D1640, FED-STD-141D.
type Milestone int

// The milestones. Recoat closes is the end of the time in which the next coat bonds
// without scuffing; not every product has one.
const (
	SetToTouch Milestone = iota
	TackFree
	DryToSand
	DryToRecoat
	RecoatCloses
	Cured
	milestones
)

var names = [milestones]string{"set to touch", "tack-free", "dry to sand", "dry to recoat", "recoat window closes", "cured"}

// String is the milestone in words.
func (m Milestone) String() string {
	if m < 0 || m >= milestones {
		return "unknown"
	}
	return names[m]
}

// Reading is the air at an instant.
type Reading struct {
	At  time.Time
	Air climate.Air
}
