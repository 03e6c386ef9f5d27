package planner

// Aim is something that a plan should be small in.
type Aim int

// The aims.
const (
	Tardiness Aim = iota // weight × minutes after the promise
	Flow                 // weight × minutes from release to the end
	Makespan             // when the last operation ends
	Changes              // against a plan that people know: for each that is elsewhere MoveAny and the minutes moved, for other hands MoveHands
)

// What changes count, in minutes moved (common practice: half a shift for any at all, an hour for other hands,
// and what is moved by more than two hours is as bad as by two: people learn of it once).
const (
	MoveAny   = 240
	MoveHands = 60
	MoveMost  = 120
)

// published is a plan that people know, as far as they count on it.
type published struct {
	places []place
	counts []bool // of each operation: it begins soon
}

// cost keeps what the plan costs while it changes.
type cost struct {
	f         *floor
	n         *network
	published *published
	factors   [4]float64 // of each aim
	total     float64    // each aim by its factor, added up
	sums      [4]float64 // of each aim
	end       []int32    // of each piece
	saved     struct {
		total float64
		sums  [4]float64
		ends  []int32
	}
	left []int // pieces that were left, whose ends are saved
}

// Factors make one figure of several aims, for the walk alone: each later aim weighs little beside the one
// before it. What is best is compared aim by aim.
var lesser = [4]float64{1, 1e-3, 1e-5, 1e-6}

func newCost(f *floor, n *network, aims []Aim, p *published) *cost {
	c := &cost{f: f, n: n, published: p, end: make([]int32, len(f.Pieces))}
	for i, a := range aims {
		c.factors[a] = lesser[i]
		if a == Makespan { // one minute of it is one minute of many pieces
			c.factors[a] *= 10
		}
	}
	for op := range f.Operations {
		if f.placed[op] {
			c.add(op)
		}
	}
	for piece := range f.Pieces {
		c.arrive(piece)
	}
	c.makespan()
	c.keep()
	return c
}

// leave forgets what a piece costs.
func (c *cost) leave(piece int) {
	c.left = append(c.left, piece)
	c.saved.ends = append(c.saved.ends, c.end[piece])
	c.count(piece, -1)
}

// arrive counts what a piece costs as it is placed now.
func (c *cost) arrive(piece int) {
	end := int32(never)
	for _, op := range c.n.ends[piece] {
		if c.f.placed[op] {
			end = max(end, c.f.places[op].end)
		}
	}
	c.end[piece] = end
	c.count(piece, 1)
}

func (c *cost) count(piece int, sign float64) {
	if c.end[piece] == never {
		return
	}
	p, end := &c.f.real.Pieces[piece], c.f.minutes(int(c.end[piece]))
	if end > p.Due {
		c.plus(Tardiness, sign*p.Weight*float64(end-p.Due))
	}
	if end > p.Release {
		c.plus(Flow, sign*p.Weight*float64(end-p.Release))
	}
}

func (c *cost) plus(a Aim, x float64) {
	c.sums[a] += x
	c.total += c.factors[a] * x
}

// makespan counts the last end.
func (c *cost) makespan() {
	if c.factors[Makespan] == 0 {
		return
	}
	last := int32(0)
	for _, end := range c.end {
		last = max(last, end)
	}
	c.plus(Makespan, float64(int(last)*c.f.step)-c.sums[Makespan])
}

// add and drop count an operation against the published plan.
func (c *cost) add(op int)  { c.moved(op, 1) }
func (c *cost) drop(op int) { c.moved(op, -1) }

func (c *cost) moved(op int, sign float64) {
	if x := c.change(op); x > 0 {
		c.plus(Changes, sign*x)
	}
}

// change is what it costs that an operation is not where people know it to be.
func (c *cost) change(op int) float64 {
	if c.published == nil || !c.published.counts[op] {
		return 0
	}
	is, was := c.f.places[op], c.published.places[op]
	if is.start == was.start && is.worker == was.worker {
		return 0
	}
	by := min(MoveMost, int(max(is.start-was.start, was.start-is.start))*c.f.step)
	if is.worker != was.worker {
		by += MoveHands
	}
	return MoveAny + float64(by)
}

// changes is what it costs that operations of a piece are elsewhere.
func (c *cost) changes(piece int) (sum float64) {
	for _, b := range c.n.ofPiece[piece] {
		for _, op := range c.n.of.blocks[b] {
			sum += c.change(op)
		}
	}
	return sum
}

// restore goes back to what was kept last.
func (c *cost) restore() {
	for i, piece := range c.left {
		c.end[piece] = c.saved.ends[i]
	}
	c.total, c.sums = c.saved.total, c.saved.sums
}

// keep takes what it costs now for good.
func (c *cost) keep() {
	c.saved.total, c.saved.sums = c.total, c.sums
	c.left, c.saved.ends = c.left[:0], c.saved.ends[:0]
}
