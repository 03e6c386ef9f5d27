package planner

import (
	"container/heap"
	"math"
)

// Rule is how Dispatch weighs what could begin.
type Rule struct {
	// Patience (minutes) is how far ahead a promise begins to press.
	Patience float64
	// Look (minutes) is how much later than the first something may begin to be taken before it.
	Look float64
}

// rules are tried one after the other; which is best differs from floor to floor.
var rules = []Rule{{3000, 60}, {1000, 60}, {5000, 150}, {1750, 150}, {10000, 60}, {500, 150}}

// atOnce is about how many operations are placed before an answer: of a large floor fewer rules are tried.
const atOnce = 4000

// Dispatch makes a plan by each of some rules and gives the best. It is the same each time. Faults:
// PROBLEM_MALFORMED.
func Dispatch(p *Problem) (*Plan, error) {
	c, err := compile(p)
	if err != nil {
		return nil, err
	}
	var best *Plan
	for _, r := range rules[:max(1, min(len(rules), atOnce/max(1, len(p.Operations))))] {
		plan := newDispatcher(c, r).plan()
		if best == nil || len(plan.Left) < len(best.Left) || (len(plan.Left) == len(best.Left) && plan.Objective.Less(best.Objective)) {
			best = plan
		}
	}
	return best, nil
}

// dispatcher places blocks in the order of time, those that could begin soonest before others and of
// them the most urgent.
type dispatcher struct {
	*floor
	rule  Rule
	waits []int // of each block: operations outside it that are not placed yet
	heap  queue
	near  pressing // taken out of the heap
	// The same by when they could begin, with some that are not near any more; nearAt tells of each block
	// since when it is.
	firsts queue
	nearAt []Minute
	left   []Unplaced
	dead   []bool // blocks that fit nowhere, or wait for one that does
}

// waiting is a block that could begin, at the earliest at so and so.
type waiting struct {
	block int
	at    Minute
	epoch int // of what it needs, when that was found

	urgency float64
	due     Minute
}

// notNear is when a block that is not near could begin.
const notNear = math.MinInt

func newDispatcher(c *compiled, r Rule) *dispatcher {
	d := &dispatcher{floor: newFloor(c), rule: r, waits: make([]int, len(c.blocks)), dead: make([]bool, len(c.blocks)),
		nearAt: make([]Minute, len(c.blocks))}
	for b := range d.nearAt {
		d.nearAt[b] = notNear
	}
	for b, ops := range c.blocks {
		for _, op := range ops {
			for _, l := range c.in[op] {
				if from := c.Lags[l].From; !d.placed[from] && c.blockOf[from] != b {
					d.waits[b]++
				}
			}
		}
	}
	return d
}

func (d *dispatcher) plan() *Plan {
	d.hot()
	d.pinned()
	for b := range d.blocks {
		if d.waits[b] == 0 && !d.isPlaced(b) {
			d.offer(b)
		}
	}
	for d.heap.Len()+d.near.Len() > 0 {
		d.next()
	}
	return &Plan{Slots: d.slots, Objective: d.objective(), Missed: d.missed(), Left: d.left}
}

func (d *dispatcher) isPlaced(b int) bool { return d.placed[d.blocks[b][0]] || d.dead[b] }

// offer makes a block one of those that could begin.
func (d *dispatcher) offer(b int) {
	d.wait(waiting{block: b, at: d.ready(d.blocks[b][0]), epoch: -1})
}

// next places the most urgent of the blocks that could begin soonest.
func (d *dispatcher) next() {
	if w, ok := d.choose(); ok {
		d.settle(w.block, w.at)
	}
}

// choose takes the most urgent block of those near. When something could begin only ever becomes later as
// more is placed, and its urgency less; so what was found before is a bound, and only the one that comes out
// first by these bounds is looked at anew.
func (d *dispatcher) choose() (waiting, bool) {
	for d.gather() {
		w := heap.Pop(&d.near).(waiting)
		d.nearAt[w.block] = notNear
		op := d.blocks[w.block][0]
		if d.isPlaced(w.block) { // with something that is pinned, or left out
			continue
		}
		epoch := d.epochOf(op)
		if w.epoch == epoch {
			return w, true
		}
		s, ok := d.fit(op, w.at)
		switch {
		case !ok:
			d.giveUp(w.block, d.why(op))
		case s.Start > w.at:
			d.wait(waiting{block: w.block, at: s.Start, epoch: epoch})
		default:
			return w, true
		}
	}
	return waiting{}, false
}

// wait puts a block where those are that could begin later, with its urgency.
func (d *dispatcher) wait(w waiting) {
	w.urgency, w.due = d.urgency(w), d.Pieces[d.Operations[d.blocks[w.block][0]].Piece].Due
	heap.Push(&d.heap, w)
}

// gather brings the blocks near that could begin within the rule's look of the first; false: there are none.
func (d *dispatcher) gather() bool {
	for d.firsts.Len() > 0 && d.nearAt[d.firsts[0].block] != d.firsts[0].at {
		heap.Pop(&d.firsts) // which is not near any more
	}
	var first Minute
	switch {
	case d.firsts.Len() > 0 && (d.heap.Len() == 0 || d.firsts[0].at <= d.heap[0].at):
		first = d.firsts[0].at
	case d.heap.Len() > 0:
		first = d.heap[0].at
	}
	for d.heap.Len() > 0 && float64(d.heap[0].at) <= float64(first)+d.rule.Look {
		w := heap.Pop(&d.heap).(waiting)
		d.nearAt[w.block] = w.at
		heap.Push(&d.near, w)
		heap.Push(&d.firsts, w)
	}
	return d.near.Len() > 0
}

// epochOf changes whenever something that an operation could need is taken.
func (d *dispatcher) epochOf(op int) (sum int) {
	for _, m := range d.Operations[op].Modes {
		if m.Worker != NoWorker {
			sum += d.epochs[m.Worker]
		}
	}
	for _, w := range d.Operations[op].With {
		sum += d.epochs[w]
	}
	for _, s := range d.Operations[op].Stations {
		sum += d.epochs[len(d.Workers)+s]
	}
	return sum
}

// urgency is the logarithm of the apparent tardiness cost, less what is lost by waiting for it.
func (d *dispatcher) urgency(w waiting) float64 {
	op := d.blocks[w.block][0]
	piece := &d.Pieces[d.Operations[op].Piece]
	u := math.Log(piece.Weight) - float64(w.at)/d.rule.Look
	if piece.Due == NoDue {
		return u - 10 - float64(piece.Release)/1e6 // after all that is promised; who came first
	}
	slack := float64(piece.Due) - float64(w.at) - d.tail[op]
	return u - max(0, slack)/d.rule.Patience
}

// settle places a block and offers what only waited for it.
func (d *dispatcher) settle(b int, t Minute) {
	if !d.putBlock(d.blocks[b], t) {
		d.giveUp(b, d.why(d.blocks[b][0]))
		return
	}
	for _, op := range d.blocks[b] {
		for _, l := range d.out[op] {
			d.lessens(d.blockOf[d.Lags[l].To], b)
		}
	}
}

func (d *dispatcher) lessens(next, b int) {
	if next < 0 || next == b {
		return
	}
	if d.waits[next]--; d.waits[next] == 0 && !d.isPlaced(next) {
		d.offer(next)
	}
}

// giveUp leaves a block out, and all that waits for it.
func (d *dispatcher) giveUp(b int, why Why) {
	if d.dead[b] {
		return
	}
	d.dead[b] = true
	for _, op := range d.blocks[b] {
		d.left = append(d.left, Unplaced{op, why})
	}
	for _, op := range d.blocks[b] {
		for _, l := range d.out[op] {
			if next := d.blockOf[d.Lags[l].To]; next >= 0 && next != b {
				d.giveUp(next, BeforeIt)
			}
		}
	}
}

// why tells whether an operation could be done on an empty floor.
func (d *dispatcher) why(op int) Why {
	empty := newFloor(d.compiled)
	for i := range empty.workers {
		empty.workers[i].steps = nil
	}
	for i := range empty.stations {
		empty.stations[i].steps = nil
	}
	if _, ok := empty.fit(op, d.Now); ok {
		return AfterHorizon
	}
	return NobodyCan
}
