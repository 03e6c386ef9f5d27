package planner

import (
	"cmp"
	"slices"
)

// mostRivals is how much other work is taken in, each with what it waits for.
const mostRivals = 3

// wanting gives the other work that wants the hands or stations of what is explained, of each block its first operation:
// what waits least long first.
func (e *explainer) wanting() (all []int) {
	for _, ops := range e.c.blocks {
		if !slices.Contains(e.own, ops[0]) && slices.ContainsFunc(ops, e.competes) {
			all = append(all, ops[0])
		}
	}
	slices.SortStableFunc(all, func(a, b int) int { return cmp.Compare(e.c.closes(a), e.c.closes(b)) })
	return all[:min(len(all), mostRivals)]
}

// closes is when the first window before a block closes that something fixed opened; where none does, the horizon.
func (c *compiled) closes(op int) Minute {
	first := c.Horizon
	for _, o := range c.blocks[c.blockOf[op]] {
		for _, l := range c.in[o] {
			for _, f := range c.Fixed {
				if lag := c.Lags[l]; lag.Max != Forever && lag.From == f.Operation {
					first = min(first, f.End+lag.Max)
				}
			}
		}
	}
	return first
}

// competes tells whether an operation may be at hands or a station that one of those explained may be at.
func (e *explainer) competes(op int) bool {
	hands, stations := e.c.wants(op)
	return slices.ContainsFunc(e.own, func(own int) bool {
		theirs, there := e.c.wants(own)
		e.spend(len(hands) + len(stations))
		return meet(hands, theirs) || meet(stations, there)
	})
}

func meet(a, b []int) bool {
	return slices.ContainsFunc(a, func(x int) bool { return slices.Contains(b, x) })
}

// wants gives whose hands an operation may take, and the stations.
func (c *compiled) wants(op int) (hands, stations []int) {
	o := &c.Operations[op]
	hands = slices.Clone(o.With)
	for _, m := range o.Modes {
		if m.Worker != NoWorker {
			hands = append(hands, m.Worker)
		}
	}
	return hands, o.Stations
}

// beside takes in other work.
func (e *explainer) beside(rival int) {
	if slices.Contains(e.ops, rival) {
		return // something taken in before waits for it
	}
	e.rivals = append(e.rivals, rival)
	e.ops = e.c.needed(append([]int{e.op}, e.rivals...)...)
	e.all = e.liftable()
}

// keeping gives the operations that get a place where only some constraints are kept.
func (e *explainer) keeping(kept []Constraint) []int {
	if len(e.rivals) == 0 {
		return e.ops
	}
	roots := []int{e.op}
	for _, r := range e.rivals {
		if slices.Contains(kept, Constraint{OtherWork, r}) {
			roots = append(roots, r)
		}
	}
	return e.c.needed(roots...)
}
