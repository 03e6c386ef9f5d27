package finish_test

import (
	"slices"
	"testing"

	"tackfree/pkg/fault"
	"tackfree/pkg/finish"
)

// The Wood Handbook (FPL-GTR-190), chapter 16, and FPL Report 1733 name these woods for
// extractives that discolour, and for resin.
func TestFindSpecies(t *testing.T) {
	for _, name := range []string{"oak", "Mahogany", "walnut", "cherry", "cedar", "redwood", "rosewood"} {
		if s, err := finish.FindSpecies(name); err != nil || !s.Tannin {
			t.Errorf("%s = %+v, %v, want one that bleeds", name, s, err)
		}
	}
	for _, name := range []string{"pine", "fir", "cedar"} {
		if s, err := finish.FindSpecies(name); err != nil || !s.Resin {
			t.Errorf("%s = %+v, %v, want one with resin", name, s, err)
		}
	}
	if _, err := finish.FindSpecies("formica"); !fault.Is(err, "SPECIES_UNKNOWN") {
		t.Errorf("formica = %v, want SPECIES_UNKNOWN", err)
	}
	if names := finish.SpeciesNames(); !slices.IsSorted(names) {
		t.Errorf("%v are in no order", names)
	}
	if u := finish.Unknown; !u.Tannin || !u.Resin || !u.Blotches {
		t.Errorf("wood that nobody could tell is taken for harmless: %+v", u)
	}
}

func TestFamilies_EachOnce(t *testing.T) {
	all := finish.Families()
	slices.Sort(all)
	if len(slices.Compact(slices.Clone(all))) != len(all) || len(all) != 14 {
		t.Errorf("%v", all)
	}
}
