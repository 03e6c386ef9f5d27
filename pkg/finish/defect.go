package finish

import (
	"slices"

	"tackfree/pkg/fault"
)

// Defect is something on a part that is to be repaired.
type Defect string

// The defects.
const (
	LooseJoint   Defect = "loose joint"
	VeneerLift   Defect = "veneer lift"
	VeneerChip   Defect = "veneer chip"
	Dents        Defect = "dents"
	Holes        Defect = "holes"
	Scratches    Defect = "scratches"
	WaterRing    Defect = "water ring"
	Burn         Defect = "burn"
	Odour        Defect = "odour"
	MissingPiece Defect = "missing piece"
)

// Defects lists all.
func Defects() []Defect {
	return []Defect{LooseJoint, VeneerLift, VeneerChip, Dents, Holes, Scratches, WaterRing, Burn, Odour, MissingPiece}
}

func (d Defect) check() error {
	if !slices.Contains(Defects(), d) {
		return fault.New(fault.Invalid, "DEFECT_UNKNOWN", "%q is no defect that the rules know; use one of %q.", string(d), Defects()).At("defects")
	}
	return nil
}

// has reports whether one of the defects is on the part.
func (a Assessment) has(defects ...Defect) bool {
	for _, d := range a.Defects {
		if slices.Contains(defects, d) {
			return true
		}
	}
	return false
}

// repairs are what is still to be done for the defects of a part.
type repairs struct{ glue, patch, fill bool }

// repairs are those that the defects ask for. Common practice.
func (a Assessment) repairs() repairs {
	return repairs{
		glue:  a.has(LooseJoint, VeneerLift) || a.has(MissingPiece) && a.Material != Veneer,
		patch: a.has(VeneerChip) || a.has(MissingPiece) && a.Material == Veneer,
		fill:  a.has(Dents, Holes, Scratches),
	}
}
