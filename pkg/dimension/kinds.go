package dimension

import (
	"slices"
	"strings"
)

// Kind is what a value measures; each has one unit. The zero Kind knows no unit, so Parse
// of it refuses everything.
type Kind struct {
	name  string
	units map[string]unit
	typed map[string]string // how else people type a unit, in lower case, to its symbol
}

// unit turns a value into the kind's unit: value × size + shift.
type unit struct{ size, shift float64 }

// The kinds, each with the unit of its values first. Sizes are exact (NIST Special
// Publication 811: inch 25.4 mm, foot and yard from it, mil 25.4 µm, pound 0.45359237 kg;
// NIST Handbook 44: US gallon 231 in³).
var (
	// Length is in m; also cm, mm, in, ft, yd.
	Length = kind("length", of("m", 1, "metre", "metres", "meter", "meters"), of("cm", 0.01), of("mm", 0.001), of("in", inch, inchMarks...),
		of("ft", foot, footMarks...), of("yd", 3*foot, "yard", "yards"))
	// Area is in m²; also cm2, in2, ft2, yd2.
	Area = kind("area", of("m2", 1, "sq m"), of("cm2", 1e-4), of("in2", inch*inch, "sq in"), of("ft2", foot*foot, "sq ft", "sqft"), of("yd2", 9*foot*foot, "sq yd"))
	// Film is a thickness in µm; also mm, mil.
	Film = kind("film thickness", of("um", 1, "micron", "microns", "micrometre", "micrometres", "micrometer", "micrometers"), of("mm", 1000), of("mil", 25.4, "mils"))
	// Temperature is in °C; also F, K.
	Temperature = kind("temperature", of("C", 1, "°c", "deg c"), fahrenheit("F", "°f", "deg f"), kelvin("K"))
	// Percent is in percent, with the sign or without.
	Percent = kind("percentage", of("%", 1, "percent"), of("", 1))
	// Volume is in L; also mL and US floz, pt, qt, gal.
	Volume = kind("volume", of("L", 1, "litre", "litres", "liter", "liters"), of("mL", 0.001), of("floz", gallon/128, "fl oz"), of("pt", gallon/8), of("qt", gallon/4), of("gal", gallon))
	// Density is in g/L; also g/mL, kg/L, lb/gal.
	Density = kind("density", of("g/L", 1), of("g/mL", 1000), of("kg/L", 1000), of("lb/gal", 453.59237/gallon))
	// Time is in h; also min, d.
	Time = kind("time", of("h", 1, "hr", "hrs", "hour", "hours"), of("min", 1.0/60, "mins", "minute", "minutes"), of("d", 24, "day", "days"))
)

const (
	inch   = 0.0254
	foot   = 12 * inch
	gallon = 3.785411784
)

// How feet and inches are marked: on paper, on a keyboard, in words.
var (
	footMarks = []string{"foot", "feet", "'", "′", "’"}
	inchMarks = []string{"inch", "inches", `"`, "″", "”", "''"}
)

type named struct {
	symbol string
	unit
	typed []string
}

func of(symbol string, size float64, typed ...string) named {
	return named{symbol, unit{size: size}, typed}
}

func fahrenheit(symbol string, typed ...string) named {
	return named{symbol, unit{5.0 / 9, -160.0 / 9}, typed}
}

func kelvin(symbol string) named { return named{symbol, unit{1, -273.15}, nil} }

func kind(name string, units ...named) Kind {
	k := Kind{name: name, units: map[string]unit{}, typed: map[string]string{}}
	for _, u := range units {
		k.units[u.symbol] = u.unit
		for _, typed := range append(u.typed, strings.ToLower(u.symbol)) {
			k.typed[typed] = u.symbol
		}
	}
	return k
}

// signs are what stands for another on paper: the micro sign and the Greek letter, the
// raised two, the ordinal sign that is taken for a degree.
var signs = strings.NewReplacer("µ", "u", "μ", "u", "²", "2", "º", "°")

// unit finds a unit by its symbol, or by how else people type it.
func (k Kind) unit(symbol string) (unit, bool) {
	symbol = signs.Replace(symbol)
	u, known := k.units[symbol]
	if !known {
		u, known = k.units[k.symbol(symbol)]
	}
	return u, known
}

// symbol is a unit's own; of what is none, the same again.
func (k Kind) symbol(typed string) string {
	if s, known := k.typed[strings.Join(strings.Fields(strings.ToLower(typed)), " ")]; known {
		return s
	}
	return typed
}

func (k Kind) symbols() string {
	var symbols []string
	for s := range k.units {
		if s != "" {
			symbols = append(symbols, s)
		}
	}
	slices.Sort(symbols)
	return strings.Join(symbols, ", ")
}
