package planner

import "math"

// Rule is how Dispatch weighs what could begin.
type Rule struct {
	// Patience (minutes) is how far ahead a promise begins to press.
	Patience float64
	// Look (minutes) is how much later than the first something may begin to be taken before it.
	Look float64
}

// rules are tried one after the other; which is best differs from floor to floor.
var rules = []Rule{{1750, 60}, {3000, 60}, {1000, 60}, {5000, 150}, {1750, 150}, {10000, 60}, {500, 150}}

// atOnce is about how many operations are placed before an answer: of a large floor fewer rules are tried.
const atOnce = 6000

// Dispatch makes a plan by each of some rules and gives the best. It is the same each time. Faults:
// PROBLEM_MALFORMED.
func Dispatch(p *Problem) (*Plan, error) {
	c, err := inSlots(p)
	if err != nil {
		return nil, err
	}
	d := newDispatcher(newFloor(c))
	return d.best(someRules(len(p.Operations))), nil
}

func someRules(operations int) []Rule {
	return rules[:max(1, min(len(rules), atOnce/max(1, operations)))]
}

// dispatcher places blocks in the order of time, those that could begin soonest before others and of
// them the most urgent.
type dispatcher struct {
	*floor
	rule  Rule  // in slots
	waits []int // of each block: operations outside it that are not placed yet
	ready []waiting
	near  []int32 // of these, the indices of those that could begin before until, and about then
	until int
	left  []Unplaced
	dead  []bool    // blocks that fit nowhere, or wait for one that does
	bonus []float64 // of each piece, what is added to its urgency
	press []float64 // of each piece, the logarithm of its weight
	after func(block int) bool
}

// waiting is a block that could begin, at the earliest at so and so.
type waiting struct {
	block, at int
	epoch     int // of what it needs, when that was found; -1: nobody looked
	urgency   float64
}

// newDispatcher makes one that goes on from what is on a floor.
func newDispatcher(f *floor) *dispatcher {
	d := &dispatcher{floor: f, waits: make([]int, len(f.blocks)), dead: make([]bool, len(f.blocks)),
		bonus: make([]float64, len(f.Pieces)), press: make([]float64, len(f.Pieces))}
	for i, p := range f.Pieces {
		d.press[i] = math.Log(p.Weight)
	}
	d.recount()
	return d
}

// recount counts again what each block waits for.
func (d *dispatcher) recount() {
	clear(d.waits)
	for b, ops := range d.blocks {
		for _, op := range ops {
			for _, l := range d.in[op] {
				if from := d.Lags[l].From; !d.placed[from] && d.blockOf[from] != b {
					d.waits[b]++
				}
			}
		}
	}
}

// best gives the best of the plans by some rules. The floor holds the last of them.
func (d *dispatcher) best(rules []Rule) (best *Plan) {
	for i, r := range rules {
		if i > 0 {
			d.clear()
		}
		d.rule = d.slots(r)
		d.all()
		if plan := d.made(d.left); best == nil || len(plan.Left) < len(best.Left) || (len(plan.Left) == len(best.Left) && plan.Objective.Less(best.Objective)) {
			best = plan
		}
	}
	return best
}

// slots gives a rule in slots.
func (c *compiled) slots(r Rule) Rule {
	step := float64(c.step)
	return Rule{r.Patience / step, max(1, r.Look/step)}
}

// clear lifts all that is not fixed.
func (d *dispatcher) clear() {
	for _, ops := range d.blocks {
		for _, op := range ops {
			if d.placed[op] {
				d.lift(op)
			}
		}
	}
	clear(d.dead)
	d.left = nil
	d.recount()
}

// all places whatever is not placed.
func (d *dispatcher) all() {
	d.hot()
	d.pinned()
	for b := range d.blocks {
		if d.waits[b] == 0 && !d.isPlaced(b) {
			d.offer(b)
		}
	}
	d.goOn()
}

// some places blocks of which nothing else is missing than they themselves.
func (d *dispatcher) some(blocks []int) {
	for _, b := range blocks {
		if d.waits[b] == 0 {
			d.offer(b)
		}
	}
	d.goOn()
}

func (d *dispatcher) goOn() {
	for {
		w, ok := d.choose()
		if !ok || !d.settle(w.block, w.at) {
			return
		}
	}
}

func (d *dispatcher) isPlaced(b int) bool { return d.placed[d.blocks[b][0]] || d.dead[b] }

// offer makes a block one of those that could begin.
func (d *dispatcher) offer(b int) {
	w := waiting{block: b, at: d.earliest(d.blocks[b][0]), epoch: -1}
	w.urgency = d.urgency(w)
	d.ready = append(d.ready, w)
}
