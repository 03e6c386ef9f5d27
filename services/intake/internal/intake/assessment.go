package intake

import (
	"fmt"
	"strings"
	"time"

	"github.com/shopspring/decimal"

	"tackfree/pkg/fault"
	"tackfree/pkg/finish"
	"tackfree/pkg/id"
	"tackfree/pkg/quantity"
)

// Assessment is a part of a piece with what somebody saw of it before work on it.
type Assessment struct {
	Part    Part
	Seen    *Seen // nil: nobody looked at it yet
	By      string
	At      time.Time
	Version int64 // 0: nobody looked at it yet
}

// Seen is what somebody saw of a part.
type Seen struct {
	Material  finish.Material
	Species   string            // of wood; empty: nobody can tell
	Veneer    quantity.Quantity // how thick it is; zero: nobody measured it, or it is no veneer
	OldFinish finish.Family     // Bare, finish.UnknownFinish, or a family
	Waxed     bool
	OldStain  bool
	PaintedIn int  // the earliest year; 0: nobody knows
	Decade    bool // PaintedIn is the first year of the decade that is meant
	Condition Condition
	Defects   []PartDefect
	Note      string
}

// Bare is the word for a part on which no coating lies.
const Bare finish.Family = "bare"

// Severity is how bad a defect is.
type Severity string

// The severities.
const (
	Slight     Severity = "slight"  // it may stay
	ToMend     Severity = "to_mend" // a finish plan mends it
	SpoilsPart Severity = "spoils_part"
)

// PartDefect is something that is not as it should be.
type PartDefect struct {
	Kind     finish.Defect `json:"kind"`
	Severity Severity      `json:"severity"`
	Where    string        `json:"where,omitempty"`
	Note     string        `json:"note,omitempty"`
	Photos   []id.ID       `json:"photos,omitempty"`
}

// Check refuses, in a year, what nobody can have seen. Faults: those of the words, and SPECIES_OF_NO_WOOD,
// FINISH_MISSING, VENEER_OF_NO_VENEER, VENEER_THICKNESS, YEAR_IN_FUTURE, YEAR_TOO_OLD, DECADE_WITHOUT_NOUGHT, YEAR_OF_NO_FINISH, DEFECT_TWICE.
func (s Seen) Check(year int) error {
	if err := s.words(); err != nil {
		return err
	}
	if s.Species != "" && s.Material != finish.SolidWood && s.Material != finish.Veneer {
		return fault.New(fault.Invalid, "SPECIES_OF_NO_WOOD", "Only solid wood and veneer are of a species; leave it out, or say another material.").At("seen.species")
	}
	if err := s.thickness(); err != nil {
		return err
	}
	if err := s.coatedWhen(year); err != nil {
		return err
	}
	return s.eachOnce()
}

// words checks what has a vocabulary, which is that of the rules of finishes.
func (s Seen) words() error {
	if s.OldFinish == "" {
		return fault.New(fault.Invalid, "FINISH_MISSING", "Say what lies on the part: bare, unknown if nobody can tell, or a kind of coating.").At("seen.old_finish")
	}
	for i, d := range s.Defects {
		if err := (finish.Assessment{Material: finish.SolidWood, Defects: []finish.Defect{d.Kind}}).Check(); err != nil {
			return fault.Of(err).At(fmt.Sprintf("seen.defects[%d].kind", i))
		}
	}
	err := finish.Assessment{Material: s.Material, Species: s.Species, OldFinish: s.family()}.Check()
	if f := fault.Of(err); f != nil {
		return f.At(seenFields[f.Fields[0].Path])
	}
	return err
}

var seenFields = map[string]string{"material": "seen.material", "species": "seen.species", "family": "seen.old_finish"}

// family is the old finish as the rules write it.
func (s Seen) family() finish.Family {
	if s.OldFinish == Bare {
		return ""
	}
	return s.OldFinish
}

// mostVeneerMM is thicker than any sawn veneer. Common practice.
const mostVeneerMM = 10

func (s Seen) thickness() error {
	mm, measured := s.VeneerMM()
	switch {
	case !measured:
		return nil
	case s.Veneer.Unit.Measure != quantity.Length || !mm.IsPositive() || mm.GreaterThan(decimal.NewFromInt(mostVeneerMM)):
		return fault.New(fault.Invalid, "VENEER_THICKNESS", "Veneer is thicker than 0 mm and at most 10 mm; measure it at an edge, or leave it out if nobody can.").At("seen.veneer")
	case s.Material != finish.Veneer:
		return fault.New(fault.Invalid, "VENEER_OF_NO_VENEER", "Only veneer has a thickness of veneer; say that the part is of veneer, or leave the thickness out.").At("seen.veneer")
	}
	return nil
}

// VeneerMM is how thick the veneer is, exactly; false where nobody measured it.
func (s Seen) VeneerMM() (mm decimal.Decimal, measured bool) {
	if s.Veneer.Unit.Symbol == "" {
		return decimal.Zero, false
	}
	return s.Veneer.InBase().Value.Shift(3), true
}

// oldestYear is the earliest year in which any coating that comes to a shop was put on.
const oldestYear = 1600

func (s Seen) coatedWhen(year int) error {
	at := "seen.painted_in"
	switch {
	case s.PaintedIn == 0 && !s.Decade:
		return nil
	case s.Decade && s.PaintedIn%10 != 0 || s.PaintedIn == 0:
		return fault.New(fault.Invalid, "DECADE_WITHOUT_NOUGHT", "A decade is said by its first year, such as 1950 of the 1950s.").At(at)
	case s.PaintedIn > year:
		return fault.New(fault.Invalid, "YEAR_IN_FUTURE", "%d has not come yet; say the earliest year in which the old coating may have been put on, or leave it out if nobody knows.", s.PaintedIn).At(at)
	case s.PaintedIn < oldestYear:
		return fault.New(fault.Invalid, "YEAR_TOO_OLD", "No coating that comes to a shop is from %d; say a year from 1600 on, or leave it out if nobody knows.", s.PaintedIn).At(at)
	case s.OldFinish == Bare:
		return fault.New(fault.Invalid, "YEAR_OF_NO_FINISH", "A bare part has no old coating, so none was put on in a year; leave the year out, or say what lies on the part.").At(at)
	}
	return nil
}

// eachOnce refuses the same defect twice in one place.
func (s Seen) eachOnce() error {
	seen := map[string]bool{}
	for i, d := range s.Defects {
		key := string(d.Kind) + "\n" + strings.ToLower(d.Where)
		if seen[key] {
			return fault.New(fault.Invalid, "DEFECT_TWICE", "%s is said twice in one place; say where each is, or say it once.", d.Kind).At(fmt.Sprintf("seen.defects[%d]", i))
		}
		seen[key] = true
	}
	return nil
}

// Shows refuses a photo, named in a field, that shows another piece or was removed. Faults: PHOTO_OF_ANOTHER_PIECE,
// PHOTO_REMOVED.
func (ph Photo) Shows(p Piece, field string) error {
	if ph.Piece != p.ID {
		return fault.New(fault.Invalid, "PHOTO_OF_ANOTHER_PIECE", "This photo shows piece %d; name one of piece %d, or none.", ph.PieceTag, p.Tag).At(field)
	}
	if f := fault.Of(ph.Shown()); f != nil {
		return f.At(field)
	}
	return nil
}

// Assess puts what was seen in the place of what was said before; year is the present one. Faults: PIECE_SCRAPPED, and those of Seen.Check.
func (a *Assessment) Assess(p Piece, seen Seen, year int, by string, at time.Time) error {
	if p.State == Scrapped {
		return fault.New(fault.Precondition, "PIECE_SCRAPPED", "Piece %d was given up: %s. Nothing of it is assessed any more.", p.Tag, p.ScrapReason).At("part")
	}
	if err := seen.Check(year); err != nil {
		return err
	}
	a.Seen, a.By, a.At = &seen, by, at
	a.Version++
	return nil
}

// VeneerFloor is how much of a veneer sanding may still take, each exactly in mm.
type VeneerFloor struct {
	Thickness decimal.Decimal
	Presumed  bool // nobody measured it
	Floor     decimal.Decimal
	Sandable  decimal.Decimal // not below 0
}

// VeneerFloor is that of a part which somebody saw to be of veneer; nil of any other. By the floor of the rules of
// finishes, which have its source. What was sanded off since nobody measures.
func (a Assessment) VeneerFloor() *VeneerFloor {
	if a.Seen == nil || a.Seen.Material != finish.Veneer {
		return nil
	}
	f := &VeneerFloor{Floor: decimal.New(finish.VeneerFloorUM, -3)}
	mm, measured := a.Seen.VeneerMM()
	if f.Thickness, f.Presumed = mm, !measured; f.Presumed {
		f.Thickness = decimal.New(finish.UsualVeneerUM, -3)
	}
	f.Sandable = decimal.Max(decimal.Zero, f.Thickness.Sub(f.Floor))
	return f
}
