package coating

import (
	"math"

	"tackfree/pkg/dimension"
)

// The films and thinnings that the arithmetic is good for.
const (
	maxFilm     = 10_000 // µm
	maxThinning = 500    // percent of the product's volume
)

func checkSolids(solids float64) error {
	return dimension.Above("volume solids", solids, 0, 100, "%")
}

func checkFilm(name string, um float64) error { return dimension.Above(name, um, 0, maxFilm, "µm") }

func checkThinning(thinning float64) error {
	return dimension.Within("thinning", thinning, 0, maxThinning, "%")
}

// SpreadingRate is the area in m² that a litre covers at a dry film (µm, above 0 to 10,000)
// with nothing lost, by its volume solids (percent, above 0 to 100). Fault: OUT_OF_RANGE.
// Source: 10 × solids % ÷ film µm, the same as 1604 × solids ÷ mil for ft² and US gallon.
func SpreadingRate(solids, dryFilm float64) (float64, error) {
	if err := checkSolids(solids); err != nil {
		return 0, err
	}
	if err := checkFilm("dry film", dryFilm); err != nil {
		return 0, err
	}
	return 10 * solids / dryFilm, nil
}

// Thinned is the volume solids, percent, of a product of given volume solids (percent, above
// 0 to 100) thinned by a share of its volume (percent, 0 to 500). Fault: OUT_OF_RANGE.
// Source: arithmetic; volumes are taken to add up.
func Thinned(solids, thinning float64) (float64, error) {
	if err := checkSolids(solids); err != nil {
		return 0, err
	}
	if err := checkThinning(thinning); err != nil {
		return 0, err
	}
	return solids / (1 + thinning/100), nil
}

// WetFilm is how thick, in µm, a coat must stand wet to leave a dry film (µm, above 0 to
// 10,000), by the product's volume solids (percent, above 0 to 100) and what it is thinned
// by (percent of its volume, 0 to 500). Fault: OUT_OF_RANGE. Source: dry film × 100 ÷ volume
// solids, the same as for SpreadingRate.
func WetFilm(dryFilm, solids, thinning float64) (float64, error) {
	if err := checkFilm("dry film", dryFilm); err != nil {
		return 0, err
	}
	share, err := Thinned(solids, thinning)
	if err != nil {
		return 0, err
	}
	return dryFilm * 100 / share, nil
}

// DryFilm is what a wet film (µm, above 0 to 10,000) leaves, µm: the inverse of WetFilm, of
// the same solids and thinning. Fault: OUT_OF_RANGE. Source: as of WetFilm.
func DryFilm(wetFilm, solids, thinning float64) (float64, error) {
	if err := checkFilm("wet film", wetFilm); err != nil {
		return 0, err
	}
	share, err := Thinned(solids, thinning)
	if err != nil {
		return 0, err
	}
	return wetFilm * share / 100, nil
}

// CoatsFor is how many coats (1 to 100) of a dry film build up a wanted film, both in µm and
// above 0 to 10,000; what a part of a coat would do takes a whole one. Fault: OUT_OF_RANGE,
// also of more coats than that. Source: arithmetic.
func CoatsFor(wanted, perCoat float64) (int, error) {
	if err := checkFilm("dry film wanted", wanted); err != nil {
		return 0, err
	}
	if err := checkFilm("dry film of a coat", perCoat); err != nil {
		return 0, err
	}
	if err := dimension.Within("coats", wanted/perCoat, 0, maxCoats, ""); err != nil {
		return 0, err
	}
	return int(math.Ceil(wanted/perCoat - 1e-9)), nil // three coats of a third are not four
}
