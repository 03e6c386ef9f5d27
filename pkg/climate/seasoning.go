package climate

import (
	"math"
	"time"

	"tackfree/pkg/dimension"
)

// Board is wood that dries through its faces. Water moves inside it by diffusion, which is
// slower than the air takes it away, so the board follows Fick's law for a plane sheet.
type Board struct {
	// Metres through which it dries (0.0001 to 0.2): of a board that dries on one face, twice
	// its thickness; of one that is wet on its surface only, the wet depth likewise.
	ThicknessM float64
	// DiffusivityM2s is that of water across the grain at 20 °C, m²/s (1e-12 to 1e-7). 0: the
	// default.
	DiffusivityM2s float64
}

// DefaultDiffusivity is across the grain of wood at 20 °C, m²/s. Common practice: figures
// from a third of it to three times it are found for furniture woods.
const DefaultDiffusivity = 3e-10

// Diffusion in wood quickens with temperature by this activation energy, J/mol. Common
// practice: about half as fast again for each 10 °C.
const (
	diffusionEnergy = 33_000
	gasConstant     = 8.314462618
)

func (b Board) check() (Board, error) {
	if b.DiffusivityM2s == 0 {
		b.DiffusivityM2s = DefaultDiffusivity
	}
	if err := dimension.Within("thickness", b.ThicknessM, 0.0001, 0.2, "m"); err != nil {
		return b, err
	}
	return b, dimension.Within("diffusivity", b.DiffusivityM2s, 1e-12, 1e-7, "m²/s")
}

// pace is how many times the sheet's own time unit D/l² passes in a second.
func (b Board) pace(celsius float64) float64 {
	warmer := math.Exp(diffusionEnergy / gasConstant * (1/293.15 - 1/(celsius+273.15)))
	return b.DiffusivityM2s * warmer / (b.ThicknessM * b.ThicknessM)
}

// left is the share of the surplus moisture that a plane sheet still holds, on average,
// when x = D t/l² has passed. Source: Crank, The Mathematics of Diffusion (2nd ed. 1975),
// equations 4.18, and 4.20 for short times, where the series converges badly (from memory).
func left(x float64) float64 {
	if x < 0.02 {
		return 1 - 4*math.Sqrt(x/math.Pi)
	}
	sum := 0.0
	for n := 1.0; n < 12; n += 2 {
		sum += math.Exp(-n*n*math.Pi*math.Pi*x) / (n * n)
	}
	return 8 / (math.Pi * math.Pi) * sum
}

// MoistureAfter is the average moisture content, percent, of a board of moisture start
// (percent, 0 to 300) after a time (0 to ten years) in air that stays as it is: always
// between start and the equilibrium. Faults: AIR_MISSING, OUT_OF_RANGE. Sources: Fick's law
// for a plane sheet (Crank, from memory), EquilibriumMoisture for where it ends.
func (b Board) MoistureAfter(start float64, air Air, d time.Duration) (float64, error) {
	rest, b, err := b.toward(start, air)
	if err != nil {
		return 0, err
	}
	if err := dimension.Within("time", d.Hours(), 0, 24*365*10, "h"); err != nil {
		return 0, err
	}
	return rest + (start-rest)*left(b.pace(air.celsius)*d.Seconds()), nil
}

// TimeTo is how long the board takes from one moisture content to another (percent): the
// inverse of MoistureAfter. Faults: AIR_MISSING; OUT_OF_RANGE, also where the air never
// brings it there, or not in ten years.
func (b Board) TimeTo(start, target float64, air Air) (time.Duration, error) {
	rest, b, err := b.toward(start, air)
	if err != nil {
		return 0, err
	}
	never := math.Nextafter(rest, start) // what it comes near to, but not in any time
	err = dimension.Within("moisture content wanted", target, math.Min(start, never), math.Max(start, never), "%")
	if err != nil || start == target {
		return 0, err
	}
	share := (target - rest) / (start - rest)
	low, high := 0.0, 1.0
	for left(high) > share {
		high *= 2
	}
	for high-low > 1e-9*high {
		if middle := (low + high) / 2; left(middle) > share {
			low = middle
		} else {
			high = middle
		}
	}
	seconds := high / b.pace(air.celsius)
	if err := dimension.Within("time", seconds/3600, 0, 24*365*10, "h"); err != nil {
		return 0, err
	}
	return time.Duration(seconds * float64(time.Second)), nil
}

func (b Board) toward(start float64, air Air) (rest float64, _ Board, err error) {
	if b, err = b.check(); err != nil {
		return 0, b, err
	}
	if err = dimension.Within("moisture content", start, 0, 300, "%"); err != nil {
		return 0, b, err
	}
	rest, err = air.EquilibriumMoisture()
	return rest, b, err
}
