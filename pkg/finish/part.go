package finish

import (
	"tackfree/pkg/dimension"
	"tackfree/pkg/fault"
)

// Material is what a part is made of.
type Material string

// The materials.
const (
	SolidWood Material = "solid wood"
	Veneer    Material = "veneer"
	MDF       Material = "mdf"
	Laminate  Material = "laminate"
	Metal     Material = "metal"
)

// Lead is what is known of lead in the old coating.
type Lead string

// What a test said; empty: there was none, so lead is presumed.
const (
	LeadUntested Lead = ""
	LeadFree     Lead = "free"
	LeadFound    Lead = "found"
)

// Assessment is what somebody saw of a part before work on it.
type Assessment struct {
	Material  Material
	Species   string  // of wood; empty: nobody can tell
	VeneerMM  float64 // of veneer, how thick it is; 0: nobody knows, so it is taken for thin
	OldFinish Family  // empty: bare; UnknownFinish: nobody can tell
	Waxed     bool
	OldStain  bool // colour in the wood that may bleed
	Lead      Lead
	// PaintedIn is the earliest year in which the old coating may have been put on; 0:
	// nobody knows; else 1600 to 2200.
	PaintedIn int
	Defects   []Defect // what is to be repaired; nil: nothing
}

// LeadBanYear is from when on paint for consumers must not hold lead in the United States
// (16 CFR 1303). Other countries have other years.
const LeadBanYear = 1978

// mayHoldLead reports whether the old coating must be taken for leaded.
func (a Assessment) mayHoldLead() bool {
	return a.OldFinish != "" && a.PaintedIn <= LeadBanYear && a.Lead != LeadFree
}

func (a Assessment) wooden() bool { return a.Material == SolidWood || a.Material == Veneer }

// thin reports veneer that coarse grades would go through. Common practice: 0.6 mm, as
// most veneer of the last hundred years is.
func (a Assessment) thin() bool { return a.Material == Veneer && a.VeneerMM <= 0.6 }

// wood is what the species asks for, or what the rules expect of one that is not known.
func (a Assessment) wood() Species {
	if !a.wooden() {
		return Species{}
	}
	if a.Species == "" {
		return Unknown
	}
	s, _ := FindSpecies(a.Species) // it was checked
	return s
}

func (a Assessment) check() error {
	switch a.Material {
	case SolidWood, Veneer, MDF, Laminate, Metal:
	default:
		return fault.New(fault.Invalid, "MATERIAL_UNKNOWN", "%q is no material; use solid wood, veneer, mdf, laminate or metal.", string(a.Material)).At("material")
	}
	if a.Species != "" {
		if _, err := FindSpecies(a.Species); err != nil {
			return err
		}
	}
	if a.OldFinish != "" && a.OldFinish != UnknownFinish {
		if err := a.OldFinish.check(); err != nil {
			return err
		}
	}
	switch a.Lead {
	case LeadUntested, LeadFree, LeadFound:
	default:
		return fault.New(fault.Invalid, "LEAD_UNKNOWN", "%q is no result of a lead test; use free or found, or leave it empty.", string(a.Lead)).At("lead")
	}
	for _, d := range a.Defects {
		if err := d.check(); err != nil {
			return err
		}
	}
	if a.PaintedIn != 0 {
		if err := dimension.Within("painted in", float64(a.PaintedIn), 1600, 2200, ""); err != nil {
			return err
		}
	}
	return dimension.Within("veneer", a.VeneerMM, 0, 10, "mm")
}
