package jobshop

// prover proves by branch and bound that no schedule is better than the best, or finds one: of job shops only. At each
// node it asks for a schedule no longer than limit, tightens heads and tails, and then tries both orders of the pair of
// operations that has the least room.
type prover struct {
	*core
	limit    int32
	machines [][]int32 // operations by machine
	base     []int     // by machine: where its pairs begin
	pairs    int
	stack    []proof
	depth    int // nodes of the stack; 0: all is searched
	edges    edgeFinder
}

// proof is a node: what is known of each operation, which pairs are decided, and whether it is still to be tightened.
type proof struct {
	windows []window
	before  []bool // by ordered pair of a machine's operations: the one is done before the other
	isNew   bool
}

func newProver(c *core) *prover {
	p := &prover{core: c, machines: make([][]int32, c.machines), base: make([]int, c.machines)}
	for o := range int32(c.n) {
		m := c.machine[o]
		p.machines[m] = append(p.machines[m], o)
	}
	for m, ops := range p.machines {
		p.base[m] = p.pairs
		p.pairs += len(ops) * len(ops)
	}
	p.root()
	return p
}

// root begins anew with what the jobs alone say.
func (p *prover) root() {
	p.depth = 0
	x := p.push()
	clear(x.before)
	rest := p.rests()
	for j := range p.jobs {
		head := p.release[j]
		for o := p.first[j]; o < p.first[j+1]; o++ {
			x.windows[o] = window{head, p.duration[o], rest[o] - p.duration[o]}
			head += p.duration[o]
		}
	}
}

func (p *prover) push() *proof {
	if p.depth == len(p.stack) {
		p.stack = append(p.stack, proof{windows: make([]window, p.n), before: make([]bool, p.pairs)})
	}
	p.depth++
	x := &p.stack[p.depth-1]
	x.isNew = true
	return x
}

// bound is the least limit that the root does not refute; low is a bound already, high the length of a schedule.
func (p *prover) bound(low, high int32) int32 {
	for low < high {
		p.root()
		if p.limit = (low + high) / 2; p.tighten(&p.stack[0]) {
			high = p.limit
		} else {
			low = p.limit + 1
		}
	}
	return low
}

// verdict is what a search came to.
type verdict int

const (
	unsettled verdict = iota
	refuted           // no schedule is as short as the limit
	better            // there is one
)

// search looks at so many nodes, for schedules no longer than a limit that never grows from one call to the next. If
// it finds one, it goes on from there at the next call.
func (p *prover) search(limit int32, nodes int, found *solution) verdict {
	p.limit = limit
	for ; nodes > 0 && p.depth > 0; nodes-- {
		x := &p.stack[p.depth-1]
		if !p.tighten(x) {
			p.depth--
			continue
		}
		m, i, j := p.tightest(x)
		if m < 0 {
			p.write(x, found)
			p.depth--
			return better
		}
		p.branch(m, i, j)
	}
	if p.depth == 0 {
		return refuted
	}
	return unsettled
}

// branch replaces the node by two: the one order of a pair, and on top of it the other, which has more room.
func (p *prover) branch(m, i, j int) {
	y := p.push()
	x := &p.stack[p.depth-2]
	copy(y.windows, x.windows)
	copy(y.before, x.before)
	k := len(p.machines[m])
	x.before[p.base[m]+j*k+i] = true
	y.before[p.base[m]+i*k+j] = true
}

// tightest is the open pair with the least room, the order with more room first; -1: none is open.
func (p *prover) tightest(x *proof) (machine, first, second int) {
	machine = -1
	least := int64(1) << 40
	for m, ops := range p.machines {
		for i := range ops {
			for j := range i {
				at := p.base[m]
				if x.before[at+i*len(ops)+j] || x.before[at+j*len(ops)+i] {
					continue
				}
				ij, ji := p.room(x, ops[i], ops[j]), p.room(x, ops[j], ops[i])
				room := int64(max(ij, ji)) + 2*int64(min(ij, ji))
				if room < least {
					least, machine, first, second = room, m, i, j
					if ji > ij {
						first, second = j, i
					}
				}
			}
		}
	}
	return machine, first, second
}

// room is by how much a schedule could still be shorter than the limit if a is done before b; below 0: it cannot be.
func (p *prover) room(x *proof, a, b int32) int32 {
	u, v := &x.windows[a], &x.windows[b]
	return p.limit - u.head - u.length - v.length - v.tail
}

// write makes a solution of a node without open pairs: each operation as early as it can be.
func (p *prover) write(x *proof, s *solution) {
	s.value = 0
	for o := range int32(p.n) {
		w := &x.windows[o]
		s.mode[o] = o
		s.value = max(s.value, int64(w.head+w.length))
		at := int(o)
		for ; at > 0 && p.isLater(&x.windows[s.order[at-1]], w); at-- {
			s.order[at] = s.order[at-1]
		}
		s.order[at] = o
	}
}

func (p *prover) isLater(a, b *window) bool {
	return a.head > b.head || (a.head == b.head && a.length > b.length)
}
