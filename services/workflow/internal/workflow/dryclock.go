package workflow

import (
	"slices"
	"time"

	"tackfree/pkg/drying"
	"tackfree/pkg/fault"
	"tackfree/pkg/finish"
	"tackfree/pkg/id"
)

// DryKind is what dries.
type DryKind string

// The kinds of dry clocks.
const (
	FilmDries   DryKind = "film"    // by its product's sheet
	WoodDries   DryKind = "wood"    // washed or dampened, by the water that the air takes up
	MinutesPass DryKind = "minutes" // what takes its planned time in any air, such as glue
)

// DryClock is what dries on a part since a stage was finished.
type DryClock struct {
	Stage       id.ID
	Pass        int32 // of the stage; a later one may have begun over what is wet
	Piece       id.ID
	Part        id.ID // id.Nil: the whole piece
	Kind        DryKind
	Laid        time.Time
	FilmUm      float64        // of a film, wet; 0: as its maker says
	Planned     time.Duration  // of wood and minutes
	Product     id.ID          // of a film
	Dries       drying.Product // of a film and wood, with what was learned of it
	Needs       finish.Needs   // of what comes next, by Renew
	Recoats     bool           // another coat is to come over it, by Renew
	Stays       []Stay         // oldest first, at least one
	Seen        int64          // how many readings of its zones the forecast went by
	Lessons     int            // how often what is known of its product changed
	Learned     int            // and how often it had when it was forecast
	Windows     map[drying.Milestone]drying.Window
	Felt        map[drying.Milestone]Felt
	Said        time.Time // when it was last said to be ready; zero: never
	SaidCloses  time.Time // and its window to close
	ReadySaid   bool
	SaidNeeds   finish.Needs // for what it was said to be ready
	CloseSaid   bool
	Look        time.Time // when to look again whether work has gone on over it
	Over        bool      // it is noted to have ended
	StageTitle  string
	StageKind   string
	PartLabel   string
	PieceTag    int32
	ProductName string
	ZoneWord    string // of the last stay; empty: nobody said
}

// Stay is a zone in which something dries from some time on.
type Stay struct {
	Zone id.ID // id.Nil: nobody said
	From time.Time
}

// Felt is what somebody saw of a milestone; either may be zero.
type Felt struct{ NotYet, Reached time.Time }

// wets are the kinds of stages that leave wood wet.
var wets = []finish.Kind{finish.DryOut, finish.RaiseGrain, finish.WashOff, "wash_off", finish.Strip, finish.Clean}

// Begin makes the clock of what a finished stage left wet, not yet forecast; nil when it
// left nothing wet. A film of 0 µm and the zone id.Nil are as planned.
func (p *Plan) Begin(s Stage, filmUm float64, zone id.ID) *DryClock {
	if zone == id.Nil {
		zone = s.Zone
	}
	laid := s.FinishedAt.UTC()
	c := &DryClock{Stage: s.ID, Pass: s.Pass(), Piece: s.Piece, Part: s.Part, Laid: laid, Needs: p.needed(s), Recoats: p.recoats(s), Stays: []Stay{{zone, laid}},
		StageTitle: s.Title(), StageKind: s.Kind, PartLabel: s.PartLabel, PieceTag: p.Piece.Tag}
	switch {
	case s.Coating != nil && saysWhen(s.Coating.Dries):
		c.Kind, c.Dries, c.Product, c.ProductName = FilmDries, s.Coating.Dries, s.Product, s.ProductName
		c.FilmUm = s.WetFilmUm
		if filmUm != 0 {
			c.FilmUm = filmUm
		}
	case s.Unattended == 0:
		return nil
	case slices.Contains(wets, finish.Kind(s.Kind)) && s.Unattended <= longestWet:
		c.Kind, c.Planned, c.Dries = WoodDries, s.Unattended, Wood(s.Unattended)
	default:
		c.Kind, c.Planned = MinutesPass, s.Unattended
	}
	return c
}

// longestWet is the longest that package drying forecasts; wood planned to dry for longer
// is seasoned and not dried off.
const longestWet = 90 * 24 * time.Hour

// Wood is how wet wood dries that is planned to take a time: as its water leaves it, with
// that time at 25 °C and 50 %. Common practice: a thin wet skin follows the dryness of the
// air as a film of water does.
func Wood(planned time.Duration) drying.Product {
	p := drying.Product{Kinetics: drying.Kinetics{Carrier: drying.Water, ReferenceCelsius: 25, ReferenceHumidity: 50}, FilmUm: 100}
	p.Stated[drying.Cured] = planned
	return p
}

// instead are the milestones that stand for what a stage needs, the best first: what the
// maker does not state is taken from what comes near it.
var instead = map[finish.Needs][]drying.Milestone{
	finish.NeedsSand:   {drying.DryToSand, drying.TackFree, drying.DryToRecoat, drying.Cured, drying.SetToTouch},
	finish.NeedsRecoat: {drying.DryToRecoat, drying.DryToSand, drying.TackFree, drying.Cured, drying.SetToTouch},
	finish.NeedsCured:  {drying.Cured, drying.DryToRecoat, drying.DryToSand, drying.TackFree, drying.SetToTouch},
}

// saysWhen reports whether a product states any milestone that a stage can wait for.
func saysWhen(p drying.Product) bool {
	return slices.ContainsFunc(instead[finish.NeedsCured], func(m drying.Milestone) bool { return p.Stated[m] != 0 })
}

// Reaches is when it will be dry enough for a stage with these needs; of wood and minutes
// it is when they are over. A zero Likely is never, in this air.
func (c DryClock) Reaches(n finish.Needs) drying.Window {
	for _, m := range instead[n] {
		if w, stated := c.Windows[m]; stated {
			return w
		}
	}
	return drying.Window{}
}

// Ready is when what the next stage waits for comes.
func (c DryClock) Ready() drying.Window { return c.Reaches(c.Needs) }

// Closes is when the window for another coat without scuffing likely closes; zero: never.
func (c DryClock) Closes() time.Time { return c.Windows[drying.RecoatCloses].Likely }

// IsReady reports whether what the next stage waits for has come.
func (c DryClock) IsReady(now time.Time) bool { return c.Ready().Passed(now) }

// Soonest orders clocks by when they will be ready; one that never will comes last.
func Soonest(a, b DryClock) int {
	switch x, y := a.Ready().Likely, b.Ready().Likely; {
	case later(x, y):
		return 1
	case later(y, x):
		return -1
	}
	return 0
}

// Move notes that what dries was carried to another zone. Fault: MOVE_BEFORE_LAST.
func (c *DryClock) Move(zone Zone, at time.Time) error {
	c.Stays = slices.Clone(c.Stays)
	last := &c.Stays[len(c.Stays)-1]
	if before(at, last.From) {
		return fault.New(fault.Invalid, "MOVE_BEFORE_LAST", "It stands where it is since %s, so it was not carried away on %s; check the time.",
			saidLike(last.From, at), said(at)).At("move_time")
	}
	c.ZoneWord = zone.Word
	if at.After(last.From) {
		c.Stays = append(c.Stays, Stay{zone.ID, at.UTC()})
		return nil
	}
	last.Zone = zone.ID
	return nil
}
