package jobshop

// start makes a schedule job step by job step: of the operations that could end the soonest, with some chance, the one
// whose job has most work left or is most urgent. Each call gives another.
func (c *core) start(s *solution, rest []int32, by *chance) {
	ready := make([]int32, c.jobs)
	free := make([]int32, c.machines)
	next := make([]int32, c.jobs)
	copy(ready, c.release)
	copy(next, c.first)
	slack := by.unit()
	for i := range s.order {
		op, mode := c.pick(ready, free, next, rest, slack, by)
		j := c.jobOf[op]
		end := max(ready[j], free[c.machine[mode]]) + c.duration[mode]
		ready[j], free[c.machine[mode]] = end, end
		next[j]++
		s.order[i], s.mode[op] = op, mode
	}
}

// pick takes, among the next operations of all jobs, one that can begin before any of them could end (Giffler and
// Thompson, Operations Research 8 (1960) 487-503; by slack nearer to: as soon as any), with the most work left.
func (c *core) pick(ready, free, next, rest []int32, slack float64, by *chance) (op, mode int32) {
	soonest, end := unknown, unknown
	for j := range next {
		if next[j] == c.first[j+1] {
			continue
		}
		m := c.soonest(next[j], ready[j], free, by)
		begin := max(ready[j], free[c.machine[m]])
		soonest, end = min(soonest, begin), min(end, begin+c.duration[m])
	}
	limit := soonest + int32(slack*float64(end-soonest))
	best := -1.0
	for j := range next {
		if next[j] == c.first[j+1] {
			continue
		}
		m := c.soonest(next[j], ready[j], free, by)
		if max(ready[j], free[c.machine[m]]) > limit {
			continue
		}
		if worth := float64(rest[next[j]]+1) * (0.5 + by.unit()); worth > best {
			best, op, mode = worth, next[j], m
		}
	}
	if best < 0 { // chance moved a tie to another machine: begin whatever can begin the soonest
		return c.earliest(ready, free, next)
	}
	return op, mode
}

// earliest is the next operation that can begin the soonest, in the mode in which it can.
func (c *core) earliest(ready, free, next []int32) (op, mode int32) {
	least := unknown
	for j := range next {
		if next[j] == c.first[j+1] {
			continue
		}
		for m := c.modeAt[next[j]]; m < c.modeAt[next[j]+1]; m++ {
			if begin := max(ready[j], free[c.machine[m]]); begin < least {
				least, op, mode = begin, next[j], m
			}
		}
	}
	return op, mode
}

// soonest is the mode in which an operation ends the soonest; of equal ones, any.
func (c *core) soonest(op, ready int32, free []int32, by *chance) (mode int32) {
	least, ties := unknown, 0
	for m := c.modeAt[op]; m < c.modeAt[op+1]; m++ {
		end := max(ready, free[c.machine[m]]) + c.duration[m]
		if end < least {
			least, mode, ties = end, m, 1
		} else if end == least {
			if ties++; by.below(ties) == 0 {
				mode = m
			}
		}
	}
	return mode
}

// rests is, by operation, the least work that its job has left from it on.
func (c *core) rests() []int32 {
	rest := make([]int32, c.n+1)
	for j := range c.jobs {
		sum := int32(0)
		for o := c.first[j+1] - 1; o >= c.first[j]; o-- {
			sum += c.duration[c.quickest(o)]
			rest[o] = sum
		}
	}
	return rest
}
