package intake

import (
	"strings"

	"github.com/shopspring/decimal"

	"tackfree/pkg/quantity"
)

// usualPart is a part that pieces of a kind have, by size: how many alike, and their measures in cm.
// None of a count: pieces of that size have none.
type usualPart struct {
	label         string
	count         [3]int32
	length, width [3]int64
	thickness     string // cm
}

// places are where a size stands in what is usual.
var places = map[Size]int{Small: 0, Medium: 1, Large: 2}

// usualParts are the parts that such a piece has where nobody measured them; nil: of a kind of which
// nobody knows.
func usualParts(kind string, size Size) (parts []Part) {
	kind = strings.ToLower(kind)
	if other := alsoCalled[kind]; other != "" {
		kind = other
	}
	i := places[size]
	for _, u := range usual[kind] {
		if u.count[i] > 0 {
			parts = append(parts, Part{Label: u.label, Count: u.count[i], Length: inMetres(decimal.New(u.length[i], -2)),
				Width: inMetres(decimal.New(u.width[i], -2)), Thickness: inMetres(decimal.RequireFromString(u.thickness).Shift(-2))})
		}
	}
	return parts
}

// UsualKinds are the kinds whose usual parts are known, under all their names, in no order.
func UsualKinds() (all []string) {
	for kind := range usual {
		all = append(all, kind)
	}
	for kind := range alsoCalled {
		all = append(all, kind)
	}
	return all
}

func inMetres(value decimal.Decimal) quantity.Quantity {
	return quantity.Quantity{Value: value, Unit: metre}
}

var metre = func() quantity.Unit {
	unit, err := quantity.UnitOf("m")
	if err != nil {
		panic(err) // it is one of the units
	}
	return unit
}()

// metres is a length in m; 0: nobody measured it.
func metres(q quantity.Quantity) float64 {
	if q.Unit.Symbol == "" {
		return 0
	}
	return q.InBase().Value.InexactFloat64()
}
