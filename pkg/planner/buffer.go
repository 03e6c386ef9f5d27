package planner

const (
	steadyRounds = 3
	steadyRuns   = 200
	steadyShare  = 0.8 // of runs, beyond whose delay a promise is not moved
)

// Steady makes a plan keep its promises when times fall by chance. It plays the plan, takes each promise for due as
// much sooner as the piece is done later in 8 of 10 runs than it is planned, improves the plan against these dates,
// and plays what comes of it; some rounds within the options' iterations or budget. It gives the plan whose weighted
// tardiness is the least in the mean over the runs, which are by the same draws for all: by these never a worse one
// than the plan at the start, nor one that leaves out or misses more. Improved, which may be nil, is told of the start and of each better one. Objectives
// count from the promises as they are. Faults: PROBLEM_MALFORMED.
//
// Source: buffers of a fixed share of the time are too large for some and too small for others (Herroelen and Leus,
// Journal of Operations Management 19 (2001) 559-577), hence by simulation.
func Steady(p *Problem, plan *Plan, d Doubt, o Options, improved func(Improvement)) (*Plan, error) {
	if plan == nil {
		return nil, malformed("There is no plan to make steady.")
	}
	o, err := o.complete(p, plan)
	if err != nil {
		return nil, err
	}
	s := &steadying{p: p, doubt: d, o: o, tell: improved}
	if err := s.take(plan, 0); err != nil {
		return nil, err
	}
	for round := range steadyRounds {
		q, part := s.buffered(), o
		part.Iterations = o.Iterations*(round+1)/steadyRounds - o.Iterations*round/steadyRounds
		part.Budget = o.Budget.between(float64(round)/steadyRounds, float64(round+1)/steadyRounds)
		if o.Budget != nil && o.Budget() >= 1 || o.Iterations > 0 && part.Iterations == 0 {
			continue // no time for this one
		}
		tried := 0
		next, err := Improve(q, s.best, part, func(i Improvement) { tried = i.Iterations })
		if err != nil {
			return nil, err
		}
		if err := s.take(next, tried); err != nil {
			return nil, err
		}
	}
	return s.best, nil
}

// steadying keeps the plan that does best when it is played.
type steadying struct {
	p         *Problem
	doubt     Doubt
	o         Options
	tell      func(Improvement)
	best      *Plan
	played    []Outlook
	tardiness float64 // of the best, the mean over the runs
	tried     int
}

// take plays a plan and keeps it if it is better than the best.
func (s *steadying) take(plan *Plan, tried int) error {
	s.tried += tried
	played, err := Simulate(s.p, plan, s.doubt, steadyRuns, s.o.Seed)
	if err != nil {
		return err
	}
	sum := 0.0
	for _, o := range played {
		sum += o.Tardiness
	}
	if s.best != nil && (sum >= s.tardiness || len(plan.Left) > len(s.best.Left) || len(plan.Missed) > len(s.best.Missed)) {
		return nil
	}
	kept := *plan
	kept.Objective = s.p.objective(plan.Slots, plan.placed())
	s.best, s.played, s.tardiness = &kept, played, sum
	if s.tell != nil {
		s.tell(Improvement{Plan: s.best, Iterations: s.tried})
	}
	return nil
}

// buffered is the problem with each promise as much sooner as the best plan needs.
func (s *steadying) buffered() *Problem {
	q, ends := *s.p, make([]Minute, len(s.p.Pieces))
	q.Pieces = append([]Piece(nil), s.p.Pieces...)
	for op, slot := range s.best.Slots {
		piece := s.p.Operations[op].Piece
		ends[piece] = max(ends[piece], slot.End)
	}
	for i := range q.Pieces {
		if q.Pieces[i].Due != NoDue {
			q.Pieces[i].Due -= max(0, s.played[i].By(steadyShare)-ends[i])
		}
	}
	return &q
}

// placed tells which operations have a place.
func (p *Plan) placed() []bool {
	all, left := make([]bool, len(p.Slots)), p.leaves()
	for op := range all {
		all[op] = !left[op]
	}
	return all
}
