package planner

import (
	"cmp"
	"slices"
)

// order gives the turns in which pieces are put in again.
func (c *chain) order() {
	kind := c.below(4)
	for _, piece := range c.hit {
		p := &c.Pieces[piece]
		switch kind {
		case 0:
			c.keys[piece] = c.share()
		case 1: // first who is due first
			c.keys[piece] = float64(p.Due) + c.share()*float64(c.reach)*8
		default: // first whose tardiness cost most, by chance
			c.keys[piece] = -p.Weight * c.share()
			if int(c.end[piece]) <= p.Due {
				c.keys[piece] = c.share()
			}
		}
	}
	if kind == 3 {
		c.keys[c.hit[0]] = -1e18
	}
	slices.SortFunc(c.hit, func(a, b int) int {
		switch x, y := c.keys[a], c.keys[b]; {
		case x < y:
			return -1
		case x > y:
			return 1
		}
		return a - b
	})
}

// recreate puts in again what was taken out; false: it does not fit, or costs more than the limit before all
// is in.
func (c *chain) recreate(kind int, limit float64) bool {
	if len(c.out) == 0 {
		return false
	}
	if kind == redispatched {
		return c.redispatch(limit)
	}
	if kind == merged {
		return c.merge(limit)
	}
	c.order()
	c.expect()
	for _, piece := range c.hit {
		for _, b := range c.ofPiece[piece] {
			if c.gone[b] && !c.inside[b] && !c.putIn(b, limit) {
				return false
			}
		}
	}
	c.makespan()
	return true
}

// The ways to put in again.
const (
	byPiece      = iota // one piece after the other
	merged              // in the order in which things began, some sooner
	redispatched        // as the dispatcher would
	recreateKinds
)

// turn is when a block is put in.
type turn struct {
	block int
	at    float64
}

// merge puts blocks in in the order in which they began, what is pressing as if it had begun sooner.
func (c *chain) merge(limit float64) bool {
	c.turns = c.turns[:0]
	noise := []float64{0, 1, 4}[c.below(3)] * float64(c.reach)
	lead := float64(c.reach) * []float64{0, 2, 8, 40}[c.below(4)]
	for i, piece := range c.hit {
		c.keys[piece] = (2*c.share() - 1) * noise
		if i == 0 {
			c.keys[piece] -= lead
		}
	}
	i := 0
	for _, b := range c.out {
		piece := c.pieces[b][0]
		c.turns = append(c.turns, turn{b, float64(c.was[i].start) + c.keys[piece]})
		i += len(c.blocks[b])
	}
	slices.SortFunc(c.turns, func(a, b turn) int { return cmp.Or(cmp.Compare(a.at, b.at), a.block-b.block) })
	c.expect()
	for _, t := range c.turns {
		if !c.inside[t.block] && !c.putIn(t.block, limit) {
			return false
		}
	}
	c.makespan()
	return true
}

// keepsWindow tells whether a block begins before the window closes that something fixed opened.
func (c *chain) keepsWindow(b int) bool {
	if !c.urgent[b] {
		return true
	}
	for _, op := range c.blocks[b] {
		for _, l := range c.in[op] {
			lag := &c.Lags[l]
			if lag.Max != Forever && c.blockOf[lag.From] < 0 && int(c.places[op].start-c.places[lag.From].end) > lag.Max {
				return false
			}
		}
	}
	return true
}

// expect counts of each piece the blocks that are out.
func (c *chain) expect() {
	for _, piece := range c.hit {
		c.waiting[piece] = 0
	}
	for _, b := range c.out {
		for _, piece := range c.pieces[b] {
			c.waiting[piece]++
		}
	}
}

// putIn places a block, and before it what it waits for; false: it does not fit, or the plan costs more than
// the limit.
func (c *chain) putIn(b int, limit float64) bool {
	for _, from := range c.before[b] {
		if c.gone[from] && !c.inside[from] && !c.putIn(from, limit) {
			return false
		}
	}
	return (c.home(b) || c.putBlock(c.blocks[b], c.Now)) && c.noted(b, limit)
}

// home puts a block where people know it to be, mostly.
func (c *chain) home(b int) bool {
	k := c.published
	if k == nil || !k.counts[c.blocks[b][0]] || c.once(4) {
		return false
	}
	return c.putAt(c.blocks[b], func(op int) place { return k.places[op] })
}
