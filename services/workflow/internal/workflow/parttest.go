package workflow

import (
	"fmt"
	"slices"
	"strconv"
	"time"

	"tackfree/pkg/climate"
	"tackfree/pkg/dimension"
	"tackfree/pkg/drying"
	"tackfree/pkg/fault"
	"tackfree/pkg/finish"
	"tackfree/pkg/id"
)

// TestKind is what a test looks for.
type TestKind string

// The kinds.
const (
	MoistureTest TestKind = "moisture"
	SpotTest     TestKind = "spot"
	LeadTest     TestKind = "lead"
)

// What a test for lead may have come to.
const (
	LeadFree     = "free"
	LeadFound    = "found"
	LeadAccepted = "accepted" // untested or found, and a named person answers for the controls
)

// PartTest is what was measured or tried on a part. It never changes: the last one of its
// kind holds.
type PartTest struct {
	ID        id.ID
	Piece     id.ID
	Part      id.ID // id.Nil: the whole piece
	PartLabel string
	Kind      TestKind
	At        time.Time
	Actor     string

	Percent float64 // of moisture, of the oven-dry mass
	AtRest  float64 // what wood comes to in the air there, percent; 0: nobody had read it of late
	Dry     bool    // near enough to it for sanding and coating

	Solvent string // of a spot test
	Result  string // of a spot test its reaction; of lead one of the three

	Controls   string // of lead that is accepted
	Person     id.ID
	PersonName string
}

// Said is the result in words, as events have it.
func (t PartTest) Said() string {
	switch {
	case t.Kind == MoistureTest:
		return percent(t.Percent)
	case t.Kind == SpotTest:
		return t.Solvent + ": " + t.Result
	case t.Result == LeadAccepted:
		return "accepted with controls"
	}
	return t.Result
}

func percent(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) + " %" }

// mostMoisture is more than the wettest green sapwood has: 249 % (Wood Handbook,
// FPL-GTR-190, table 4-1; the figure from memory).
const mostMoisture = 250

// Moisture writes down a meter's reading, in percent above 0 and to 250, and judges it by
// the air in which the part stands, as it was last read; nil is never. A reading of the air
// that is more than four hours older than the test says nothing. Fault: OUT_OF_RANGE.
func (t *PartTest) Moisture(measured float64, air *Air) error {
	if err := dimension.Above("percent", measured, 0, mostMoisture, "%"); err != nil {
		return err
	}
	t.Kind, t.Percent, t.AtRest = MoistureTest, measured, air.woodAtRest(t.At)
	t.Dry = measured <= t.dryAt()
	return nil
}

// dryAt is the moisture, percent, up to which wood is dry enough for sanding and coating.
// Common practice: two points above what it comes to in its air. Where nobody read that
// of late, 12 %, to which most wood outdoors comes in most of the United States (Wood Handbook,
// FPL-GTR-190, chapter 13); that a shop takes it for dry is common practice.
func (t PartTest) dryAt() float64 {
	if t.AtRest == 0 {
		return 12
	}
	return t.AtRest + 2
}

// judgedBy says by what wood is dry enough.
func (t PartTest) judgedBy() string {
	if t.AtRest == 0 {
		return "which holds where nobody read the air in the four hours before"
	}
	return fmt.Sprintf("two points above the %.1f %% that wood comes to in the air where it stood", t.AtRest)
}

// Ends takes down, on the clocks of the wood that was found dry, that it is dry since the
// test; it returns those. What was wetted later still dries.
func (t PartTest) Ends(clocks []DryClock) (ended []DryClock) {
	for _, c := range clocks {
		if !t.Dry || c.Kind != WoodDries || (t.Part != id.Nil && t.Part != c.Part) || c.Laid.After(t.At) || c.IsReady(t.At) {
			continue
		}
		c.feel(drying.Outcome{Milestone: drying.Cured, Reached: t.At})
		c.heed()
		ended = append(ended, c)
	}
	return ended
}

// Air is a reading of a zone.
type Air struct {
	At time.Time
	climate.Air
	Surface float64 // °C, of what stands there
}

// woodAtRest is what wood comes to in the air at an instant, percent; 0 where nobody knows:
// without a reading of late, or in frost, of which the handbook's formula says nothing.
func (a *Air) woodAtRest(at time.Time) float64 {
	if !a.tells(at) {
		return 0
	}
	atRest, err := a.EquilibriumMoisture()
	if err != nil {
		return 0
	}
	return atRest
}

// Spot writes down a spot test and reads it together with those that were made on the part
// before, in whatever order. Faults: SOLVENT_UNKNOWN, REACTION_UNKNOWN.
func (t *PartTest) Spot(solvent, reaction string, others []PartTest) (finish.Reading, error) {
	t.Kind, t.Solvent, t.Result = SpotTest, solvent, reaction
	all := append(slices.Clone(others), *t)
	slices.SortStableFunc(all, func(a, b PartTest) int { return a.At.Compare(b.At) })
	var seen []finish.SpotTest
	for _, s := range all {
		seen = append(seen, finish.SpotTest{Solvent: finish.Solvent(s.Solvent), Reaction: finish.Reaction(s.Result)})
	}
	return finish.ReadSpotTests(seen)
}

// SpotReading is what all spot tests of a part say together.
type SpotReading struct {
	Part      id.ID // id.Nil: the whole piece
	PartLabel string
	finish.Reading
}

// ReadSpots reads the spot tests among those of a piece, newest first as they are listed, part by part, the part that was
// tried last coming first. Faults: SOLVENT_UNKNOWN, REACTION_UNKNOWN, of what no version ever kept.
func ReadSpots(tests []PartTest) (out []SpotReading, err error) {
	var parts []PartTest
	seen := map[id.ID][]finish.SpotTest{}
	for _, t := range tests {
		if t.Kind != SpotTest {
			continue
		}
		if _, known := seen[t.Part]; !known {
			parts = append(parts, t)
		}
		seen[t.Part] = append(seen[t.Part], finish.SpotTest{Solvent: finish.Solvent(t.Solvent), Reaction: finish.Reaction(t.Result)})
	}
	for _, t := range parts {
		slices.Reverse(seen[t.Part]) // of two with one solvent the later holds
		reading, err := finish.ReadSpotTests(seen[t.Part])
		if err != nil {
			return nil, err
		}
		out = append(out, SpotReading{Part: t.Part, PartLabel: t.PartLabel, Reading: reading})
	}
	return out, nil
}

// Lead writes down what a test for lead found: nothing or some.
func (t *PartTest) Lead(found bool) {
	t.Kind, t.Result = LeadTest, LeadFree
	if found {
		t.Result = LeadFound
	}
}

// Accept writes down that a person answers for work on an old coating that has or may have
// lead in it, under controls. Faults: CONTROLS_MISSING, PERSON_NOT_FOUND, when it is nobody.
func (t *PartTest) Accept(by *Person, controls string) error {
	switch {
	case controls == "":
		return fault.New(fault.Invalid, "CONTROLS_MISSING",
			"Say what is done so that nobody is harmed, such as wet work, a sealed room, a respirator, debris kept as hazardous waste.").At("lead.controls")
	case by == nil:
		return fault.New(fault.NotFound, "PERSON_NOT_FOUND", "Name the person of the shop who answers for it.").At("lead.person")
	}
	t.Kind, t.Result, t.Controls, t.Person, t.PersonName = LeadTest, LeadAccepted, controls, by.ID, by.Name
	return nil
}

// where names what a stage works on.
func (s Stage) where() string {
	if s.Part == id.Nil {
		return "the piece"
	}
	return fmt.Sprintf("the part %s", s.PartLabel)
}
