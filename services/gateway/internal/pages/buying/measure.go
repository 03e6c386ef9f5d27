package buying

import (
	"strconv"

	"tackfree/pkg/quantity"
	typev1 "tackfree/proto/tackfree/type/v1"
	"tackfree/services/gateway/internal/typed"
	"tackfree/services/gateway/internal/words"
)

// kmPerMile is exact (international mile).
const kmPerMile = 1.609344

// distanceUnit is in what a reader says how far it is.
func distanceUnit(v *words.Voice) string {
	if v.Units == words.Imperial {
		return "mi"
	}
	return "km"
}

// perUnit is how many kilometres one of a reader's is.
func perUnit(unit string) float64 {
	if unit == "mi" {
		return kmPerMile
	}
	return 1
}

// distanceOf reads how far it is, one way, in km; the form says in which unit it was typed.
func distanceOf(f *typed.Form) float64 {
	if d := f.Number("distance"); d != nil {
		return *d * perUnit(f.Text("per"))
	}
	return 0
}

// distanceText writes a distance to a tenth of the reader's unit; empty: it is none.
func distanceText(v *words.Voice, km float64) string {
	if km == 0 {
		return ""
	}
	return tenth(km / perUnit(distanceUnit(v)))
}

// tenth writes a number to a tenth, as a form takes it.
func tenth(f float64) string {
	rounded, err := strconv.ParseFloat(strconv.FormatFloat(f, 'f', 1, 64), 64)
	if err != nil {
		return ""
	}
	return strconv.FormatFloat(rounded, 'f', -1, 64)
}

// lengthUnit is in what a reader measures a part.
func lengthUnit(v *words.Voice) string {
	if v.Units == words.Imperial {
		return "in"
	}
	return "cm"
}

// inUnit writes a length in the reader's unit, to two digits after the point; empty: there is none.
func inUnit(v *words.Voice, q *typev1.Quantity) string {
	if q == nil {
		return ""
	}
	exact, err := quantity.Parse(q.Value, q.Unit)
	if err != nil {
		return ""
	}
	u, err := quantity.UnitOf(lengthUnit(v))
	if err != nil {
		return ""
	}
	return exact.In(u).Round(2).String()
}
