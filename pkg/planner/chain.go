package planner

import (
	"math"
	"math/rand/v2"
)

// dice are drawn from without anything between; the same seed gives the same.
type dice struct{ rand.PCG }

func (d *dice) below(n int) int    { return int(d.Uint64() >> 32 * uint64(n) >> 32) }
func (d *dice) share() float64     { return float64(d.Uint64()>>11) / (1 << 53) }
func (d *dice) once(n int) bool    { return d.below(n) == 0 }
func (d *dice) from(all []int) int { return all[d.below(len(all))] }

// chain is one walk over whole plans: it takes some blocks out, puts them in again otherwise, and keeps what
// came of it when the plan is better, or by chance a little worse.
type chain struct {
	*floor
	*network
	*cost
	dice
	still []bool // blocks that keep their place
	aims  []Aim

	out     []int   // blocks taken out, in the order in which they were
	was     []place // of their operations, one after the other
	gone    []bool  // of each block: it was taken out
	inside  []bool  // of each block: it is in again
	hit     []int   // pieces of which something was taken out
	isHit   []bool
	waiting []int     // of each piece, blocks that are not in again
	keys    []float64 // of each piece, its turn to be put in again
	turns   []turn
	again   *dispatcher
	liked   Rule // by which the dispatcher did best

	ruins, sizes, tastes, recreates arms

	heat, hottest float64
	reach         int     // slots that are about the same time
	anew          float64 // for how much of the way plans are made from nothing
	fresh         bool    // they are now
	steps         int     // tried
	best          []place
	bestSums      [4]float64
}

func newChain(f *floor, n *network, aims []Aim, p *published, still []bool) *chain {
	c := &chain{floor: f, network: n, cost: newCost(f, n, aims, p), still: still, aims: aims, gone: make([]bool, len(f.blocks)), inside: make([]bool, len(f.blocks)),
		isHit: make([]bool, len(f.Pieces)), waiting: make([]int, len(f.Pieces)), keys: make([]float64, len(f.Pieces)), again: newDispatcher(f), liked: f.slots(rules[0]),
		ruins: newArms(ruinKinds), sizes: newArms(len(ruinSizes)), tastes: newArms(len(thrifts)), recreates: newArms(recreateKinds), reach: max(1, 240/f.step)}
	for b, ops := range f.blocks {
		c.again.dead[b] = !f.placed[ops[0]]
	}
	c.hottest = hottest * c.total / float64(max(1, len(f.Pieces)))
	c.note()
	return c
}

// choice is a way to ruin and a way to recreate.
type choice struct{ ruin, size, taste, recreate int }

// attempt tries one change, and gives how many operations were taken out for it.
func (c *chain) attempt() (moved int) {
	c.steps++
	x := choice{c.ruins.pick(&c.dice), c.sizes.pick(&c.dice), c.tastes.pick(&c.dice), c.recreates.pick(&c.dice)}
	before, limit := c.sums[c.aims[0]], c.total-c.heat*math.Log(1-c.share())
	if c.thrift = thrifts[x.taste]; c.aims[0] == Changes && x.recreate == redispatched {
		x.recreate = byPiece // which knows where things were
	}
	c.demolish(&x)
	if !c.recreate(x.recreate, limit) {
		c.restore()
	}
	moved = len(c.was)
	c.forget()
	if !c.fresh {
		c.learn(x, max(0, before-c.sums[c.aims[0]]), moved)
	}
	return moved
}

// demolish takes something out. The dispatcher gets more of it than others, for it puts much in at once.
func (c *chain) demolish(x *choice) {
	switch {
	case c.fresh:
		x.recreate = redispatched
		c.takeAfter(0)
	case x.recreate == redispatched && c.once(2):
		c.rest()
	case x.recreate == redispatched:
		c.window(ruinSizes[x.size])
	default:
		c.ruin(x.ruin, ruinSizes[x.size])
	}
}

// dispatchEffort is about how many times longer the dispatcher takes to place an operation: it looks at most
// of them more than once.
const dispatchEffort = 8

func (c *chain) learn(x choice, gain float64, moved int) {
	effort := float64(1 + moved)
	if x.recreate == redispatched {
		effort *= dispatchEffort
		if gain > 0 {
			c.liked = c.again.rule
		}
	} else {
		c.ruins.learn(x.ruin, gain, effort)
		c.sizes.learn(x.size, gain, effort)
	}
	c.tastes.learn(x.taste, gain, effort)
	c.recreates.learn(x.recreate, gain, effort)
}

// takeOut lifts a block and all that waits for it.
func (c *chain) takeOut(b int) {
	if c.gone[b] || c.still[b] {
		return
	}
	c.gone[b] = true
	for _, next := range c.after[b] {
		c.takeOut(next)
	}
	for _, op := range c.blocks[b] {
		c.was = append(c.was, c.places[op])
		c.drop(op)
		c.lift(op)
	}
	c.out = append(c.out, b)
	for _, piece := range c.pieces[b] {
		if !c.isHit[piece] {
			c.isHit[piece] = true
			c.hit = append(c.hit, piece)
			c.leave(piece)
		}
	}
}

// restore puts everything back where it was.
func (c *chain) restore() {
	for _, b := range c.out {
		if c.inside[b] {
			for _, op := range c.blocks[b] {
				c.drop(op)
				c.lift(op)
			}
		}
	}
	i := 0
	for _, b := range c.out {
		for _, op := range c.blocks[b] {
			c.put(op, c.was[i])
			c.add(op)
			i++
		}
	}
	c.cost.restore()
}

// forget makes ready for the next step.
func (c *chain) forget() {
	for _, b := range c.out {
		c.gone[b], c.inside[b] = false, false
	}
	for _, piece := range c.hit {
		c.isHit[piece] = false
	}
	c.out, c.was, c.hit = c.out[:0], c.was[:0], c.hit[:0]
	c.keep()
}

// note keeps the plan as the best.
func (c *chain) note() {
	c.best, c.bestSums = append(c.best[:0], c.places...), c.sums
}

// less compares two plans aim by aim.
func less(aims []Aim, a, b [4]float64) bool {
	for _, aim := range aims {
		if d := a[aim] - b[aim]; d > 1e-6 || d < -1e-6 {
			return d < 0
		}
	}
	return false
}

// adopt goes on from another plan of the same operations.
func (c *chain) adopt(places []place) {
	for b, ops := range c.blocks {
		if !c.still[b] && c.placed[ops[0]] {
			c.takeOut(b)
		}
	}
	for _, b := range c.out {
		for _, op := range c.blocks[b] {
			c.put(op, places[op])
			c.add(op)
		}
	}
	for _, piece := range c.hit {
		c.arrive(piece)
	}
	c.makespan()
	c.forget()
}

// walk tries changes from one part of the way to another, until it is told that all of it is gone: it asks
// for that now and then, with how many it tried.
func (c *chain) walk(begin, end float64, gone func(int) float64) {
	for n, moved := 0, lookEach; ; n++ {
		if moved >= lookEach {
			moved = 0
			part := gone(n)
			if part >= 1 {
				return
			}
			at := begin + part*(end-begin)
			c.fresh, c.heat = at < c.anew, c.hottest*math.Pow(coldest, at)
		}
		moved += 1 + c.attempt()
		if less(c.aims, c.sums, c.bestSums) {
			c.note()
		}
	}
}

const (
	lookEach = 500  // operations moved between two looks at the clock
	hottest  = 0.05 // the temperature at the start, in costs of a piece
	coldest  = 1e-3 // of that, at the end
)
