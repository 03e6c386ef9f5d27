package workflow

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
)

// Placement is a part that stands somewhere from one time to another: at a station, or with
// others outside the shop.
type Placement struct {
	ID          id.ID
	Piece       id.ID
	PieceTag    int32
	Part        id.ID // id.Nil: what nobody told the parts of
	PartLabel   string
	Takes       int32 // how many there are of the part
	Station     id.ID // id.Nil: outside
	StationWord string
	Outside     id.ID // the work that others do; id.Nil: at a station
	Firm        string
	From        time.Time
	To          time.Time // zero: it is there
}

// Open reports whether it is there now.
func (p Placement) Open() bool { return p.To.IsZero() }

// left is when the part came there, or if it is there no more, when it left.
func (p Placement) left() time.Time {
	if p.Open() {
		return p.From
	}
	return p.To
}

// named are placements in words: piece 7 (top), piece 9.
func named(placements []Placement) string {
	var out []string
	for _, p := range placements {
		name := fmt.Sprintf("piece %d", p.PieceTag)
		if p.PartLabel != "" {
			name += " (" + p.PartLabel + ")"
		}
		out = append(out, name)
	}
	return strings.Join(out, ", ")
}

func orNothing(words string) string {
	if words == "" {
		return "nothing"
	}
	return words
}

// Whereabouts is where the parts of a piece stand, or stood last. What stands there as the part
// id.Nil is the rest of the piece: those of its parts that stand nowhere by themselves.
type Whereabouts struct {
	Parts []Part      // none: nobody told
	Last  []Placement // of each part, and of the rest, the last one
}

// Now are those that stand somewhere now.
func (w Whereabouts) Now() []Placement {
	return slices.DeleteFunc(slices.Clone(w.Last), func(p Placement) bool { return !p.Open() })
}

// of is where a part stands: by itself, with the rest, or else where it stood last; nil: it
// never stood anywhere.
func (w Whereabouts) of(part id.ID) *Placement {
	own, rest := w.last(part), w.last(id.Nil)
	if (own == nil || !own.Open()) && rest != nil && rest.Open() {
		return rest
	}
	return own
}

func (w Whereabouts) last(part id.ID) *Placement {
	i := slices.IndexFunc(w.Last, func(p Placement) bool { return p.Part == part })
	if i < 0 {
		return nil
	}
	return &w.Last[i]
}

// all are the parts of the piece, or the piece as one.
func (w Whereabouts) all() []Part {
	if len(w.Parts) == 0 {
		return []Part{{Count: 1}}
	}
	return w.Parts
}

// since is from when on a part is where it is, or not where it was; the zero time: it never
// stood anywhere.
func (w Whereabouts) since(part id.ID) (at time.Time) {
	if own := w.last(part); own != nil {
		at = own.left()
	}
	if there := w.of(part); there != nil {
		at = latest(at, there.left())
	}
	return at
}

// away reports whether others have a part.
func (w Whereabouts) away(part id.ID) bool {
	p := w.of(part)
	return p != nil && p.Open() && p.Outside != id.Nil
}

// at reports whether a part stands at a station; id.Nil: at none, in the shop or outside.
func (w Whereabouts) at(part, station id.ID) bool {
	p := w.of(part)
	if p == nil || !p.Open() {
		return station == id.Nil
	}
	return p.Station == station
}

// Move is what is carried of a piece to a station, or away from all.
type Move struct {
	Piece   id.ID
	Parts   []Part // that are carried; none: nothing was to be
	Whole   bool   // all parts of the piece are there then
	Station string // its word; empty: none
	Zone    Zone   // of the station, by id and word; of id.Nil: nobody said
	At      time.Time
	Ended   []Placement
	Begun   []Placement
}

// Carry carries a part, or with id.Nil all that is in the shop, to a station, or with nil to
// none. A piece that was given up can only be carried away. Faults: PIECE_SCRAPPED,
// TIME_BEFORE_INTAKE, PART_UNKNOWN, PART_AWAY, MOVE_BEFORE_LAST, STATION_RETIRED, STATION_FULL.
func (w Whereabouts) Carry(p Piece, part id.ID, to *Station, at time.Time, newID func() id.ID) (Move, error) {
	if p.Scrapped && to != nil {
		return Move{}, fault.New(fault.Precondition, "PIECE_SCRAPPED", "Piece %d was scrapped; it can only be carried away. Name no station.", p.Tag)
	}
	if err := p.there(at, "move_time"); err != nil {
		return Move{}, err
	}
	parts, err := w.inShop(p, part)
	if err != nil {
		return Move{}, err
	}
	if err := w.notBefore(parts, to, at); err != nil {
		return Move{}, err
	}
	m := w.move(p, parts, to, at, newID)
	if to != nil {
		err = to.comesIn(m.Begun)
	}
	return m, err
}

// inShop are the parts that can be carried: the one that is named, or all that others do not
// have.
func (w Whereabouts) inShop(p Piece, part id.ID) ([]Part, error) {
	parts := w.all()
	if part != id.Nil {
		parts = slices.DeleteFunc(slices.Clone(parts), func(other Part) bool { return other.ID != part })
	}
	if len(parts) == 0 {
		return nil, unknownPart(p).At("part")
	}
	here := slices.DeleteFunc(slices.Clone(parts), func(part Part) bool { return w.away(part.ID) })
	if len(here) == 0 {
		with := w.of(parts[0].ID)
		return nil, fault.New(fault.Precondition, "PART_AWAY", "%s is with %s for work that others do. Receive it first.", named([]Placement{*with}), with.Firm)
	}
	return here, nil
}

// notBefore refuses to carry parts before they came where they stand.
func (w Whereabouts) notBefore(parts []Part, to *Station, at time.Time) error {
	for _, part := range parts {
		since := w.since(part.ID)
		if w.at(part.ID, to.id()) || !before(at, since) {
			continue
		}
		return fault.New(fault.Invalid, "MOVE_BEFORE_LAST", "Since %s %s is where it is, so it was not carried on %s; check the time.",
			saidLike(since, at), Stage{Part: part.ID, PartLabel: part.Label}.where(), said(at)).At("move_time")
	}
	return nil
}

// move carries parts that do not stand there already, none of which others have: from an
// instant on, or if they came where they stand later, from right after that.
func (w Whereabouts) move(p Piece, parts []Part, to *Station, at time.Time, newID func() id.ID) Move {
	m := Move{Piece: p.ID, At: at}
	if to != nil {
		m.Station, m.Zone = to.Word, Zone{ID: to.Zone, Word: to.ZoneWord}
	}
	for _, part := range parts {
		if w.at(part.ID, to.id()) {
			continue
		}
		from := latest(at.UTC(), w.since(part.ID))
		if own := w.last(part.ID); own != nil && own.Open() {
			from = rightAfter(from, own.From)
			m.end(*own, from)
		}
		m.Parts = append(m.Parts, part)
		if to != nil {
			m.Begun = append(m.Begun, Placement{ID: newID(), Piece: p.ID, PieceTag: p.Tag, Part: part.ID, PartLabel: part.Label, Takes: part.Count,
				Station: to.ID, StationWord: to.Word, From: from})
		}
	}
	w.endRest(&m)
	m.Whole = !slices.ContainsFunc(w.all(), func(part Part) bool { return !m.carries(part.ID) && !w.at(part.ID, to.id()) })
	return m
}

func (m Move) carries(part id.ID) bool {
	return slices.ContainsFunc(m.Parts, func(p Part) bool { return p.ID == part })
}

// endRest ends where the rest of the piece stands once no part is left there.
func (w Whereabouts) endRest(m *Move) {
	rest := w.last(id.Nil)
	if len(m.Parts) == 0 || len(w.Parts) == 0 || rest == nil || !rest.Open() || rest.Outside != id.Nil {
		return
	}
	for _, part := range w.Parts {
		own := w.last(part.ID)
		if !m.carries(part.ID) && (own == nil || !own.Open()) {
			return
		}
	}
	m.end(*rest, rightAfter(m.At.UTC(), rest.From))
}

func (m *Move) end(p Placement, at time.Time) {
	p.To = at
	m.Ended = append(m.Ended, p)
}

// rightAfter is an instant that is later than another: the one that is wanted, if it is.
func rightAfter(wanted, other time.Time) time.Time {
	if wanted.After(other) {
		return wanted
	}
	return other.Add(time.Millisecond)
}

// id is the station's; of none id.Nil.
func (s *Station) id() id.ID {
	if s == nil {
		return id.Nil
	}
	return s.ID
}

// Dries reports whether what dries is carried with the move: all that is on its parts, and on
// the whole piece if all of that is there then. What began to dry, or was carried elsewhere,
// later than that stays where it is.
func (m Move) Dries(c DryClock) bool {
	if c.Over || before(m.At, c.Stays[len(c.Stays)-1].From) {
		return false
	}
	return m.carries(c.Part) || c.Part == id.Nil && m.Whole
}
