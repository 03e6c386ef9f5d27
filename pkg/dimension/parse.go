package dimension

import (
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"tackfree/pkg/fault"
)

// Kind is what a value measures; each has one unit.
type Kind struct {
	name  string
	units map[string]unit
}

// unit turns a value into the kind's unit: value × size + shift.
type unit struct{ size, shift float64 }

// The kinds, each with the unit of its values first. Sizes are exact (NIST Special Publication 811: inch 25.4 mm, foot and yard
// from it, mil 25.4 µm, pound 0.45359237 kg; NIST Handbook 44: US gallon 231 in³).
var (
	Length      = kind("length", of("m", 1), of("cm", 0.01), of("mm", 0.001), of("in", inch), of("ft", foot), of("yd", 3*foot))
	Area        = kind("area", of("m2", 1), of("cm2", 1e-4), of("in2", inch*inch), of("ft2", foot*foot), of("yd2", 9*foot*foot))
	Film        = kind("film thickness", of("um", 1), of("µm", 1), of("mm", 1000), of("mil", 25.4))
	Temperature = kind("temperature", of("C", 1), of("°C", 1), fahrenheit("F"), fahrenheit("°F"), kelvin("K"))
	Percent     = kind("percentage", of("%", 1), of("", 1))
	Volume      = kind("volume", of("L", 1), of("mL", 0.001), of("floz", gallon/128), of("pt", gallon/8), of("qt", gallon/4), of("gal", gallon))
	Density     = kind("density", of("g/L", 1), of("g/mL", 1000), of("kg/L", 1000), of("lb/gal", 453.59237/gallon))
	Time        = kind("time", of("h", 1), of("min", 1.0/60), of("d", 24))
)

const (
	inch   = 0.0254
	foot   = 12 * inch
	gallon = 3.785411784
)

type named struct {
	symbol string
	unit
}

func of(symbol string, size float64) named { return named{symbol, unit{size: size}} }

func fahrenheit(symbol string) named { return named{symbol, unit{5.0 / 9, -160.0 / 9}} }

func kelvin(symbol string) named { return named{symbol, unit{1, -273.15}} }

func kind(name string, units ...named) Kind {
	k := Kind{name: name, units: map[string]unit{}}
	for _, u := range units {
		k.units[u.symbol] = u.unit
	}
	return k
}

// Parse reads a number and a unit, such as 36ft2, 1.5 mil, 70F or 17 3/8in, and gives the
// value in the kind's unit. A number is a decimal, a fraction, or a whole number and a
// fraction. Faults: VALUE_MALFORMED, UNIT_UNKNOWN.
func (k Kind) Parse(text string) (float64, error) {
	number, symbol := split(text)
	u, known := k.units[symbol]
	if !known {
		return 0, fault.New(fault.Invalid, "UNIT_UNKNOWN", "%q has no unit of %s; use %s.", text, k.name, k.symbols())
	}
	value, ok := parseNumber(number)
	if !ok {
		return 0, fault.New(fault.Invalid, "VALUE_MALFORMED", "%q is not a number with a unit, such as 36ft2, 1.5mil or 17 3/8in.", text)
	}
	return value*u.size + u.shift, nil
}

// split cuts the text after its last digit or point; a digit behind letters (ft2) is of
// the unit.
func split(text string) (number, symbol string) {
	text = strings.TrimSpace(text)
	end := strings.IndexFunc(text, func(r rune) bool {
		return r != '.' && r != '-' && r != '/' && r != ' ' && !unicode.IsDigit(r)
	})
	if end < 0 {
		end = len(text)
	}
	return strings.TrimSpace(text[:end]), text[end:]
}

func (k Kind) symbols() string {
	var symbols []string
	for s := range k.units {
		if s != "" && s[0] < 0x80 {
			symbols = append(symbols, s)
		}
	}
	slices.Sort(symbols)
	return strings.Join(symbols, ", ")
}

// parseNumber reads 17, 17.5, 3/8 or 17 3/8, with a sign or without.
func parseNumber(text string) (float64, bool) {
	text, negative := strings.CutPrefix(text, "-")
	whole, fraction, mixed := strings.Cut(text, " ")
	if !mixed && strings.Contains(text, "/") {
		whole, fraction, mixed = "0", text, true
	}
	value, ok := decimal(whole, !mixed)
	if mixed {
		part, good := ratio(strings.TrimSpace(fraction))
		value, ok = value+part, ok && good
	}
	if negative {
		value = -value
	}
	return value, ok
}

// decimal reads digits, with a point among them if that is allowed.
func decimal(text string, point bool) (float64, bool) {
	digits := strings.Trim(text, "0123456789")
	if text == "" || text == "." || len(text) > 20 || (digits != "" && (digits != "." || !point)) {
		return 0, false
	}
	v, err := strconv.ParseFloat(text, 64)
	return v, err == nil && !math.IsInf(v, 0)
}

// ratio reads a fraction of whole numbers.
func ratio(text string) (float64, bool) {
	over, under, _ := strings.Cut(text, "/")
	a, good := decimal(over, false)
	b, fine := decimal(under, false)
	return a / b, good && fine && b > 0
}
