package materials

import (
	"slices"
	"time"

	"tackfree/pkg/datasheet"
	"tackfree/pkg/drying"
	"tackfree/pkg/fault"
	"tackfree/pkg/finish"
	"tackfree/pkg/id"
)

// OilyWasteCaution is for whoever puts oily waste away.
//
// Source: 29 CFR 1910.107(g)(3): rags and waste with finishing material go into approved metal
// waste cans at once after use, which are emptied at least once a day or at the end of each
// shift; 1910.106(h)(8)(iii) asks the same of combustible residues, in closed metal cans. To
// spread rags out in the open until they are hard is common practice.
const OilyWasteCaution = "Rags, pads, dust and residues with drying oil, oil varnish, alkyd or oil stain heat up by themselves and can catch fire hours later. " +
	"Do not leave them in a heap, a pocket or an open bin: put them into an approved lidded metal can, with water, out of the building the same day, or spread each out singly in the open until it is hard. " +
	"Get rid of them as local fire and waste rules say; those and licensed practice come first."

// oilyRags is the caution of whatever heats up by itself on a rag.
const oilyRags = "oily-rags"

// MakesOilyWaste reports whether rags with the product heat up by themselves, for its film takes
// up oxygen as it dries, or its details say so. A sheet that nobody entered says nothing.
func MakesOilyWaste(sheet *datasheet.Sheet, cautions []string) bool {
	return slices.Contains(cautions, oilyRags) || sheet != nil && (sheet.Carrier == drying.Oil || selfHeats(sheet.Family))
}

// selfHeats reports whether who lays a film of the family is cautioned for its rags.
func selfHeats(family finish.Family) bool {
	coat := finish.Step{Kind: finish.TopcoatCoat, Product: finish.Product{Family: family}}
	return slices.ContainsFunc(coat.Hazards(finish.Assessment{Material: finish.SolidWood}), func(h finish.Hazard) bool { return h.ID == oilyRags })
}

// TakesUpOthers reports whether the rags of a stage hold what other stages of the piece put on:
// it wipes off.
func TakesUpOthers(stageKind string) bool { return finish.Kind(stageKind) == finish.WipeOff }

// OilyWork is work that left oily waste behind.
type OilyWork struct {
	Day       time.Time // by the shop's clock, as midnight in UTC
	Piece     id.ID
	Stage     id.ID
	StageKind string // empty: of no stage, it is the shop's own waste, and so are piece and stage
	Pass      int32  // of the stage
	KnownBy   KnownBy
	Entry     id.ID     // by which it is known; id.Nil: by none
	Person    string    // who did it, as people call them
	At        time.Time // the last that is known of it on that day
	ShiftEnd  time.Time // of the person; zero: nobody said
	Open      bool      // nobody has said since that its waste was put away
}

// KnownBy is how work is known that left oily waste behind.
type KnownBy string

// The ways: somebody clocked on, finished the stage, or issued or wasted something for it.
const (
	ByClock  KnownBy = "clock"
	ByFinish KnownBy = "finish"
	ByEntry  KnownBy = "entry"
)

// OilyCheck says that all oily waste there was at an instant had been put away.
type OilyCheck struct {
	ID    id.ID
	At    time.Time
	Way   OilyWay
	Note  string
	Actor string
	// Zero: it stands.
	Withdrawn Withdrawn
}

// Withdrawn is when, why and by whom a word was taken back.
type Withdrawn struct {
	At         time.Time
	Reason, By string
}

// Withdraw takes the word back, for it was a mistake: what was open before is open again. Faults:
// REASON_REQUIRED, OILY_WASTE_CHECK_WITHDRAWN.
func (c OilyCheck) Withdraw(w Withdrawn) (OilyCheck, error) {
	switch {
	case w.Reason == "":
		return c, fault.New(fault.Invalid, "REASON_REQUIRED", "Say why it is withdrawn, such as: wrong day, or one can was forgotten.").At("reason")
	case !c.Withdrawn.At.IsZero():
		return c, fault.New(fault.Precondition, "OILY_WASTE_CHECK_WITHDRAWN", "That was withdrawn already; confirm anew once all is put away.").At("name")
	}
	c.Withdrawn = w
	return c, nil
}

// OilyWay is how oily waste was put away.
type OilyWay string

// The ways, as OilyWasteCaution has them.
const (
	SpreadOut OilyWay = "spread out to dry"
	MetalCan  OilyWay = "metal can with water"
	TakenAway OilyWay = "taken away"
)

// closing is when a day's oily waste is put away at the latest where nobody said when its shift
// ends, by the shop's clock. Common practice.
const closing = 18 * time.Hour

// OilyDay is a day and what made oily waste on it.
type OilyDay struct {
	Day  time.Time // as OilyWork has it
	Work []OilyWork
}

// Open reports whether some of it is.
func (d OilyDay) Open() bool {
	return slices.ContainsFunc(d.Work, func(w OilyWork) bool { return w.Open })
}

// DayOf is the day of an instant by the clock of a zone, as OilyWork has it.
func DayOf(at time.Time, zone *time.Location) time.Time { return dayOf(at, zone) }

// Bounds are when a day, as OilyWork has it, begins and ends by the clock of a zone.
func Bounds(day time.Time, zone *time.Location) (from, to time.Time) {
	y, m, d := day.Date()
	return time.Date(y, m, d, 0, 0, 0, 0, zone), time.Date(y, m, d+1, 0, 0, 0, 0, zone)
}

// Due is when the day's oily waste must be put away: when the last known shift ends, or else at
// the end of the day's work, which is taken to be at six; never before the work that made it.
func (d OilyDay) Due(zone *time.Location) time.Time {
	y, m, day := d.Day.Date()
	var due, last time.Time
	for _, w := range d.Work {
		due, last = latest(due, w.ShiftEnd), latest(last, w.At)
	}
	if due.IsZero() {
		due = time.Date(y, m, day, int(closing/time.Hour), 0, 0, 0, zone)
	}
	return latest(due, last)
}

func latest(a, b time.Time) time.Time {
	if b.After(a) {
		return b
	}
	return a
}
