package planning

import (
	"maps"
	"math"
	"slices"
	"time"

	"tackfree/pkg/finish"
	"tackfree/pkg/id"
	"tackfree/pkg/planner"
	"tackfree/services/workflow/internal/workflow"
)

// dryDoubt is how far what is not wet yet may dry for longer or shorter than planned: the standard deviation
// of the logarithm of its time. Common practice.
const dryDoubt = 0.25

// tenth is how many standard deviations a tenth lies from the middle of a normal distribution.
const tenth = 1.2816

// order makes the stages of a piece wait for each other, and for what those before them leave wet: also
// where another part's stage comes between.
func (m *maker) order(p *Piece) {
	wet := map[id.ID]map[id.ID]*workflow.Stage{} // behind each stage: what nobody has waited for yet
	for k := range p.Stages {
		s := &p.Stages[k]
		if s.Finished() {
			continue
		}
		below := map[id.ID]*workflow.Stage{}
		for _, b := range s.After {
			maps.Copy(below, wet[b])
		}
		for i := range p.Stages[:k] {
			before := &p.Stages[i]
			wait, direct := time.Duration(0), slices.Contains(s.After, before.ID) && !before.Finished()
			if below[before.ID] != nil {
				wait = dries(before, s)
			}
			if direct || wait > 0 {
				m.lag(before, s, wait, direct)
			}
			if wait > 0 {
				delete(below, before.ID)
			}
		}
		if s.Attended > 0 && s.Unattended > 0 {
			below[s.ID] = s
		}
		wet[s.ID] = below
	}
}

// dries is how long a stage waits for what another leaves wet: for a film only if it asks something of
// films, for wet wood and glue always.
func dries(before, s *workflow.Stage) time.Duration {
	if !s.On(before.Part) || (before.Coating != nil && s.Asks() == finish.NeedsNothing) {
		return 0
	}
	return before.Unattended
}

// lag makes a stage wait for another. A coat that comes right upon a coat is to come before the window of
// that closes, as long as both can.
func (m *maker) lag(before, s *workflow.Stage, wait time.Duration, direct bool) {
	from, to := m.opOf[before.ID], m.opOf[s.ID]
	if from == to {
		return
	}
	l := planner.Lag{From: from, To: to, Min: int(wait / time.Minute), Max: planner.Forever}
	if direct && before.Latest >= wait && before.Latest > 0 && s.On(before.Part) && coats(before) && coats(s) {
		l.Max = int(before.Latest / time.Minute)
	}
	doubt := 0.0
	if l.Min > 0 {
		doubt = dryDoubt
	}
	m.p.Lags, m.doubt.Lags = append(m.p.Lags, l), append(m.doubt.Lags, doubt)
}

func coats(s *workflow.Stage) bool { return finish.Kind(s.Kind).LeavesFilm() }

// wet makes a job wait for what dries below it now. It is told by an operation that is over.
func (m *maker) wet(op int) {
	j := m.jobs[op]
	for i, s := range j.stages {
		p := &m.Pieces[j.pieces[i]]
		w := p.Wait(*s)
		dry, next := w.Over(m.Now), !slices.ContainsFunc(s.After, func(b id.ID) bool { _, left := m.opOf[b]; return left })
		if !dry && w.Until.Likely.IsZero() {
			j.cannot = &reason{Waits, never(s)}
			continue
		}
		l := planner.Lag{From: len(m.p.Operations), To: op, Max: planner.Forever}
		if !dry {
			l.Min = m.at(w.Until.Likely)
		}
		if next && !w.Closes.IsZero() {
			if closes := m.at(w.Closes); closes >= max(1, l.Min) {
				l.Max = closes
			} else {
				j.missed = true
			}
		}
		if l.Min > 0 || l.Max != planner.Forever {
			m.mark(j.pieces[i], l, m.spread(w))
		}
	}
}

// mark adds an operation that is over now, which another waits for.
func (m *maker) mark(piece int, l planner.Lag, doubt float64) {
	m.p.Fixed = append(m.p.Fixed, planner.Fixed{Operation: l.From, Slot: planner.Slot{Worker: planner.NoWorker, Station: planner.NoStation}})
	m.p.Operations = append(m.p.Operations, planner.Operation{ID: "wet", Piece: piece, Modes: []planner.Mode{{Worker: planner.NoWorker}}, Demand: 1})
	m.p.Lags, m.doubt.Lags = append(m.p.Lags, l), append(m.doubt.Lags, doubt)
}

// spread is how far what dries may be off, by the range of its forecast: a tenth and nine tenths.
func (m *maker) spread(w workflow.Wait) float64 {
	early, late := w.Until.Early.Sub(m.Now).Minutes(), w.Until.Late.Sub(m.Now).Minutes()
	if early < 1 || late <= early {
		return 0
	}
	return min(1, math.Log(late/early)/(2*tenth))
}
