package finish

import (
	"slices"
	"strconv"
	"strings"

	"tackfree/pkg/fault"
)

// Scale is a system of grades.
type Scale string

// The scales in use.
const (
	FEPA Scale = "FEPA" // P grades, ISO 6344
	CAMI Scale = "CAMI"
)

// Grit is a grade of abrasive.
type Grit struct {
	Scale  Scale
	Number int
}

// P is a FEPA grade: P(120) is P120.
func P(number int) Grit { return Grit{FEPA, number} }

// String writes P120, or 120 for CAMI.
func (g Grit) String() string {
	if g.Scale == FEPA {
		return "P" + strconv.Itoa(g.Number)
	}
	return strconv.Itoa(g.Number)
}

// sizes are nominal mean particle sizes, µm: a grade is a distribution and not one number.
// Sources: published comparison charts of the FEPA and CAMI grades; of P240 and finer the
// tenths, and some coarse grades, are from memory.
var sizes = map[Grit]float64{
	P(12): 1815, P(16): 1324, P(20): 1000, P(24): 764, P(30): 642, P(36): 538, P(40): 425, P(50): 336, P(60): 269, P(80): 201,
	P(100): 162, P(120): 125, P(150): 100, P(180): 82, P(220): 68, P(240): 58.5, P(280): 52.2, P(320): 46.2, P(360): 40.5, P(400): 35,
	P(500): 30.2, P(600): 25.8, P(800): 21.8, P(1000): 18.3, P(1200): 15.3, P(1500): 12.6, P(2000): 10.3, P(2500): 8.4,
	{CAMI, 24}: 708, {CAMI, 36}: 530, {CAMI, 40}: 428, {CAMI, 50}: 350, {CAMI, 60}: 268, {CAMI, 80}: 192, {CAMI, 100}: 140, {CAMI, 120}: 116,
	{CAMI, 150}: 93, {CAMI, 180}: 78, {CAMI, 220}: 66, {CAMI, 240}: 53, {CAMI, 280}: 43, {CAMI, 320}: 36, {CAMI, 360}: 28, {CAMI, 400}: 23,
	{CAMI, 500}: 19, {CAMI, 600}: 15.5, {CAMI, 800}: 12.2, {CAMI, 1000}: 9.7,
}

// ladder is the grades of a scale from coarse to fine.
func ladder(s Scale) []Grit {
	var all []Grit
	for g := range sizes {
		if g.Scale == s {
			all = append(all, g)
		}
	}
	slices.SortFunc(all, func(a, b Grit) int { return a.Number - b.Number })
	return all
}

var ladders = map[Scale][]Grit{FEPA: ladder(FEPA), CAMI: ladder(CAMI)}

// ParseGrit reads P120, or 120 as a CAMI grade. Fault: GRIT_UNKNOWN.
func ParseGrit(text string) (Grit, error) {
	g := Grit{Scale: CAMI}
	digits := text
	if rest, found := strings.CutPrefix(strings.ToUpper(text), "P"); found {
		g.Scale, digits = FEPA, rest
	}
	g.Number, _ = strconv.Atoi(digits)
	return g, g.check()
}

func (g Grit) check() error {
	if _, known := sizes[g]; !known {
		return fault.New(fault.Invalid, "GRIT_UNKNOWN", "There is no grade %s; the grades of wood work run from P40 to P400, or 40 to 320 without the P.", g).At("grit")
	}
	return nil
}

// Micrometres is the nominal mean particle size. Fault: GRIT_UNKNOWN.
func (g Grit) Micrometres() (float64, error) {
	if err := g.check(); err != nil {
		return 0, err
	}
	return sizes[g], nil
}

// finer reports whether g is finer than other, whatever their scales.
func (g Grit) finer(other Grit) bool { return sizes[g] < sizes[other] }

// above is how many grades finer g is than other: on their own ladder, or on FEPA's if they
// are of two scales.
func (g Grit) above(other Grit) int {
	if g.Scale == other.Scale {
		return slices.Index(ladders[g.Scale], g) - slices.Index(ladders[g.Scale], other)
	}
	return g.rung() - other.rung()
}

// rung is where on the FEPA ladder a grade stands, or would: a CAMI grade counts as the
// P grade nearest in size.
func (g Grit) rung() int {
	best := 0
	for i, p := range ladders[FEPA] {
		if abs(sizes[p]-sizes[g]) < abs(sizes[ladders[FEPA][best]]-sizes[g]) {
			best = i
		}
	}
	return best
}

func abs(x float64) float64 { return max(x, -x) }
