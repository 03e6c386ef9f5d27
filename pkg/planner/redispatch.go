package planner

import "math"

// redispatch puts in again what was taken out as Dispatch would, by a rule that is a little another one each
// time; false: it costs more than the limit.
func (c *chain) redispatch(limit float64) bool {
	d := c.again
	c.drawRule()
	d.ready, d.left = d.ready[:0], d.left[:0]
	c.expect()
	for _, b := range c.out {
		d.dead[b], d.waits[b] = false, 0
		for _, op := range c.blocks[b] {
			for _, l := range c.in[op] {
				if from := c.Lags[l].From; !c.placed[from] && c.blockOf[from] != b {
					d.waits[b]++
				}
			}
		}
	}
	in, ok := 0, true
	d.after = func(b int) bool {
		in++
		ok = ok && c.noted(b, limit)
		return ok
	}
	d.some(c.out)
	if !ok || in < len(c.out) {
		return false
	}
	c.makespan()
	return true
}

// noted counts a block that is in again; false: the plan costs more than the limit.
func (c *chain) noted(b int, limit float64) bool {
	c.inside[b] = true
	for _, op := range c.blocks[b] {
		c.add(op)
	}
	for _, piece := range c.pieces[b] {
		if c.waiting[piece]--; c.waiting[piece] == 0 {
			c.arrive(piece)
		}
	}
	return c.total <= limit && c.keepsWindow(b)
}

// drawRule draws how the dispatcher weighs: about as when it did best, or anything usual.
func (c *chain) drawRule() {
	patience, look := c.liked.Patience*math.Exp(0.4*(c.share()-0.5)), c.liked.Look
	if c.once(3) {
		patience = 500 * math.Exp(c.share()*math.Log(12)) / float64(c.step)
	}
	if c.once(3) {
		look = [...]float64{15, 30, 60, 60, 100, 150}[c.below(6)] / float64(c.step)
	}
	c.again.rule = Rule{patience, max(1, look)}
	noise := [...]float64{0, 0, 0.2, 0.5}[c.below(4)]
	spur := [...]float64{0, 0, 0.5, 1}[c.below(4)]
	for _, piece := range c.hit {
		c.again.bonus[piece] = noise * (c.share() + c.share() - 1)
		if spur > 0 && c.minutes(int(c.end[piece])) > c.real.Pieces[piece].Due {
			c.again.bonus[piece] += spur * c.share()
		}
	}
}

// rest takes out all that begins after some slot.
func (c *chain) rest() {
	from := c.below(max(1, c.lastStart()+1))
	if c.once(2) {
		if b := c.waits(c.tardy()); b >= 0 {
			from = c.earliest(c.blocks[b][0])
		}
	}
	c.takeAfter(from)
}

func (c *chain) takeAfter(from int) {
	for b, ops := range c.blocks {
		if int(c.places[ops[0]].start) >= from {
			c.takeOut(b)
		}
	}
}

func (c *chain) lastStart() (last int) {
	for _, p := range c.places {
		last = max(last, int(p.start))
	}
	return last
}
