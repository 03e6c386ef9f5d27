package finish

import (
	"strings"

	"tackfree/pkg/fault"
)

// Species is a kind of wood by what a finish has to reckon with.
type Species struct {
	Name     string
	Tannin   bool // extractives that bleed into light water-borne films
	Resin    bool // pitch and knots
	OpenPore bool // wants filling for a level film
	Oily     bool // keeps oil finishes from drying
	Blotches bool // takes stain unevenly
}

// species are the woods of furniture. Sources: USDA Forest Products Laboratory, Wood
// Handbook (FPL-GTR-190), chapter 16, and FPL Report 1733 on extractives and resin; pores,
// blotching and that rosewood bleeds are common practice.
var species = []Species{
	{Name: "alder", Blotches: true}, {Name: "ash", OpenPore: true}, {Name: "beech"}, {Name: "birch", Blotches: true},
	{Name: "cedar", Tannin: true, Resin: true}, {Name: "cherry", Tannin: true, Blotches: true}, {Name: "chestnut", Tannin: true, OpenPore: true},
	{Name: "elm", OpenPore: true}, {Name: "fir", Resin: true, Blotches: true}, {Name: "mahogany", Tannin: true, OpenPore: true}, {Name: "maple", Blotches: true},
	{Name: "oak", Tannin: true, OpenPore: true}, {Name: "pine", Resin: true, Blotches: true}, {Name: "poplar", Blotches: true}, {Name: "redwood", Tannin: true},
	{Name: "rosewood", Tannin: true, OpenPore: true, Oily: true}, {Name: "spruce", Resin: true}, {Name: "teak", Tannin: true, OpenPore: true, Oily: true}, {Name: "walnut", Tannin: true, OpenPore: true},
}

// FindSpecies finds a wood by its name. Fault: SPECIES_UNKNOWN.
func FindSpecies(name string) (Species, error) {
	for _, s := range species {
		if strings.EqualFold(s.Name, name) {
			return s, nil
		}
	}
	return Species{}, fault.New(fault.Invalid, "SPECIES_UNKNOWN", "%q is no wood that the rules know; use one of %s, or leave it empty if nobody can tell.", name, strings.Join(SpeciesNames(), ", ")).At("species")
}

// SpeciesNames lists the woods, in order.
func SpeciesNames() []string {
	names := make([]string, len(species))
	for i, s := range species {
		names[i] = s.Name
	}
	return names
}

// Unknown is wood that nobody could tell: the rules expect of it what may do harm. That it
// may be oily is a note, or each such piece would be sealed under varnish.
var Unknown = Species{Name: "unknown", Tannin: true, Resin: true, Blotches: true}
