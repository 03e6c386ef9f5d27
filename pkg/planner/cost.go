package planner

// slot gives the place of an operation in minutes; a fixed one's is as it was given.
func (c *compiled) slot(p place) Slot {
	return Slot{int(p.worker), int(p.station), c.minutes(int(p.start)), c.minutes(int(p.end))}
}

// made is the plan so far.
func (f *floor) made(left []Unplaced) *Plan {
	plan := &Plan{Slots: make([]Slot, len(f.places)), Missed: f.missed(), Left: left}
	for op, p := range f.places {
		if f.placed[op] {
			plan.Slots[op] = f.slot(p)
		}
	}
	for _, x := range f.real.Fixed {
		plan.Slots[x.Operation] = x.Slot
	}
	plan.Objective = f.real.objective(plan.Slots, f.placed)
	return plan
}

// Objective is what a plan costs.
func (p *Problem) Objective(plan *Plan) Objective { return p.objective(plan.Slots, plan.placed()) }

// objective is what slots cost.
func (p *Problem) objective(slots []Slot, placed []bool) (o Objective) {
	end := make([]Minute, len(p.Pieces))
	for op, s := range slots {
		if placed[op] {
			piece := p.Operations[op].Piece
			end[piece] = max(end[piece], s.End)
			o.Makespan = max(o.Makespan, s.End)
		}
	}
	for i, x := range p.Pieces {
		if end[i] > x.Due {
			o.Tardiness += x.Weight * float64(end[i]-x.Due)
		}
		if end[i] > x.Release {
			o.Flow += x.Weight * float64(end[i]-x.Release)
		}
	}
	return o
}
