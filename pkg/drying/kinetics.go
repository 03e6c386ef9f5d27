package drying

import (
	"math"

	"tackfree/pkg/climate"
	"tackfree/pkg/dimension"
	"tackfree/pkg/fault"
)

// Carrier is what leaves the film, or what it takes up, as it dries.
type Carrier string

// The carriers.
const (
	Water   Carrier = "water"
	Solvent Carrier = "solvent"
	Oil     Carrier = "oil"      // dries by the oxygen of the air
	TwoPart Carrier = "two-part" // cures by itself
)

// sensitivity is the exponent of the dryness of the air. At one temperature water
// evaporates in proportion to the vapour pressure deficit (Dalton's law). The others are
// common practice: damp air slows them a little.
var sensitivity = map[Carrier]float64{Water: 1, Solvent: 0.1, Oil: 0.2, TwoPart: 0}

const gasConstant = 8.314462618 // J/(mol K)

// DefaultEnergy is the activation energy, J/mol, with which the rate about doubles for each
// 10 °C between 15 and 30 °C.
const DefaultEnergy = 51_000

// Kinetics is how the rate follows the air.
type Kinetics struct {
	Carrier Carrier
	// What the stated times are for; 0: 25 °C and 50 %, as data sheets usually have it.
	ReferenceCelsius  float64
	ReferenceHumidity float64
	// The law of temperature: Arrhenius by an energy in J/mol, or by a factor for each
	// 10 °C. Both 0: Arrhenius with DefaultEnergy.
	EnergyJMol float64
	Q10        float64
}

// law is Kinetics that was checked, with its defaults filled in.
type law struct {
	Kinetics
	exponent float64
}

func (k Kinetics) law() (law, error) {
	exponent, known := sensitivity[k.Carrier]
	if !known {
		return law{}, fault.New(fault.Invalid, "CARRIER_UNKNOWN", "%q is no carrier; use water, solvent, oil or two-part.", string(k.Carrier)).At("carrier")
	}
	if k.ReferenceCelsius == 0 {
		k.ReferenceCelsius = 25
	}
	if k.ReferenceHumidity == 0 {
		k.ReferenceHumidity = 50
	}
	if k.EnergyJMol == 0 && k.Q10 == 0 {
		k.EnergyJMol = DefaultEnergy
	}
	return law{k, exponent}, k.check()
}

func (k Kinetics) check() error {
	if err := dimension.Within("reference temperature", k.ReferenceCelsius, 5, 60, "°C"); err != nil {
		return err
	}
	if err := dimension.Within("reference humidity", k.ReferenceHumidity, 5, 95, "%"); err != nil {
		return err
	}
	if k.Q10 != 0 {
		if k.EnergyJMol != 0 {
			return fault.New(fault.Invalid, "TWO_LAWS", "Give the law of temperature by an energy or by a factor for each 10 °C, not by both.").At("q10")
		}
		return dimension.Within("factor for 10 °C", k.Q10, 1, 5, "")
	}
	return dimension.Within("activation energy", k.EnergyJMol, 0, 200_000, "J/mol")
}

// rate is how many times faster than at the reference the film dries.
func (l law) rate(air climate.Air) float64 {
	dryness := (100 - air.Humidity()) / (100 - l.ReferenceHumidity)
	return l.warmth(air.Celsius()) * math.Pow(dryness, l.exponent)
}

func (l law) warmth(celsius float64) float64 {
	if l.Q10 != 0 {
		return math.Pow(l.Q10, (celsius-l.ReferenceCelsius)/10)
	}
	return math.Exp(l.EnergyJMol / gasConstant * (1/(l.ReferenceCelsius+273.15) - 1/(celsius+273.15)))
}

// Rate is how many times faster than at the reference a film dries in this air: 1 at the
// reference, 0 for water in air that takes up no more. Faults: CARRIER_UNKNOWN,
// OUT_OF_RANGE, TWO_LAWS. Sources: Arrhenius' law or the Q10 rule for temperature, Dalton's
// law for water.
func (k Kinetics) Rate(air climate.Air) (float64, error) {
	l, err := k.law()
	if err != nil {
		return 0, err
	}
	return l.rate(air), nil
}
