package planner

// queue is a heap of blocks that could begin, the soonest first, of those that could at the same minute
// the one that was there first.
type queue []waiting

func (q queue) Len() int { return len(q) }
func (q queue) Less(i, j int) bool {
	if q[i].at != q[j].at {
		return q[i].at < q[j].at
	}
	return q[i].block < q[j].block
}
func (q queue) Swap(i, j int) { q[i], q[j] = q[j], q[i] }
func (q *queue) Push(x any)   { *q = append(*q, x.(waiting)) }
func (q *queue) Pop() any {
	last := (*q)[len(*q)-1]
	*q = (*q)[:len(*q)-1]
	return last
}

// pressing is a heap of blocks that could begin about now, the most urgent first, of those alike the one
// that is due first.
type pressing []waiting

func (p pressing) Len() int { return len(p) }
func (p pressing) Less(i, j int) bool {
	if p[i].urgency != p[j].urgency {
		return p[i].urgency > p[j].urgency
	}
	if p[i].due != p[j].due {
		return p[i].due < p[j].due
	}
	return p[i].block < p[j].block
}
func (p pressing) Swap(i, j int) { p[i], p[j] = p[j], p[i] }
func (p *pressing) Push(x any)   { *p = append(*p, x.(waiting)) }
func (p *pressing) Pop() any {
	last := (*p)[len(*p)-1]
	*p = (*p)[:len(*p)-1]
	return last
}

// objective is what the plan so far costs.
func (f *floor) objective() (o Objective) {
	end := make([]Minute, len(f.Pieces))
	for op, s := range f.slots {
		if f.placed[op] {
			piece := f.Operations[op].Piece
			end[piece] = max(end[piece], s.End)
			o.Makespan = max(o.Makespan, s.End)
		}
	}
	for i, p := range f.Pieces {
		if end[i] > p.Due {
			o.Tardiness += p.Weight * float64(end[i]-p.Due)
		}
		if end[i] > p.Release {
			o.Flow += p.Weight * float64(end[i]-p.Release)
		}
	}
	return o
}
