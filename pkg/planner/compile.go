package planner

import "slices"

// compiled is a problem with what follows from it once.
type compiled struct {
	*Problem
	in, out   [][]int // of each operation, the lags to it and from it
	order     []int   // operations, each after all that it waits for
	blocks    [][]int // operations that longest waits tie together, in order
	blockOf   []int
	paces     []float64           // of each worker
	tail      []float64           // of each operation: minutes at least from its start to the end of its piece
	shared    []shared            // by worker and station
	shades    []int               // of each station that is cleaned, the room before that of its first colour
	roomCount int                 // of stations, and of their colours
	crews     map[[3]int]Calendar // of operations that take several hands

	// Of a problem in slots alone:
	scale
	real *Problem // the problem in minutes
	axes []*axis  // of each worker
	ways [][]way  // of each operation
}

// way is a mode of an operation.
type way struct {
	worker, minutes int
	stations        []int
	demand          int
	colour          int // 0: none that matters where it may be done
	splittable      bool
	plain           bool // one worker, and stations that are open whenever they are there
}

// shared is when a worker and a station are both there, once somebody has asked.
type shared struct {
	Calendar
	known bool
}

// compile refuses a problem of which no plan can be made: PROBLEM_MALFORMED, WAITS_IN_A_CIRCLE.
func compile(p *Problem) (*compiled, error) {
	if err := p.check(); err != nil {
		return nil, err
	}
	c := &compiled{Problem: p, in: make([][]int, len(p.Operations)), out: make([][]int, len(p.Operations)), shared: make([]shared, len(p.Workers)*len(p.Stations)), crews: map[[3]int]Calendar{}}
	for i, l := range p.Lags {
		c.in[l.To], c.out[l.From] = append(c.in[l.To], i), append(c.out[l.From], i)
	}
	if err := c.sort(); err != nil {
		return nil, err
	}
	c.tie()
	c.measure()
	c.colour()
	return c, nil
}

// inSlots compiles a problem for the floor: in slots, with what makes placing quick.
func inSlots(p *Problem, plans ...*Plan) (*compiled, error) {
	if err := p.check(); err != nil {
		return nil, err
	}
	s := scaleOf(p, plans...)
	c, err := compile(s.scaled(p))
	if err != nil {
		return nil, err
	}
	c.scale, c.real = s, p
	fixed := make([][]Window, len(p.Workers))
	for _, f := range c.Fixed {
		for _, w := range append(c.Operations[f.Operation].With, f.Worker) {
			if w != NoWorker {
				fixed[w] = append(fixed[w], Window{f.Start, min(f.End, c.Horizon)})
			}
		}
	}
	for i, w := range c.Workers {
		c.axes = append(c.axes, newAxis(w.Calendar, fixed[i]))
	}
	c.ways = make([][]way, len(c.Operations))
	for op := range c.Operations {
		c.ways[op] = c.waysOf(op)
	}
	return c, nil
}

func (c *compiled) waysOf(op int) (all []way) {
	o := &c.Operations[op]
	for _, m := range o.Modes {
		w := way{m.Worker, m.Minutes, o.Stations, o.Demand, 0, o.Splittable, m.Worker != NoWorker && len(o.With) == 0 && m.Minutes > 0}
		if m.Stations != nil {
			w.stations = m.Stations
		}
		if len(w.stations) == 0 && len(o.Stations) > 0 {
			continue // who may use none of its stations cannot do it
		}
		for _, s := range w.stations {
			w.plain = w.plain && c.both(m.Worker, s).is(c.Workers[m.Worker].Calendar)
			if c.Stations[s].Changeover != nil {
				w.colour = o.Colour
			}
		}
		all = append(all, w)
	}
	return all
}

// sort orders the operations so that each comes after all that it waits for (Kahn, Communications of the
// ACM 5 (1962) 558-562).
func (c *compiled) sort() error {
	waits := make([]int, len(c.Operations))
	for i := range c.Operations {
		waits[i] = len(c.in[i])
		if waits[i] == 0 {
			c.order = append(c.order, i)
		}
	}
	for i := 0; i < len(c.order); i++ {
		for _, l := range c.out[c.order[i]] {
			to := c.Lags[l].To
			if waits[to]--; waits[to] == 0 {
				c.order = append(c.order, to)
			}
		}
	}
	if len(c.order) < len(c.Operations) {
		first := slices.IndexFunc(waits, func(n int) bool { return n > 0 })
		return malformed("Operation %s waits for itself.", c.Operations[first].ID)
	}
	return nil
}

func (c *compiled) fixed() []bool {
	all := make([]bool, len(c.Operations))
	for _, f := range c.Fixed {
		all[f.Operation] = true
	}
	return all
}

// pace is how many minutes of the clock one of somebody's work takes, with their nights and weekends:
// about four of who works forty of the week's 168 hours.
func (c Calendar) pace() float64 {
	if len(c) == 0 {
		return 1
	}
	there := 0
	for _, w := range c {
		there += w.End - w.Start
	}
	return float64(c[len(c)-1].End-c[0].Start) / float64(there)
}

// measure finds how long each piece still takes at least from each operation on.
func (c *compiled) measure() {
	for _, w := range c.Workers {
		c.paces = append(c.paces, w.Calendar.pace())
	}
	c.tail = make([]float64, len(c.Operations))
	for i := len(c.order) - 1; i >= 0; i-- {
		op := c.order[i]
		longest := 0.0
		for _, l := range c.out[op] {
			longest = max(longest, float64(c.Lags[l].Min)+c.tail[c.Lags[l].To])
		}
		c.tail[op] = longest + c.shortest(op)
	}
}

// shortest is how long an operation takes at least by the clock.
func (c *compiled) shortest(op int) float64 {
	best := -1.0
	for _, m := range c.Operations[op].Modes {
		minutes := float64(m.Minutes)
		if m.Worker != NoWorker {
			minutes *= c.paces[m.Worker]
		}
		if best < 0 || minutes < best {
			best = minutes
		}
	}
	return max(best, 0)
}

// open is when all whom an operation takes are there and its station is open.
func (c *compiled) open(op, worker, station int) Calendar {
	with := c.Operations[op].With
	if len(with) == 0 {
		return c.both(worker, station)
	}
	key := [3]int{op, worker, station}
	shared, known := c.crews[key]
	if !known {
		shared = c.both(worker, station)
		for _, w := range with {
			shared = shared.and(c.Workers[w].Calendar)
		}
		c.crews[key] = shared
	}
	return shared
}

// both is when a worker is there and a station is open.
func (c *compiled) both(worker, station int) Calendar {
	if station == NoStation {
		return c.Workers[worker].Calendar
	}
	both := &c.shared[worker*len(c.Stations)+station]
	if !both.known {
		*both = shared{c.Workers[worker].Calendar.and(c.Stations[station].Calendar), true}
	}
	return both.Calendar
}
