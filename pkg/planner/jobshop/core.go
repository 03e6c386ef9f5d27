package jobshop

// core is a shop as the search reads it: operations numbered through, job by job, in flat tables.
type core struct {
	machines int
	jobs     int
	n        int     // operations
	jobOf    []int32 // by operation
	first    []int32 // by job, and one more: its first operation
	modeAt   []int32 // by operation, and one more: its first mode
	machine  []int32 // by mode
	duration []int32 // by mode
	release  []int32 // by job
	due      []int32
	weight   []int32
	flexible bool // some operation has more than one mode
}

func compile(s *Shop) *core {
	c := &core{machines: s.Machines, jobs: len(s.Jobs), first: []int32{0}, modeAt: []int32{0}}
	for j, job := range s.Jobs {
		c.release = append(c.release, int32(job.Release))
		c.due = append(c.due, int32(job.Due))
		c.weight = append(c.weight, int32(job.Weight))
		for _, o := range job.Operations {
			c.jobOf = append(c.jobOf, int32(j))
			c.flexible = c.flexible || len(o.Modes) > 1
			for _, m := range o.Modes {
				c.machine = append(c.machine, int32(m.Machine))
				c.duration = append(c.duration, int32(m.Duration))
			}
			c.modeAt = append(c.modeAt, int32(len(c.machine)))
		}
		c.first = append(c.first, int32(len(c.jobOf)))
	}
	c.n = len(c.jobOf)
	return c
}

// quickest is the mode of an operation that takes the least time.
func (c *core) quickest(op int32) int32 {
	best := c.modeAt[op]
	for m := best + 1; m < c.modeAt[op+1]; m++ {
		if c.duration[m] < c.duration[best] {
			best = m
		}
	}
	return best
}

// solution is a feasible order in the least room: a topological order of the operations, which is also the order on
// each machine, and the mode of each.
type solution struct {
	order []int32 // operations
	mode  []int32 // by operation
	value int64   // of the objective
}

func (c *core) newSolution() *solution {
	return &solution{order: make([]int32, c.n), mode: make([]int32, c.n)}
}

func (s *solution) copyFrom(o *solution) {
	copy(s.order, o.order)
	copy(s.mode, o.mode)
	s.value = o.value
}

// schedule places each operation as early as the order lets it.
func (c *core) schedule(s *solution) Schedule {
	plan := make(Schedule, c.jobs)
	free := make([]int, c.machines)
	ready := make([]int, c.jobs)
	for j := range plan {
		plan[j] = make([]Placed, 0, c.first[j+1]-c.first[j])
		ready[j] = int(c.release[j])
	}
	for _, op := range s.order {
		j, m := c.jobOf[op], c.machine[s.mode[op]]
		start := max(ready[j], free[m])
		end := start + int(c.duration[s.mode[op]])
		plan[j] = append(plan[j], Placed{Machine: int(m), Start: start, End: end})
		ready[j], free[m] = end, end
	}
	return plan
}
