package server_test

import (
	"slices"

	"pgregory.net/rapid"

	"tackfree/pkg/svctest"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

type modelStation struct {
	name    string
	holds   int
	byParts bool // it counts parts, not pieces
}

// modelPlace is a part that stands somewhere, in milliseconds from the morning: what is carried on
// within a minute stood there for one of them.
type modelPlace struct {
	Piece, Part int
	Station     int // or abroad
	From        int
	to          int // 0: it is there
}

// abroad is where others have a part.
const abroad = -2

// furnish puts stations there, none of which could hold both pieces.
func (m *model) furnish() {
	for _, s := range []modelStation{{"bench", 1, false}, {"booth", 1, true}, {"rack", 2, true}} {
		st := boothFor(s.name+"-"+svctest.NewID(), int32(s.holds))
		if s.byParts {
			st.Unit = workflowv1.Station_UNIT_PARTS
		}
		s.name = m.f.saveStation(m.t, st).Name
		m.stations = append(m.stations, s)
	}
}

// move carries a part, or all of a piece that is here, to a station or away from all.
func (m *model) move(rt *rapid.T) {
	piece := rapid.IntRange(0, len(m.pieces)-1).Draw(rt, "piece")
	p := m.pieces[piece]
	part := rapid.IntRange(whole, len(p.parts)-1).Draw(rt, "part")
	to, at := rapid.IntRange(none, len(m.stations)-1).Draw(rt, "to"), m.when(rt)
	r := &workflowv1.MovePieceRequest{RequestId: svctest.NewID(), Piece: p.name, MoveTime: second(at), Station: m.stationOf(target{station: to})}
	if part != whole {
		r.Part = p.parts[part]
	}
	_, err := m.f.sites().MovePiece(svctest.Ctx(m.t), r)
	if m.agree(rt, "move", m.mayMove(piece, part, to, at), err) {
		m.carry(m.here(piece, part), to, at)
	}
}

// mayMove is the rule of carrying something.
func (m *model) mayMove(piece, part, to, at int) bool {
	here := m.here(piece, part)
	late := slices.ContainsFunc(here, func(p modelPlace) bool { return m.stands(p) != to && m.tooSoon(p, at) })
	return len(here) > 0 && !late && m.room(to, m.comings(here, to, at))
}

// here are the parts of what is named that others do not have.
func (m *model) here(piece, part int) []modelPlace {
	return slices.DeleteFunc(m.partsOf(piece, part), func(p modelPlace) bool { return m.stands(p) == abroad })
}

func (m *model) partsOf(piece, part int) (parts []modelPlace) {
	for i := range m.pieces[piece].parts {
		if touch(part, i) {
			parts = append(parts, modelPlace{Piece: piece, Part: i})
		}
	}
	return parts
}

// standOn are the parts on which jobs are done.
func (m *model) standOn(jobs []int) (parts []modelPlace) {
	for _, j := range jobs {
		if j != indirect {
			parts = append(parts, m.partsOf(m.stages[j].piece, m.stages[j].part)...)
		}
	}
	return parts
}

// lastPlace is where a part stands or stood last; nil is nowhere yet.
func (m *model) lastPlace(part modelPlace) (last *modelPlace) {
	for i := range m.placed {
		if p := &m.placed[i]; p.Piece == part.Piece && p.Part == part.Part {
			last = p
		}
	}
	return last
}

func (m *model) stands(part modelPlace) (station int) {
	if last := m.lastPlace(part); last != nil && last.to == 0 {
		return last.Station
	}
	return none
}

// tooSoon tells whether a part came where it is, or left, later than in that minute.
func (m *model) tooSoon(part modelPlace, at int) bool {
	last := m.lastPlace(part)
	return last != nil && at < max(last.From, last.to)/60_000*60
}

// comings are the parts that have to be carried to a station, and from when on they stand there.
func (m *model) comings(parts []modelPlace, to, at int) (more []modelPlace) {
	for _, p := range parts {
		if m.stands(p) == to {
			continue
		}
		p.Station, p.From = to, at*1000
		if last := m.lastPlace(p); last != nil && last.to == 0 {
			p.From = max(p.From, last.From+1)
		} else if last != nil {
			p.From = max(p.From, last.to)
		}
		more = append(more, p)
	}
	return more
}

// carry carries parts where they are not already.
func (m *model) carry(parts []modelPlace, to, at int) {
	for _, p := range m.comings(parts, to, at) {
		if last := m.lastPlace(p); last != nil && last.to == 0 {
			last.to = p.From
		}
		if to != none {
			m.placed = append(m.placed, p)
		}
	}
}

// room tells whether a station never holds too much once more has come.
func (m *model) room(station int, more []modelPlace) bool {
	if station < 0 {
		return true
	}
	all := slices.DeleteFunc(slices.Concat(m.placed, more), func(p modelPlace) bool { return p.Station != station })
	return !slices.ContainsFunc(all, func(p modelPlace) bool { return m.stations[station].count(all, p.From) > m.stations[station].holds })
}

// count is how much of all stands there at an instant.
func (s modelStation) count(all []modelPlace, at int) (n int) {
	pieces := map[int]bool{}
	for _, p := range all {
		if p.From <= at && (p.to == 0 || at < p.to) {
			pieces[p.Piece] = true
			n++
		}
	}
	if s.byParts {
		return n
	}
	return len(pieces)
}
