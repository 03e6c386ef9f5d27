package planner

// The ways to ruin a plan.
const (
	pull      = iota // a tardy piece and what holds the hands it waits for
	pullWhole        // the same, with whole pieces
	near             // what happens about the same time at the same hands
	random           // pieces by chance
	window           // all that begins within some hours
	ruinKinds
)

// ruinSizes are how many pieces are taken out at most.
var ruinSizes = [...]int{2, 3, 5, 8, 13}

// thrifts are what a slot of somebody's time counts beside one of the end's, in 64ths.
var thrifts = [...]int{0, 16, 48, 128}

func (c *chain) ruin(kind, size int) {
	size = 1 + c.below(size)
	switch kind {
	case pull, pullWhole:
		c.pull(size, kind == pullWhole)
	case near:
		c.near(size)
	case window:
		c.window(size)
	default:
		for range size {
			c.takePiece(c.below(len(c.ofPiece)), 0)
		}
	}
}

// window takes out what begins within some hours from where a tardy piece waits, and what follows it.
func (c *chain) window(size int) {
	seed := c.tardy()
	b := c.waits(seed)
	if b < 0 {
		return
	}
	from := c.earliest(c.blocks[b][0])
	until := from + size*c.reach/2
	c.takeOut(b)
	for other, ops := range c.blocks {
		if at := int(c.places[ops[0]].start); at >= from && at < until {
			c.takeOut(other)
		}
	}
}

// takePiece takes out what is done on a piece from a slot on.
func (c *chain) takePiece(piece, from int) {
	for _, b := range c.ofPiece[piece] {
		if !c.gone[b] && int(c.places[c.blocks[b][0]].start) >= from {
			c.takeOut(b)
		}
	}
}

// tardy draws a piece, the more often the more its tardiness costs, or its changes where these come first.
func (c *chain) tardy() int {
	best, most := c.below(len(c.ofPiece)), -1.0
	for range 6 {
		piece := c.below(len(c.ofPiece))
		if cost := c.tardiness(piece) * c.share(); cost > most {
			best, most = piece, cost
		}
	}
	return best
}

func (c *chain) tardiness(piece int) float64 {
	if c.aims[0] == Changes {
		return c.changes(piece)
	}
	p := &c.real.Pieces[piece]
	return p.Weight * float64(max(0, c.minutes(int(c.end[piece]))-p.Due))
}

// pull takes out a tardy piece from where it waits, and of others what is in its way there.
func (c *chain) pull(size int, whole bool) {
	seed := c.tardy()
	b := c.waits(seed)
	if b < 0 {
		return
	}
	op := c.blocks[b][0]
	ready, start := c.earliest(op), int(c.places[op].start)
	if whole {
		c.takePiece(seed, 0)
	} else {
		c.takeOut(b)
	}
	if c.aims[0] == Changes && c.published != nil && c.published.counts[op] {
		start = int(c.published.places[op].start) + c.reach
		ready = max(0, start-2*c.reach)
	}
	for range size {
		if other := c.holder(op, ready+c.below(max(1, start-ready+1))); other >= 0 {
			c.takeFrom(other, whole)
		}
	}
}

// holder draws who could do an operation, or where it could be done, and gives what is done there at a slot.
func (c *chain) holder(op, t int) int {
	w := &c.ways[op][c.below(len(c.ways[op]))]
	if w.worker >= 0 && (len(w.stations) == 0 || c.once(2)) {
		return c.owner(w.worker, t)
	}
	if len(w.stations) == 0 {
		return -1
	}
	return c.ownerIn(c.from(w.stations), t)
}

// ownerIn gives an operation at a station about a slot; -1: none is.
func (f *floor) ownerIn(station, t int) int {
	cell := 2*(max(0, t)>>roomShift) + t&1
	if owners := f.rooms[station].owners; cell < len(owners) && owners[cell] > 0 {
		if op := int(owners[cell] - 1); f.placed[op] && int(f.places[op].station) == station {
			return op
		}
	}
	return -1
}

// takeFrom takes out an operation and what follows it, or all of its piece.
func (c *chain) takeFrom(op int, whole bool) {
	switch b := c.blockOf[op]; {
	case b < 0:
	case whole:
		c.takePiece(c.Operations[op].Piece, 0)
	default:
		c.takeOut(b)
	}
}

// waits draws a block of a piece, the more often the longer it waits though it could begin; -1: none may move.
func (c *chain) waits(piece int) int {
	best, most := -1, -1.0
	for _, b := range c.ofPiece[piece] {
		if c.still[b] {
			continue
		}
		op := c.blocks[b][0]
		if wait := float64(int(c.places[op].start)-c.earliest(op)+1) * c.share(); wait > most {
			best, most = b, wait
		}
	}
	return best
}

// near takes out operations about one at the hands of those who could do it, and what follows them.
func (c *chain) near(size int) {
	piece := c.tardy()
	if c.once(2) {
		piece = c.below(len(c.ofPiece))
	}
	if len(c.ofPiece[piece]) == 0 {
		return
	}
	b := c.from(c.ofPiece[piece])
	if c.still[b] {
		return
	}
	op := c.from(c.blocks[b])
	at := int(c.places[op].start)
	c.takeOut(b)
	for range size {
		if other := c.holder(op, max(0, at+(c.below(2*c.reach+1)-c.reach))); other >= 0 {
			c.takeFrom(other, false)
		}
	}
}

// owner gives the operation at somebody's hands about a slot; -1: none is.
func (f *floor) owner(worker, t int) int { return f.ownerAt(worker, f.lanes[worker].position(t)) }

func (f *floor) ownerAt(worker, q int) int {
	l := &f.lanes[worker]
	cell := q >> ownerShift
	if cell >= len(l.owners) || l.owners[cell] == 0 {
		return -1
	}
	op := int(l.owners[cell] - 1)
	if !f.placed[op] || int(f.places[op].worker) != worker {
		return -1
	}
	return op
}
