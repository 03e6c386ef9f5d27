package bench

import (
	"fmt"
	"math/rand/v2"

	"tackfree/pkg/planner"
)

// The skills of a made up floor.
const (
	prepare = iota
	strip
	mend
	finish
	spray
	skills
)

// madeFloor makes up a floor of so many pieces, the same for a seed: people of one or two skills, a booth or two, a bench.
// A piece is taken apart; one part is stripped, sanded the day after, sealed, scuffed and coated, each within its recoat window;
// the other is mended and glued; then they are put together.
func madeFloor(pieces int, seed uint64) *planner.Problem {
	m := &maker{rand.New(rand.NewPCG(seed, 8)), &planner.Problem{Horizon: (pieces/2 + 60) * day}, make([][]int, skills)}
	m.people(skills + pieces/40)
	m.Stations = []planner.Station{{ID: "booth", Capacity: 1 + pieces/100}, {ID: "bench", Capacity: 4 + pieces/60}}
	for i := range pieces {
		release := day * m.IntN(1+pieces/4)
		m.Pieces = append(m.Pieces, planner.Piece{ID: fmt.Sprintf("P%03d", i+1), Release: release, Due: release + day*(7+m.IntN(14)), Weight: float64(int(1) << m.IntN(4))})
		m.piece(i)
	}
	return m.Problem
}

type maker struct {
	*rand.Rand
	*planner.Problem
	can [][]int // of each skill, who has it
}

// people work eight hours with a break on five days of seven.
func (m *maker) people(n int) {
	for w := range n {
		start := 7*60 + 30*m.IntN(4)
		var c planner.Calendar
		for d := 0; d < m.Horizon; d += day {
			if d/day%7 < 5 {
				c = append(c, planner.Window{Start: d + start, End: d + start + 240}, planner.Window{Start: d + start + 270, End: d + start + 510})
			}
		}
		m.Workers = append(m.Workers, planner.Worker{ID: fmt.Sprintf("W%02d", w+1), Calendar: c})
		m.can[w%skills] = append(m.can[w%skills], w)
		other := (w + 1 + m.IntN(skills-1)) % skills
		m.can[other] = append(m.can[other], w)
	}
}

func (m *maker) piece(i int) {
	const forever = planner.Forever
	first := m.operation(i, prepare, -1, 0, 0)
	sand := m.operation(i, strip, m.operation(i, strip, first, 0, forever), 720, forever)
	seal := m.operation(i, spray, sand, 0, forever)
	scuff := m.operation(i, finish, seal, 60, 2*day)
	coat := m.operation(i, spray, m.operation(i, spray, scuff, 0, forever), 120, 3*day)
	glue := m.operation(i, mend, m.operation(i, mend, first, 0, forever), 0, forever)
	last := m.operation(i, finish, coat, day, forever)
	m.Lags = append(m.Lags, planner.Lag{From: glue, To: last, Min: 240, Max: forever})
	m.operation(i, prepare, last, 0, forever)
}

// operation adds one of some skill that waits for another.
func (m *maker) operation(piece, skill, after, least, most int) int {
	op := len(m.Operations)
	o := planner.Operation{ID: fmt.Sprintf("%s.%03d", m.Pieces[piece].ID, op), Piece: piece, Stations: []int{1}, Demand: 1, Splittable: skill < finish}
	if skill == spray {
		o.Stations = []int{0}
	}
	minutes := 15 + 5*m.IntN(20)
	for _, w := range m.can[skill] {
		o.Modes = append(o.Modes, planner.Mode{Worker: w, Minutes: minutes + 5*m.IntN(1+minutes/15)})
	}
	m.Operations = append(m.Operations, o)
	if after >= 0 {
		m.Lags = append(m.Lags, planner.Lag{From: after, To: op, Min: least, Max: most})
	}
	return op
}
