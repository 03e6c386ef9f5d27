package planner

import "slices"

// ConstraintKind is a sort of constraint that can be in the way of an operation, and of what its index is.
type ConstraintKind int

// The kinds, those first that people can do the most about.
const (
	NobodyAble    ConstraintKind = iota // of an operation: it has no mode, or none that may use a station of it
	WorkerHours                         // of a worker: their calendar
	StationHours                        // of a station: its calendar
	LongestWait                         // of a lag: its Max
	EarliestStart                       // of an operation: its Earliest, a pin or what it waits for beside operations
	ReleaseDate                         // of a piece: its Release
	FixedWork                           // of an operation that is fixed: what it takes, and who waits for it
	Cleaning                            // of a station: its Changeover
	StationRoom                         // of a station: its Capacity
	OtherWork                           // of an operation: it is to get a place too, and what it waits for
	PlanHorizon                         // of nothing: the Horizon
)

// Constraint is one that can be lifted. That a person has one pair of hands, how long work takes and that
// something dries cannot.
type Constraint struct {
	Kind  ConstraintKind
	Index int // into what the kind says; 0 of the horizon
}

// Explain gives a smallest set of constraints that together leave no place for an operation, alone on the floor
// with what is fixed: it, what it waits for, and what longest waits tie to these. None of the set can be left out:
// were all others lifted, and any one of the set too, there would be a place. Of several such sets it gives one of
// what people can do the most about, in that order. A floor may have more than one: when the first is mended, ask
// again.
//
// Where it would fit alone, other work is taken in that wants the same hands or stations, up to mostRivals of what has the
// least time: what can no longer wait first.
//
// None: it fits with these too, and only more of other work is in the way; or it is fixed itself; or it could not be said
// within the allowance of mostLooks, which one call has for all that it asks. A set that is given was found within it, and
// holds. The same problem always has the same answer. Faults: PROBLEM_MALFORMED.
//
// Source: QuickXplain (Junker, Preferred explanations and relaxations for over-constrained problems, AAAI 2004, 167-172).
func Explain(p *Problem, op int) ([]Constraint, error) {
	if op < 0 || op >= len(p.Operations) {
		return nil, malformed("There is no operation %d.", op)
	}
	c, err := compile(p)
	if err != nil {
		return nil, err
	}
	if c.blockOf[op] < 0 {
		return nil, nil
	}
	e := &explainer{c: c, op: op, ops: c.needed(op), allowance: allowance{mostLooks}}
	e.own = e.ops
	e.all = e.liftable()
	if found, is := e.inWay(); is {
		return found, nil
	}
	for _, rival := range e.wanting() {
		e.beside(rival)
		if found, is := e.inWay(); is {
			return found, nil
		}
	}
	return nil, nil
}

// inWay gives a smallest set that leaves no place, or none where the allowance does not reach; false: there is a place.
func (e *explainer) inWay() (found []Constraint, is bool) {
	if e.possible(e.all) {
		return nil, false
	}
	if found = e.smallest(nil, false, e.all); e.spent() {
		return nil, true
	}
	return found, true
}

// Culprit gives the operation that a set of Explain is about more than all others: one of those that the explained one
// needs, or that are tied to it, that has no place even by itself where these are kept; else the explained one.
// Faults: PROBLEM_MALFORMED.
func Culprit(p *Problem, op int, found []Constraint) (int, error) {
	c, err := compile(p)
	if err != nil || len(found) == 0 || c.blockOf[op] < 0 {
		return op, err
	}
	all := &explainer{c: c, op: op, ops: c.needed(op), allowance: allowance{mostLooks}}
	all.own, all.all = all.ops, all.liftable()
	for _, x := range found {
		if x.Kind == OtherWork {
			return op, nil
		}
	}
	for _, o := range all.ops {
		alone := *all
		alone.ops = []int{o}
		if !alone.possible(found) && !alone.spent() {
			return o, nil
		}
	}
	return op, nil
}

// explainer asks of subsets of constraints whether some operations fit.
type explainer struct {
	c      *compiled
	op     int
	own    []int // it, what it waits for, and what longest waits tie to these
	rivals []int // other work that is taken in
	ops    []int // all of them with what they wait for, each after that
	all    []Constraint
	// Of each operation, how many others may go on while it does, and how many hands these take.
	others, hands []int
	allowance
}

// possible tells whether there is a place with these constraints kept and all others lifted. With nothing left of the
// allowance it says so of anything.
func (e *explainer) possible(kept []Constraint) bool {
	p := *e.c.Problem
	if e.spend(len(p.Operations) + len(p.Lags) + len(p.Fixed) + len(e.all)*len(kept)); e.spent() {
		return true
	}
	p.Workers, p.Stations, p.Pieces = slices.Clone(p.Workers), slices.Clone(p.Stations), slices.Clone(p.Pieces)
	p.Operations, p.Lags, p.Fixed = slices.Clone(p.Operations), slices.Clone(p.Lags), slices.Clone(p.Fixed)
	for _, x := range e.all {
		if !slices.Contains(kept, x) {
			p.lift(x)
		}
	}
	part := *e
	part.ops = e.keeping(kept)
	part.meanwhile()
	fits := part.fits(&p)
	e.allowance = part.allowance
	return fits
}

// smallest gives a smallest part of some constraints that leaves no place together with those before. All of
// them together leave none; added tells whether something was added to those before since that was asked.
func (e *explainer) smallest(before []Constraint, added bool, among []Constraint) []Constraint {
	if added && !e.possible(before) {
		return nil
	}
	if len(among) == 1 {
		return among
	}
	first, second := among[:len(among)/2], among[len(among)/2:]
	later := e.smallest(slices.Concat(before, first), true, second)
	return append(slices.Clone(e.smallest(slices.Concat(before, later), len(later) > 0, first)), later...)
}

// needed gives operations that are not fixed, what is tied to them, and what these wait for, in order.
func (c *compiled) needed(ops ...int) (all []int) {
	in := make([]bool, len(c.blocks))
	var visit func(b int)
	visit = func(b int) {
		if b < 0 || in[b] {
			return
		}
		in[b] = true
		for _, o := range c.blocks[b] {
			for _, l := range c.in[o] {
				visit(c.blockOf[c.Lags[l].From])
			}
		}
	}
	for _, op := range ops {
		visit(c.blockOf[op])
	}
	for _, o := range c.order {
		if b := c.blockOf[o]; b >= 0 && in[b] {
			all = append(all, o)
		}
	}
	return all
}
