package jobshop

import "tackfree/pkg/fault"

// lead meets the islands each time they have all made their moves, in the order of their numbers, and searches for a
// proof meanwhile.
func (sv *solver) lead() {
	for {
		verdict := sv.prove()
		for range sv.islands {
			<-sv.arrived
		}
		sv.calm++
		before := sv.best.value
		for _, is := range sv.islands {
			sv.result.Iterations = max(sv.result.Iterations, is.moves)
			sv.take(is.best)
		}
		sv.conclude(verdict, before)
		over := sv.enough() || sv.halt.Load() || (sv.o.Iterations > 0 && sv.result.Iterations >= sv.o.Iterations)
		if !over {
			sv.exchange()
		}
		for _, is := range sv.islands {
			is.resume <- !over
		}
		if over {
			return
		}
	}
}

// Shops of more operations than these get no bound by edge finding, and no branch and bound.
const (
	mostBounded = 600
	mostProven  = 120
)

// prove lets the prover look at some nodes: few while the islands still find better schedules, many once they do not.
func (sv *solver) prove() verdict {
	if sv.prover == nil || sv.core.n > mostProven {
		return unsettled
	}
	nodes := 1 + 4000/sv.core.n
	if sv.calm > 50 {
		nodes *= 8
	}
	for ; nodes > 0 && !sv.halt.Load(); nodes -= 8 {
		if v := sv.prover.search(int32(sv.best.value-1), 8, sv.proof); v != unsettled {
			return v
		}
	}
	return unsettled
}

// conclude draws the conclusion from what the prover found when the best was worth so much.
func (sv *solver) conclude(v verdict, best int64) {
	switch v {
	case refuted:
		sv.bound = best
	case better:
		sv.take(sv.proof)
	case unsettled:
	}
	sv.settle()
}

// quantum is how many moves an island makes between two meetings: some hundredths of a second, less at first.
func (sv *solver) quantum() int64 {
	work := 4_000_000
	if sv.o.Objective == WeightedTardiness {
		work /= 10
	}
	q := max(1000, min(int64(work/(sv.core.n+1)), 1000+sv.result.Iterations))
	if sv.o.Iterations > 0 {
		q = min(q, max(1, sv.o.Iterations-sv.result.Iterations))
	}
	return q
}

func (sv *solver) enough() bool {
	return sv.err != nil || sv.best.value <= sv.o.Target || sv.best.value <= sv.bound
}

// exchange gives the best of each island to the next one.
func (sv *solver) exchange() {
	k := len(sv.islands)
	for i, is := range sv.islands {
		if k > 1 {
			is.guest.copyFrom(sv.islands[(i+k-1)%k].best)
			is.hasGuest = true
		}
		is.quota = sv.quantum()
	}
}

// take makes a solution the result if it is better, and the rules, not the search, say what it comes to.
func (sv *solver) take(s *solution) {
	if sv.best != nil && s.value >= sv.best.value {
		return
	}
	if sv.best == nil {
		sv.best = sv.core.newSolution()
	}
	sv.best.copyFrom(s)
	sv.calm = 0
	plan := sv.core.schedule(s)
	makespan, tardiness, err := Validate(sv.shop, plan)
	value := int64(makespan)
	if sv.o.Objective == WeightedTardiness {
		value = tardiness
	}
	if err == nil && value != s.value {
		err = fault.New(fault.Internal, "WRONG_OBJECTIVE", "the search takes a schedule of %d for one of %d", value, s.value)
	}
	if err != nil {
		sv.err = err
		return
	}
	sv.result.Schedule, sv.result.Makespan, sv.result.Tardiness, sv.result.Objective = plan, makespan, tardiness, value
	sv.settle()
	if sv.improved != nil {
		sv.improved(Improvement{Objective: value, Bound: sv.bound, Iterations: sv.result.Iterations, Schedule: plan})
	}
}

// settle says how far the result is proven.
func (sv *solver) settle() {
	sv.result.Bound = sv.bound
	sv.result.Proven = sv.result.Objective == sv.bound
}
