package finish

import (
	"strings"

	"tackfree/pkg/fault"
)

// Family is a coating by the chemistry of its film.
type Family string

// The families.
const (
	Shellac           Family = "shellac" // with its natural wax
	DewaxedShellac    Family = "dewaxed shellac"
	NitroLacquer      Family = "nitrocellulose lacquer"
	CatalysedLacquer  Family = "catalysed lacquer"
	DryingOil         Family = "drying oil"
	OilVarnish        Family = "alkyd or oil varnish"
	OilPolyurethane   Family = "oil-modified polyurethane"
	WaterAcrylic      Family = "water-borne acrylic"
	WaterPolyurethane Family = "water-borne polyurethane"
	ChalkPaint        Family = "chalk-type paint"
	MilkPaint         Family = "milk paint"
	Latex             Family = "latex paint"
	Wax               Family = "wax"
	TwoPart           Family = "two-part"
)

// chemistry is what the rules and the cautions ask of a family.
type chemistry struct {
	water     bool // carried by water, so it raises grain and draws tannin up
	burnsIn   bool // melts into the coat before, so no scuff is needed for the bond
	selfHeats bool // its rags heat up by themselves
	flammable bool // while wet
	hot       bool // its solvents swell oil and alkyd
	at        int  // its place in Families, from 1; 0: of no family
}

var families = numbered(map[Family]chemistry{
	Shellac: {burnsIn: true, flammable: true}, DewaxedShellac: {burnsIn: true, flammable: true},
	NitroLacquer: {burnsIn: true, flammable: true, hot: true}, CatalysedLacquer: {flammable: true, hot: true},
	DryingOil: {selfHeats: true}, OilVarnish: {selfHeats: true, flammable: true}, OilPolyurethane: {selfHeats: true, flammable: true},
	WaterAcrylic: {water: true}, WaterPolyurethane: {water: true}, ChalkPaint: {water: true}, MilkPaint: {water: true}, Latex: {water: true},
	Wax: {flammable: true}, TwoPart: {flammable: true, hot: true},
})

func numbered(all map[Family]chemistry) map[Family]chemistry {
	for i, f := range Families() {
		c := all[f]
		c.at = i + 1
		all[f] = c
	}
	return all
}

// Families lists all, in one order.
func Families() []Family {
	return []Family{Shellac, DewaxedShellac, NitroLacquer, CatalysedLacquer, DryingOil, OilVarnish, OilPolyurethane,
		WaterAcrylic, WaterPolyurethane, ChalkPaint, MilkPaint, Latex, Wax, TwoPart}
}

// UnknownFinish is an old coating of which nobody can tell what it is. No product is one.
const UnknownFinish Family = "unknown"

// oldFilm is the chemistry of an old coating; of one that nobody knows, none that could be
// relied on.
func oldFilm(f Family) chemistry {
	if f == UnknownFinish {
		return chemistry{at: len(families) + 1}
	}
	return families[f]
}

func (f Family) check() error {
	if _, known := families[f]; !known {
		return fault.New(fault.Invalid, "FAMILY_UNKNOWN", "%q is no kind of coating that the rules know; use one of these: %s.", string(f), listed(Families())).At("family")
	}
	return nil
}

// listed says words in a sentence.
func listed[W ~string](words []W) string {
	said := make([]string, len(words))
	for i, w := range words {
		said[i] = string(w)
	}
	return strings.Join(said, ", ")
}
