// Package dimension is physical values that were measured or estimated, and so need not be
// exact: lengths, areas, temperatures, films. Trade, pure.
//
// A value is a float64 in the one unit of its kind, which its name says where it has one
// (areaM2, filmUm). Text comes in through Parse, and every function that takes a value
// says what is wrong with it through Within; a NaN or an infinity is never within. What is
// bought, kept and paid for is exact, and in package quantity.
package dimension

import (
	"math"
	"strconv"

	"tackfree/pkg/fault"
)

// Within refuses a value below low or above high, or none at all; all three are in the unit
// that is named, "" for a bare number. Fault: OUT_OF_RANGE, which names the argument, in its
// text and as the field at fault, and the allowed range.
func Within(name string, value, low, high float64, unit string) error {
	if value >= low && value <= high { // false for NaN
		return nil
	}
	return fault.New(fault.Invalid, "OUT_OF_RANGE", "%s is %s; it must be from %s to %s.",
		fault.Word(name), format(value, unit), format(low, unit), format(high, unit)).At(name)
}

// Above is Within for what must be more than low and at most high. Fault: OUT_OF_RANGE.
func Above(name string, value, low, high float64, unit string) error {
	if value > low && value <= high {
		return nil
	}
	return fault.New(fault.Invalid, "OUT_OF_RANGE", "%s is %s; it must be above %s and at most %s.",
		fault.Word(name), format(value, unit), format(low, unit), format(high, unit)).At(name)
}

func format(value float64, unit string) string {
	text := strconv.FormatFloat(value, 'g', 6, 64)
	switch {
	case unit == "" || math.IsNaN(value):
		return text
	case unit == "%":
		return text + " %"
	}
	return text + " " + unit
}
