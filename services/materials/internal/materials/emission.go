package materials

import (
	"cmp"
	"slices"
	"time"

	"github.com/shopspring/decimal"

	"tackfree/pkg/coating"
	"tackfree/pkg/fault"
	"tackfree/pkg/id"
)

// EmissionCaution stands beside what was let go.
const EmissionCaution = "Grams are on the actual basis (VOC of the litre as sold), as records of emissions have it: all solvent that was used is taken to leave in the end. " +
	"They are no measure of whether a limit is kept, which is stated without water and exempt compounds. " +
	"What was wasted can be hazardous waste; local air and waste rules and licensed practice come first."

// Used is how much of a product was used up.
type Used struct {
	Product     id.ID
	ProductName string
	Unit        string // that it is counted in
	Category    string // solvent, paint …; empty: nobody said
	Coating     bool   // its data sheet was entered
	Quantity    decimal.Decimal
	Missing     bool     // a count found that it is not there
	VOC         *float64 // as sold, g/L; nil: not stated
	Density     float64  // g/mL; 0: not stated
}

// Emission is what a product let go.
type Emission struct {
	Used
	Solvent bool    // it is all solvent
	Known   bool    // VOC and grams are
	VOC     float64 // g/L, where it is known; of a solvent whose VOC nobody stated, its density
	Grams   float64
}

// solvents are the categories of products that are all solvent.
var solvents = []string{"solvent", "thinner"}

// Emissions are those of what was used, and of what counts found missing, which was used or
// evaporated for all that anybody knows, by product name; of what neither is a liquid nor has a
// data sheet there are none. Without a stated VOC it is not known what a liquid let go, which is
// not nothing; but a solvent lets go all of itself, also what some rules exempt. Fault:
// OUT_OF_RANGE. Source: coating.Emission.
func Emissions(used []Used) ([]Emission, error) {
	var out []Emission
	for _, u := range used {
		e := Emission{Used: u, VOC: valueOf(u.VOC), Solvent: u.solvent()}
		stated := u.VOC != nil
		if !stated && e.Solvent {
			e.VOC, stated = 1000*u.Density, u.Density > 0
		}
		litres, measured := u.litres()
		if !measured && !u.Coating && !e.Solvent && u.VOC == nil {
			continue
		}
		if e.Known = measured && stated; e.Known {
			grams, err := coating.Emission(litres, e.VOC)
			if err != nil {
				return nil, err
			}
			e.Grams = grams
		}
		out = append(out, e)
	}
	slices.SortFunc(out, func(a, b Emission) int {
		return cmp.Or(cmp.Compare(a.ProductName, b.ProductName), cmp.Compare(a.kind(), b.kind()))
	})
	return out, nil
}

// kind is the word of what it is in the record.
func (e Emission) kind() string {
	switch {
	case e.Missing:
		return "missing at a count"
	case e.Solvent:
		return "solvent"
	}
	return "coating"
}

// Emitted are sums of what was let go, g.
type Emitted struct {
	Coatings, Solvents, Missing float64
	Incomplete                  bool // of some of it nobody knows
}

// Total is all of it that is known, g.
func (e Emitted) Total() float64 { return e.Coatings + e.Solvents + e.Missing }

// Text says what the total leaves out; empty: nothing that was noted.
func (e Emitted) Text() string {
	if !e.Incomplete {
		return ""
	}
	return "The total is incomplete: of some liquids nobody stated the VOC, or the density of what is counted by mass or by the piece. Enter it with their details; 0 is a figure too."
}

// SumEmissions adds up what was let go.
func SumEmissions(emissions []Emission) (sum Emitted) {
	for _, e := range emissions {
		switch {
		case !e.Known:
			sum.Incomplete = true
		case e.Missing:
			sum.Missing += e.Grams
		case e.Solvent:
			sum.Solvents += e.Grams
		default:
			sum.Coatings += e.Grams
		}
	}
	return sum
}

// solvent reports whether the product is all solvent: people call it so, or a litre of it lets
// go as much as it weighs.
func (u Used) solvent() bool {
	return slices.Contains(solvents, u.Category) || u.Density > 0 && valueOf(u.VOC) >= 1000*u.Density
}

// litres is the volume of what was used; false: it is not counted by volume, nor by mass with a
// known density.
func (u Used) litres() (float64, bool) {
	switch n := u.Quantity.InexactFloat64(); {
	case u.Unit == "L":
		return n, true
	case u.Unit == "g" && u.Density > 0 && (u.Coating || u.solvent() || u.VOC != nil):
		return n / (1000 * u.Density), true
	}
	return 0, false
}

// Month gives the beginning of a month and of the next, by the clock of a zone. Fault:
// MONTH_MALFORMED, of one that no calendar has or that is not between the years 2000 and 2099.
func Month(year, month int32, zone *time.Location) (from, to time.Time, err error) {
	if month < 1 || month > 12 || year < 2000 || year > 2099 {
		return from, to, fault.New(fault.Invalid, "MONTH_MALFORMED", "There is no month %d of the year %d; give a year from 2000 to 2099 and a month from 1 to 12.", month, year).At("month")
	}
	from = time.Date(int(year), time.Month(month), 1, 0, 0, 0, 0, zone)
	return from, from.AddDate(0, 1, 0), nil
}
