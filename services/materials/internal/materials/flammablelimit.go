package materials

import (
	"fmt"

	"github.com/shopspring/decimal"
)

// Limit is how much of some categories may stand together. Amounts are L.
type Limit struct {
	Of          string // category 1, categories 2 to 4 …
	Held, Limit decimal.Decimal
	gallons     int64
	Source      string
}

// litresAGallon is the US gallon, 231 in³ (NIST Handbook 44, appendix C).
var litresAGallon = decimal.RequireFromString("3.785411784")

// limits are those that apply, each by itself: room that one category leaves is none for
// another.
//
// Sources: 29 CFR 1910.106(e)(2)(ii)(b)(1) and (2) for what is outside a storage room or cabinet
// in a building or any one fire area of it, in containers: 25 gal of category 1, and 120 gal of
// categories 2, 3 and 4 together; (d)(3)(i) for one cabinet: 60 gal of categories 1, 2 and 3
// together, and 120 gal of category 4.
func (f Flammables) limits() []Limit {
	const outside, cabinet = "29 CFR 1910.106(e)(2)(ii)(b)", "29 CFR 1910.106(d)(3)(i)"
	switch {
	case f.Whole:
		return []Limit{
			f.limit("category 1", 1, 1, 25, outside+"(1)"),
			f.limit("categories 2 to 4", 2, 4, 120, outside+"(2)"),
		}
	case f.Place.Kind == Cabinet:
		return []Limit{
			f.limit("categories 1 to 3", 1, 3, 60, cabinet),
			f.limit("category 4", 4, 4, 120, cabinet),
		}
	}
	return nil
}

func (f Flammables) limit(of string, first, last, gallons int64, source string) Limit {
	l := Limit{Of: of, Limit: decimal.New(gallons, 0).Mul(litresAGallon), gallons: gallons, Source: source}
	for c := first; c <= last; c++ {
		l.Held = l.Held.Add(f.Category[c])
	}
	return l
}

// Over reports whether there is more than that.
func (l Limit) Over() bool { return l.Held.GreaterThan(l.Limit) }

// Percent is what is held, of the limit.
func (l Limit) Percent() float64 { return l.Held.Div(l.Limit).Shift(2).InexactFloat64() }

func (l Limit) text(where string) string {
	return fmt.Sprintf("%s holds %s L of flammable liquids of %s, which is %s L more than the %s L (%d gal) of %s. %s",
		where, l.Held.Round(1), l.Of, l.excess(), l.Limit.Round(1), l.gallons, l.Source, l.ToDo())
}

// excess is how much is above the limit, L.
func (l Limit) excess() decimal.Decimal { return l.Held.Sub(l.Limit).RoundCeil(1) }

// ToDo says what to do about what is above the limit; empty: nothing is.
func (l Limit) ToDo() string {
	if !l.Over() {
		return ""
	}
	return fmt.Sprintf("Use up %s L at least, move it to a storage cabinet or room for flammable liquids that has room for it, or have it taken away, and ask the local fire authority.", l.excess())
}

// FlammableAlert warns that more flammable liquid stands together than a limit says.
const FlammableAlert AlertKind = "flammable liquids over limit"

// FlammableAlerts warn of each limit that is passed: it is due since the newest of it came in.
func FlammableAlerts(sums []Flammables) (out []Alert) {
	for _, f := range sums {
		for _, l := range f.Limits {
			if l.Over() {
				out = append(out, Alert{Kind: FlammableAlert, Key: f.alertKey() + " " + l.Of, Text: l.text(f.Where()), Due: f.Since})
			}
		}
	}
	return out
}

func (f Flammables) alertKey() string {
	if f.Whole {
		return "area/" + areaKey(f.Area)
	}
	return "places/" + f.Place.Word
}
