package jobshop

// searcher goes from one order to the next.
type searcher interface {
	begin(s *solution)
	step() bool       // false: there is no move
	found() *solution // the best since begin
	idle() int64      // moves since it got better
}

// island is a population of elites, each of which a descent ended in, and one searcher.
type island struct {
	*solver
	number   int
	by       *chance
	search   searcher
	rest     []int32
	elites   []*solution
	best     *solution
	child    *solution
	guest    *solution // from another island, at the last meeting
	hasGuest bool
	quota    int64 // moves until the next meeting
	moves    int64 // made
	stale    int   // descents since the population changed
	over     bool
	resume   chan bool
	link     *relinker
}

// crowd is how many elites an island keeps; stuck is after how many descents, one after the other, that none of them
// was worse than it makes a new population; two that differ in fewer pairs than one in near operations are alike.
const (
	crowd = 12
	stuck = 30
	near  = 10
)

func newIsland(sv *solver, number int) *island {
	seed := chance(sv.o.Seed*0x9e3779b97f4a7c15 + uint64(number)*0xd1342543de82ef95 + 1)
	is := &island{solver: sv, number: number, by: &seed, rest: sv.core.rests(), best: sv.core.newSolution(),
		child: sv.core.newSolution(), guest: sv.core.newSolution(), resume: make(chan bool), quota: sv.quantum(), link: newRelinker(sv.core)}
	is.best.value = 1 << 62
	if sv.o.Objective == WeightedTardiness {
		is.search = newTardy(newGraph(sv.core), is.by)
	} else {
		is.search = newTabu(newGraph(sv.core), is.by)
	}
	return is
}

// run searches until the leader says that it is over.
func (is *island) run() {
	for !is.over {
		is.people()
		for is.stale = 0; !is.over && is.stale < stuck && len(is.elites) > 1; {
			is.generation()
		}
	}
}

// settle makes a new population; the best there is stays the best.
func (is *island) people() {
	is.elites = is.elites[:0]
	for len(is.elites) < crowd && !is.over {
		is.core.start(is.child, is.rest, is.by)
		is.descend()
		is.join(is.search.found())
	}
}

// descend searches from the child until it gets no better for long.
func (is *island) descend() {
	is.search.begin(is.child)
	is.remember()
	for limit := is.patience(); is.search.idle() < limit; {
		if is.quota--; is.quota < 0 || (is.quota&63 == 0 && is.halt.Load()) || is.best.value <= is.goal() {
			if is.meet(); is.over {
				return
			}
		}
		is.moves++
		if !is.search.step() {
			break
		}
		if is.search.idle() == 0 {
			is.remember()
		}
	}
}

func (is *island) goal() int64 { return max(is.bound, is.o.Target) }

// patience is for how many moves a descent may get no better: as Peng, Lü and Cheng have it; fewer where each move is
// tried out, on one island more than on the next, for which is better hangs on the shop.
func (is *island) patience() int64 {
	if is.o.Objective == WeightedTardiness {
		return 1200 << (2 * (is.number & 1))
	}
	return 12500
}

func (is *island) remember() {
	if f := is.search.found(); f.value < is.best.value {
		is.best.copyFrom(f)
	}
}

// meet waits for the other islands.
func (is *island) meet() {
	is.arrived <- is.number
	is.over = !<-is.resume
}

// join takes a solution into the population: instead of one that it is near to, if it is better than that; else while
// there is room, or instead of the worst. It gives whether it did.
func (is *island) join(s *solution) bool {
	worst := 0
	for i, e := range is.elites {
		if is.link.distance(s, e) <= is.core.n/near {
			return is.replace(e, s)
		}
		if e.value > is.elites[worst].value {
			worst = i
		}
	}
	if len(is.elites) < crowd {
		e := is.core.newSolution()
		e.copyFrom(s)
		is.elites = append(is.elites, e)
		return true
	}
	return is.replace(is.elites[worst], s)
}

func (is *island) replace(e, s *solution) bool {
	if s.value >= e.value {
		return false
	}
	e.copyFrom(s)
	return true
}

// generation goes from one elite towards another and searches from where it comes to.
func (is *island) generation() {
	is.stale++
	if is.hasGuest {
		is.join(is.guest)
		is.hasGuest = false
	}
	i := is.by.below(len(is.elites))
	j := is.by.below(len(is.elites) - 1)
	if j >= i {
		j++
	}
	is.link.between(is.elites[i], is.elites[j], is.child, is.by)
	is.descend()
	if is.join(is.search.found()) {
		is.stale = 0
	}
}
