package planner

// Carry makes a plan of one problem one of another that is about the same floor, later: operations, workers
// and stations are the same by their ids, and the other's minute 0 is so many minutes after that of the first.
// Operations that the plan says nothing of are left out of it, to be put in.
func Carry(plan *Plan, from, to *Problem, later Minute) *Plan {
	op, worker, station := map[string]int{}, map[string]int{}, map[string]int{}
	for i := range from.Operations {
		op[from.Operations[i].ID] = i
	}
	for i := range to.Workers {
		worker[to.Workers[i].ID] = i
	}
	for i := range to.Stations {
		station[to.Stations[i].ID] = i
	}
	out, left := &Plan{Slots: make([]Slot, len(to.Operations))}, plan.leaves()
	for i := range to.Operations {
		old, known := op[to.Operations[i].ID]
		if !known || left[old] {
			out.Left = append(out.Left, Unplaced{i, AfterHorizon})
			continue
		}
		was := plan.Slots[old]
		s := Slot{NoWorker, NoStation, was.Start - later, was.End - later}
		ok := true
		if was.Worker != NoWorker {
			s.Worker, ok = worker[from.Workers[was.Worker].ID]
		}
		if was.Station != NoStation && ok {
			s.Station, ok = station[from.Stations[was.Station].ID]
		}
		if !ok {
			out.Left = append(out.Left, Unplaced{i, AfterHorizon})
			continue
		}
		out.Slots[i] = s
	}
	return out
}

// leaves tells which operations a plan leaves out.
func (p *Plan) leaves() map[int]bool {
	left := map[int]bool{}
	for _, u := range p.Left {
		left[u.Operation] = true
	}
	return left
}

// Moved counts the operations that begin in the first plan within so many minutes after now, and of them those
// that the second has at another time or at other hands. What is fixed does not count.
func Moved(p *Problem, first, second *Plan, within int) (moved, of int) {
	fixed := map[int]bool{}
	for _, f := range p.Fixed {
		fixed[f.Operation] = true
	}
	left, gone := first.leaves(), second.leaves()
	for op, was := range first.Slots {
		if left[op] || fixed[op] || was.Start < p.Now || was.Start >= p.Now+within {
			continue
		}
		of++
		if is := second.Slots[op]; gone[op] || is.Start != was.Start || is.Worker != was.Worker {
			moved++
		}
	}
	return moved, of
}
