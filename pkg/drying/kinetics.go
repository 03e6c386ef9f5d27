package drying

import (
	"cmp"
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

// sensitivity is the share of the rate that goes with the dryness of the air; the rest goes
// on in any. At one temperature water evaporates in proportion to the vapour pressure
// deficit (Dalton's law), so it stops in saturated air. The others are common practice: damp
// air slows them a little, up to saturation, and stops none of them.
var sensitivity = map[Carrier]float64{Water: 1, Solvent: 0.25, Oil: 0.45, TwoPart: 0}

const gasConstant = 8.314462618 // J/(mol K)

// DefaultEnergy is the activation energy, J/mol, with which the rate about doubles for each
// 10 °C between 15 and 30 °C. Source: Arrhenius' law; 47.8 to 51.2 kJ/mol do so between 10
// and 20 and between 20 and 30 °C.
const DefaultEnergy = 51_000

// What a maker's times may be stated for, and the films that somebody lays.
const (
	MinReferenceCelsius  = 5  // °C
	MaxReferenceCelsius  = 60 // °C
	MinReferenceHumidity = 5  // percent
	MaxReferenceHumidity = 95 // percent
	MinFilmUm            = 1  // µm, wet
	MaxFilmUm            = 5000
)

// Kinetics is how the rate follows the air.
type Kinetics struct {
	Carrier Carrier
	// What the stated times are for, °C (5 to 60) and percent (5 to 95); 0: 25 °C and 50 %,
	// as data sheets usually have it.
	ReferenceCelsius  float64
	ReferenceHumidity float64
	// MinCelsius is the lowest temperature that the product may dry at by its maker, °C (−20
	// up to the reference). 0: DefaultMinCelsius. Below it the law of temperature does not
	// hold: the rate halves with each degree more, to next to nothing, and TooCold says that
	// it is not to be relied upon.
	MinCelsius float64
	// The law of temperature: Arrhenius by an energy in J/mol (above 0 to 200,000), or by a
	// factor for each 10 °C (1 to 5). Both 0: Arrhenius with DefaultEnergy.
	EnergyJMol float64
	Q10        float64
}

// The air that times are stated for where nobody says otherwise. Source: the usual condition
// of data sheets, 77 °F and 50 %, by a bulletin of the paint trade.
const (
	DefaultReferenceCelsius  = 25.0
	DefaultReferenceHumidity = 50.0
)

// Reference is the air that the times are stated for. Faults: those of Rate.
func (k Kinetics) Reference() (climate.Air, error) {
	l, err := k.law()
	if err != nil {
		return climate.Air{}, err
	}
	return climate.NewAir(l.ReferenceCelsius, l.ReferenceHumidity)
}

// law is Kinetics that was checked, with its defaults filled in.
type law struct {
	Kinetics
	damp float64 // the share of the rate that goes with the dryness of the air
}

func (k Kinetics) law() (law, error) {
	damp, known := sensitivity[k.Carrier]
	if !known {
		return law{}, fault.New(fault.Invalid, "CARRIER_UNKNOWN", "%q is no carrier; use water, solvent, oil or two-part.", string(k.Carrier)).At("carrier")
	}
	k.ReferenceCelsius = cmp.Or(k.ReferenceCelsius, DefaultReferenceCelsius)
	k.ReferenceHumidity = cmp.Or(k.ReferenceHumidity, DefaultReferenceHumidity)
	if k.MinCelsius == 0 {
		k.MinCelsius = DefaultMinCelsius
	}
	if k.EnergyJMol == 0 && k.Q10 == 0 {
		k.EnergyJMol = DefaultEnergy
	}
	return law{k, damp}, k.check()
}

func (k Kinetics) check() error {
	if err := dimension.Within("reference temperature", k.ReferenceCelsius, MinReferenceCelsius, MaxReferenceCelsius, "°C"); err != nil {
		return err
	}
	if err := dimension.Within("reference humidity", k.ReferenceHumidity, MinReferenceHumidity, MaxReferenceHumidity, "%"); err != nil {
		return err
	}
	if err := dimension.Within("lowest temperature", k.MinCelsius, -20, k.ReferenceCelsius, "°C"); err != nil {
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
	dryness := (1 - l.damp*air.Humidity()/100) / (1 - l.damp*l.ReferenceHumidity/100)
	return l.warmth(air.Celsius()) * dryness * l.cold(air.Celsius())
}

func (l law) warmth(celsius float64) float64 {
	if l.Q10 != 0 {
		return math.Pow(l.Q10, (celsius-l.ReferenceCelsius)/10)
	}
	return math.Exp(l.EnergyJMol / gasConstant * (1/(l.ReferenceCelsius+273.15) - 1/(celsius+273.15)))
}

// Rate is how many times faster than at the reference a film dries in this air: 1 at the
// reference; 0 for water in saturated air and at freezing; next to 0 far below the lowest
// temperature. Faults: CARRIER_UNKNOWN, OUT_OF_RANGE, TWO_LAWS, AIR_MISSING. Sources:
// Arrhenius' law or the Q10 rule for temperature, Dalton's law for water; common practice
// for the other carriers and for the cold.
func (k Kinetics) Rate(air climate.Air) (float64, error) {
	l, err := k.law()
	if err != nil {
		return 0, err
	}
	if err := air.Check(); err != nil {
		return 0, err
	}
	return l.rate(air), nil
}
