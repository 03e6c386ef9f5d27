package planner

import (
	"cmp"
	"container/heap"
	"math"
	"slices"
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

// Dispatch makes a plan by each of some rules and gives the best. It is the same each time. Faults:
// PROBLEM_MALFORMED.
func Dispatch(p *Problem) (*Plan, error) {
	c, err := compile(p)
	if err != nil {
		return nil, err
	}
	var best *Plan
	for _, r := range rules {
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
	left  []Unplaced
	dead  []bool // blocks that fit nowhere, or wait for one that does
}

// waiting is a block that could begin, at the earliest at so and so.
type waiting struct {
	block int
	at    Minute
	epoch int // of what it needs, when that was found
}

func newDispatcher(c *compiled, r Rule) *dispatcher {
	d := &dispatcher{floor: newFloor(c), rule: r, waits: make([]int, len(c.blocks)), dead: make([]bool, len(c.blocks))}
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
	for b := range d.blocks {
		if d.waits[b] == 0 && !d.isPlaced(b) {
			d.offer(b)
		}
	}
	for d.heap.Len() > 0 {
		d.next()
	}
	return &Plan{Slots: d.slots, Objective: d.objective(), Missed: d.missed(), Left: d.left}
}

// hot places first what a running window waits for, the one that closes first first.
func (d *dispatcher) hot() {
	type window struct{ block, closes int }
	var all []window
	for b, ops := range d.blocks {
		if at, ok := d.closing(ops); ok && d.waits[b] == 0 {
			all = append(all, window{b, at})
		}
	}
	slices.SortStableFunc(all, func(a, b window) int { return cmp.Compare(a.closes, b.closes) })
	for _, w := range all {
		d.settle(w.block, d.Now)
	}
}

func (d *dispatcher) isPlaced(b int) bool { return d.placed[d.blocks[b][0]] || d.dead[b] }

// offer makes a block one of those that could begin.
func (d *dispatcher) offer(b int) {
	heap.Push(&d.heap, waiting{b, d.ready(d.blocks[b][0]), -1})
}

// next places the most urgent of the blocks that could begin soonest. When something could begin only
// ever becomes later as more is placed, so that what was found is good until it comes up.
func (d *dispatcher) next() {
	candidates := d.soonest()
	if len(candidates) == 0 {
		return
	}
	first := candidates[0].at
	best := slices.MaxFunc(candidates, func(a, b waiting) int {
		return cmp.Or(cmp.Compare(d.urgency(a, first), d.urgency(b, first)), -cmp.Compare(d.due(a), d.due(b)), -cmp.Compare(a.block, b.block))
	})
	for _, c := range candidates {
		if c.block != best.block {
			heap.Push(&d.heap, c)
		}
	}
	d.settle(best.block, best.at)
}

// soonest takes the blocks that could begin within the rule's look of the first.
func (d *dispatcher) soonest() (candidates []waiting) {
	for d.heap.Len() > 0 {
		top := d.heap[0]
		if len(candidates) > 0 && float64(top.at) > float64(candidates[0].at)+d.rule.Look {
			return candidates
		}
		heap.Pop(&d.heap)
		if epoch := d.epochOf(d.blocks[top.block][0]); top.epoch != epoch {
			s, ok := d.fit(d.blocks[top.block][0], top.at)
			if !ok {
				d.giveUp(top.block, d.why(d.blocks[top.block][0]))
				continue
			}
			if s.Start > top.at || len(candidates) > 0 {
				heap.Push(&d.heap, waiting{top.block, s.Start, epoch})
				continue
			}
			top = waiting{top.block, s.Start, epoch}
		}
		candidates = append(candidates, top)
	}
	return candidates
}

// epochOf changes whenever something that an operation could need is taken.
func (d *dispatcher) epochOf(op int) (sum int) {
	for _, m := range d.Operations[op].Modes {
		if m.Worker != NoWorker {
			sum += d.epochs[m.Worker]
		}
	}
	for _, s := range d.Operations[op].Stations {
		sum += d.epochs[len(d.Workers)+s]
	}
	return sum
}

// urgency is the logarithm of the apparent tardiness cost, less what is lost by waiting for it.
func (d *dispatcher) urgency(w waiting, first Minute) float64 {
	op := d.blocks[w.block][0]
	piece := &d.Pieces[d.Operations[op].Piece]
	u := math.Log(piece.Weight) - float64(w.at-first)/d.rule.Look
	if piece.Due == NoDue {
		return u - 10 - float64(piece.Release)/1e6 // after all that is promised; who came first
	}
	slack := float64(piece.Due) - float64(w.at) - d.tail[op]
	return u - max(0, slack)/d.rule.Patience
}

func (d *dispatcher) due(w waiting) Minute {
	return d.Pieces[d.Operations[d.blocks[w.block][0]].Piece].Due
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
