package workflow

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
)

// Station is where work is done and pieces stand. It never holds more than its capacity.
type Station struct {
	ID         id.ID
	Word       string
	Name       string
	Kind       StationKind
	Capacity   int32
	Unit       StationUnit
	Open       []WorkingDay  // at most one for each day of the week; none: always
	StageKinds []string      // what may be done there; none: anything
	Changeover time.Duration // of cleaning from one product to another, whole minutes
	Zone       id.ID         // whose air is the station's; id.Nil: nobody said
	ZoneWord   string
	Retired    bool // nothing new comes in
	Version    int64
	Holds      []Placement // what stands there, by when it came
}

// StationKind is what sort of place a station is.
type StationKind string

// The kinds of stations; what a stage asks for is one of them.
const (
	Bench        StationKind = "bench"
	SprayBooth   StationKind = "booth"
	DryingRack   StationKind = "rack"
	InTheOpenAir StationKind = "outdoors"
)

// StationUnit is what a station's capacity counts.
type StationUnit string

// The units of capacity. However many parts of one piece stand there, they are one piece.
const (
	InPieces StationUnit = "pieces"
	InParts  StationUnit = "parts"
)

// of is so many of them in words.
func (u StationUnit) of(n int32) string {
	if n == 1 {
		return "1 " + strings.TrimSuffix(string(u), "s")
	}
	return fmt.Sprintf("%d %s", n, u)
}

// Check refuses a station that nobody could name, or that is open when no clock shows. Faults:
// STATION_NAME_MALFORMED, HOURS_MALFORMED.
func (s Station) Check() error {
	if !word.MatchString(s.Word) || len(s.Word) > 60 {
		return fault.New(fault.Invalid, "STATION_NAME_MALFORMED",
			"A station's name is lower-case words joined by hyphens, such as stations/bench-2.").At("name")
	}
	return checkWeek("open_hours", s.Open)
}

// CheckHolds refuses to make a station smaller than what stands there now. Fault:
// STATION_HOLDS_MORE.
func (s Station) CheckHolds() error {
	if n := s.count(s.Holds); n > s.Capacity {
		return fault.New(fault.Precondition, "STATION_HOLDS_MORE", "%s holds %s now: %s. Carry something away first, or give it room for as many.",
			s.Name, s.Unit.of(n), named(s.Holds)).With("holds", named(s.Holds))
	}
	return nil
}

// count is how many pieces or parts that are.
func (s Station) count(there []Placement) (n int32) {
	pieces := map[id.ID]bool{}
	for _, p := range there {
		n += p.Takes
		pieces[p.Piece] = true
	}
	if s.Unit == InPieces {
		return int32(len(pieces))
	}
	return n
}

// comesIn refuses what is to come in and does not fit there from then on, beside what is there
// and to stay. Faults: STATION_RETIRED, STATION_FULL.
func (s Station) comesIn(more []Placement) error {
	if len(more) == 0 {
		return nil
	}
	if s.Retired {
		return s.retired()
	}
	for _, at := range comings(s.Holds, more) {
		there := standing(s.Holds, at)
		if s.count(append(there, standing(more, at)...)) > s.Capacity {
			return fault.New(fault.Precondition, "STATION_FULL", "%s has no room for %s: it holds %s, and there stands: %s. Carry something away, or take another station.",
				s.Name, named(more), s.Unit.of(s.Capacity), orNothing(named(there))).With("holds", named(there))
		}
	}
	return nil
}

// retired is the refusal of a station that is there no more.
func (s Station) retired() *fault.Fault {
	return fault.New(fault.Precondition, "STATION_RETIRED", "%s is not used any more. Take another station.", s.Name)
}

// comings are the instants from the first of more on at which something comes: in between, what
// stands there only gets less.
func comings(holds, more []Placement) (at []time.Time) {
	first := slices.MinFunc(more, func(a, b Placement) int { return a.From.Compare(b.From) }).From
	for _, p := range slices.Concat(holds, more) {
		at = append(at, latest(first, p.From))
	}
	return at
}

// standing are those of placements that are there at an instant.
func standing(placements []Placement, at time.Time) (out []Placement) {
	for _, p := range placements {
		if !p.From.After(at) && (p.Open() || p.To.After(at)) {
			out = append(out, p)
		}
	}
	return out
}

// OpenAt reports whether the station is open at an instant, by the clock of its zone.
func (s Station) OpenAt(at time.Time) bool { return len(s.Open) == 0 || !s.Opens(at).After(at) }

// Opens is when the station is open next, by the clock of an instant's zone: at that instant,
// if it is open then.
func (s Station) Opens(at time.Time) time.Time {
	if len(s.Open) == 0 {
		return at
	}
	next := shiftAt(at, dayOf(at), func(day time.Time) *Shift { return shiftOn(s.Open, day, at.Location()) })
	return latest(at, next.Start)
}
