package workflow

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
)

// Places is what is decided from where work that begins is done. The stations are locked.
type Places struct {
	Stations []Station // by their words, each with what stands there from then on
	Pieces   map[id.ID]Whereabouts
	Used     map[id.ID]Used // by station: the last work there with another product
}

// Used is work that was done at a station with a product.
type Used struct {
	Product string
	Person  string
	Until   time.Time // zero: it goes on
}

// Settle finds the stations at which clock-ons begin: the one that is named, or for stages that
// need a kind of which the shop has stations, the one where their parts stand if that is fit,
// or else the first fit one by name. All stages that begin together and need one kind are done
// at one station. It notes the station on the entries, and on the first of each piece what is
// carried there. Faults: STATION_RETIRED, STATION_UNFIT, STATION_NOT_ALLOWED, STATION_FULL;
// without a reason STATION_CLOSED, STATION_NOT_CLEANED.
func (p Places) Settle(name string, facts []Facts, starts []Started, reason string, newID func() id.ID) error {
	for _, g := range groups(name, facts, starts) {
		var sites []site
		for _, s := range p.candidates(name, g) {
			sites = append(sites, p.site(s, g, newID))
		}
		if len(sites) == 0 {
			continue
		}
		if err := g.begin(slices.MinFunc(sites, better), reason); err != nil {
			return err
		}
	}
	return nil
}

// group are stages that begin at one station.
type group struct {
	kind   string // that they need; empty: any
	facts  []Facts
	starts []*Started
}

// groups puts together what begins at one station: all that is begun if that is named, or what
// needs one kind. Stages that need none and go nowhere are in no group.
func groups(name string, facts []Facts, starts []Started) (out []group) {
	for i := range facts {
		kind := facts[i].Stage.Station
		if kind == "" && name == "" {
			continue
		}
		n := slices.IndexFunc(out, func(g group) bool { return name != "" || g.kind == kind })
		if n < 0 {
			out, n = append(out, group{kind: kind}), len(out)
		}
		g := &out[n]
		g.facts, g.starts = append(g.facts, facts[i]), append(g.starts, &starts[i])
	}
	return out
}

// candidates are the stations at which a group could begin.
func (p Places) candidates(name string, g group) (out []Station) {
	for _, s := range p.Stations {
		if s.Word == name || name == "" && string(s.Kind) == g.kind && !s.Retired {
			out = append(out, s)
		}
	}
	return out
}

// site is how a station does for a group.
type site struct {
	station   Station
	moves     []Move         // what has to be carried there
	against   *fault.Fault   // what nobody can override; nil: nothing
	obstacles []*fault.Fault // what a reason overrides
	rank      int            // the less the better
}

// The ranks of sites: how near they are to do.
const (
	free = iota
	hindered
	full
	forbidden
	unfit
)

// better orders sites by how near they are to do, and then those first where all stands already.
func better(a, b site) int {
	if a.rank != b.rank {
		return a.rank - b.rank
	}
	return min(len(a.moves), 1) - min(len(b.moves), 1)
}

// site judges a station for a group.
func (p Places) site(s Station, g group, newID func() id.ID) site {
	out := site{station: s, moves: p.moves(s, g, newID)}
	for _, f := range g.facts {
		if against, rank := s.against(f); rank > out.rank {
			out.against, out.rank = against, rank
		}
	}
	if out.against != nil {
		return out
	}
	var begun []Placement
	for _, m := range out.moves {
		begun = append(begun, m.Begun...)
	}
	if err := s.comesIn(begun); err != nil {
		out.against, out.rank = fault.Of(err), full
		return out
	}
	start := g.starts[0].Entry.Start
	for _, o := range []*fault.Fault{s.closed(start), s.soiled(g.facts[0].Stage, p.Used[s.ID], start)} {
		if o != nil {
			out.obstacles, out.rank = append(out.obstacles, o), hindered
		}
	}
	return out
}

// moves are what has to be carried to a station for a group, piece by piece.
func (p Places) moves(s Station, g group, newID func() id.ID) (out []Move) {
	var pieces []Piece
	parts := map[id.ID][]Part{}
	for _, f := range g.facts {
		if _, known := parts[f.Piece.ID]; !known {
			pieces = append(pieces, f.Piece)
		}
		for _, part := range p.Pieces[f.Piece.ID].partsOf(f.Stage) {
			if !slices.Contains(parts[f.Piece.ID], part) {
				parts[f.Piece.ID] = append(parts[f.Piece.ID], part)
			}
		}
	}
	for _, piece := range pieces {
		if m := p.Pieces[piece.ID].move(piece, parts[piece.ID], &s, g.starts[0].Entry.Start, newID); len(m.Parts) > 0 {
			out = append(out, m)
		}
	}
	return out
}

// partsOf are the parts on which a stage is done.
func (w Whereabouts) partsOf(s Stage) []Part {
	if s.Part == id.Nil {
		return w.all()
	}
	for _, part := range w.Parts {
		if part.ID == s.Part {
			return []Part{part}
		}
	}
	return []Part{{ID: s.Part, Label: s.PartLabel, Count: 1}}
}

// begin begins a group at a site.
func (g group) begin(at site, reason string) error {
	if at.against != nil {
		return at.against
	}
	overridden, err := override(reason, at.obstacles...)
	if err != nil {
		return err
	}
	for i, on := range g.starts {
		on.Entry.Station, on.Entry.StationWord = at.station.ID, at.station.Word
		if len(overridden) > 0 {
			on.Override, on.Overridden = reason, append(on.Overridden, overridden...)
		}
		n := slices.IndexFunc(at.moves, func(m Move) bool { return m.Piece == g.facts[i].Piece.ID })
		if n >= 0 {
			on.Carried = &at.moves[n]
			at.moves = slices.Delete(slices.Clone(at.moves), n, n+1)
		}
	}
	return nil
}

// against is why a stage is not done by a person at the station, and how far it is from being
// so; nil: nothing is.
func (s Station) against(f Facts) (*fault.Fault, int) {
	switch {
	case s.Retired:
		return s.retired(), unfit
	case f.Stage.Station != "" && f.Stage.Station != string(s.Kind):
		return fault.New(fault.Precondition, "STATION_UNFIT", "%s needs %s, and %s is %s. Take another station, or name none.",
			f.Stage.Title(), aPlace(StationKind(f.Stage.Station)), s.Name, aPlace(s.Kind)).At("station"), unfit
	case len(s.StageKinds) > 0 && !slices.Contains(s.StageKinds, f.Stage.Kind):
		return fault.New(fault.Precondition, "STATION_UNFIT", "%s is not done at %s: what may be done there is %s. Take another station.",
			f.Stage.Title(), s.Name, strings.Join(s.StageKinds, ", ")).At("station"), unfit
	case len(f.Person.Stations) > 0 && !slices.Contains(f.Person.Stations, s.Word):
		return fault.New(fault.Precondition, "STATION_NOT_ALLOWED", "%s may not use %s, only %s. Take one of these, or have the lead allow it.",
			f.Person.Name, s.Name, strings.Join(f.Person.Stations, ", ")).At("station"), forbidden
	}
	return nil, free
}

// aPlace is a kind in words.
func aPlace(k StationKind) string {
	if k == InTheOpenAir {
		return "a place outdoors"
	}
	return "a " + string(k)
}

// closed refuses a station that is not open. Fault: STATION_CLOSED.
func (s Station) closed(at time.Time) *fault.Fault {
	if s.OpenAt(at) {
		return nil
	}
	opens := s.Opens(at)
	return fault.New(fault.Precondition, "STATION_CLOSED", "%s is closed on %s and opens on %s. Start then, take another station, or say why it starts all the same.",
		s.Name, said(at), said(opens)).With("open_time", opens.UTC().Format(time.RFC3339))
}

// soiled refuses to work with a product at a station that is not cleaned from another one.
// Fault: STATION_NOT_CLEANED.
func (s Station) soiled(stage Stage, used Used, at time.Time) *fault.Fault {
	if s.Changeover == 0 || stage.Product == id.Nil || used == (Used{}) {
		return nil
	}
	cleaning := fmt.Sprintf("cleaning from one product to another takes %s there", hours(s.Changeover))
	if used.Until.IsZero() {
		return fault.New(fault.Precondition, "STATION_NOT_CLEANED", "%s still works with %s at %s. That has to end first, and %s. Start then, take another station, or say why it starts all the same.",
			used.Person, used.Product, s.Name, cleaning)
	}
	clean := used.Until.Add(s.Changeover)
	if !before(at, clean) {
		return nil
	}
	return fault.New(fault.Precondition, "STATION_NOT_CLEANED", "%s worked with %s at %s until %s, and %s: it may be used from %s on. Start then, take another station, or say why it starts all the same.",
		used.Person, used.Product, s.Name, saidLike(used.Until, at), cleaning, saidLike(clean, at)).With("ready_time", clean.UTC().Format(time.RFC3339))
}
