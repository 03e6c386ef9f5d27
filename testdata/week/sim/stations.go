package sim

import (
	"slices"
	"time"
)

// station is where work is done, and what stands there.
type station struct {
	Word       string   `json:"word"`
	Name       string   `json:"name"`
	Kind       string   `json:"kind"`
	Capacity   int      `json:"capacity"`
	Unit       string   `json:"unit"`
	Open       []string `json:"open,omitempty"`
	Work       []string `json:"work,omitempty"`
	Changeover int      `json:"changeover_minutes,omitempty"`
	Zone       string   `json:"zone,omitempty"`

	kind     string // as stages ask for it
	from, to int    // minutes of the day when it is open; zero: always
}

func stations() []*station {
	return []*station{
		{Word: "bench-north", Name: "North bench room", Kind: "BENCH", Capacity: 10, Unit: "PIECES", Zone: "north", kind: "bench"},
		{Word: "bench-south", Name: "South bench room", Kind: "BENCH", Capacity: 12, Unit: "PIECES", Zone: "south", kind: "bench"},
		{Word: "booth", Name: "Spray booth", Kind: "BOOTH", Capacity: 4, Unit: "PIECES", Open: []string{"mon-sat 07:00-18:30"}, Work: []string{"prime", "paint_coat", "topcoat_coat"},
			Changeover: 20, Zone: "booth", kind: "booth", from: 7 * 60, to: 18*60 + 30},
		{Word: "rack-long", Name: "Long rack", Kind: "RACK", Capacity: 40, Unit: "PARTS", kind: "rack"},
		{Word: "rack-tall", Name: "Tall rack", Kind: "RACK", Capacity: 30, Unit: "PARTS", kind: "rack"},
		{Word: "yard", Name: "Yard under the roof", Kind: "OUTDOORS", Capacity: 6, Unit: "PIECES", Open: []string{"mon-sat 06:30-17:30"}, Work: []string{"strip", "wash_off"},
			kind: "outdoors", from: 6*60 + 30, to: 17*60 + 30},
	}
}

// open reports whether the station is open at a minute.
func (st *station) open(now time.Time) bool {
	minute := now.Hour()*60 + now.Minute()
	return st.to == 0 || minute >= st.from && minute < st.to-30
}

// goes takes a part to a station; nil is none.
func (pt *part) goes(to *station, when time.Time) {
	pt.was, pt.station, pt.since = pt.station, to, when
}

// there are the parts at a station, in the order of the pieces, and those that only leave it later
// in this minute.
func (s *shop) there(st *station) (all []*part) {
	for _, pc := range s.pieces {
		for _, pt := range pc.parts {
			if pt.station == st || pt.was == st && pt.since.After(s.now) {
				all = append(all, pt)
			}
		}
	}
	return all
}

// room reports whether parts of a piece find room at a station beside what is there.
func (s *shop) room(st *station, pc *piece, parts []*part) bool {
	pieces, n := map[*piece]bool{pc: true}, 0
	for _, pt := range s.there(st) {
		pieces[pt.piece] = true
		n += pt.Count
	}
	for _, pt := range parts {
		if pt.station != st {
			n += pt.Count
		}
	}
	if st.Unit == "PIECES" {
		return len(pieces) <= st.Capacity
	}
	return n <= st.Capacity
}

// roomFor finds a station for parts of pieces that are to be there together, and what has to be
// carried away first; nil: there is none.
func (s *shop) roomFor(p *person, kind string, pieces []*piece) (*station, []*piece) {
	var best *station
	var away []*piece
	for _, st := range s.stations {
		if st.kind != kind || !p.may(st) || !st.open(s.now) {
			continue
		}
		out, fits := s.clear(st, pieces)
		if fits && (best == nil || len(out) < len(away)) {
			best, away = st, out
		}
	}
	return best, away
}

// clear is what has to leave a station so that pieces find room there: what came first and is
// not worked on now. Stations that are worked at count pieces.
func (s *shop) clear(st *station, pieces []*piece) (out []*piece, fits bool) {
	var others []*piece
	for _, pt := range s.there(st) {
		if !slices.Contains(pieces, pt.piece) && !slices.Contains(others, pt.piece) {
			others = append(others, pt.piece)
		}
	}
	slices.SortStableFunc(others, func(a, b *piece) int { return a.came(st).Compare(b.came(st)) })
	for _, o := range others {
		if len(others)-len(out)+len(pieces) <= st.Capacity {
			return out, true
		}
		if !o.busy() && o.came(st).Before(s.now) {
			out = append(out, o)
		}
	}
	return out, len(others)-len(out)+len(pieces) <= st.Capacity
}

// carryAway carries what stands of a piece at a station to a rack with room, or out of the way.
func (s *shop) carryAway(p *person, st *station, pc *piece) {
	for _, pt := range pc.parts {
		if pt.station != st {
			continue
		}
		to := (*station)(nil)
		for _, rack := range s.stations {
			if rack.kind == "rack" && s.room(rack, pc, []*part{pt}) {
				to = rack
				break
			}
		}
		m := move{Piece: pc.tag(), Part: pt.Label}
		if to != nil {
			m.Station = to.Word
		}
		s.say(s.now, "move", m).By = p.Name
		pt.goes(to, s.now)
	}
}
