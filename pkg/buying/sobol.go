package buying

import (
	"math"
	"sync"
)

// bits and so points: enough that quantiles are right to a thousandth of the spread.
const (
	bits   = 12
	points = 1 << bits
)

// evenly gives, for each thing that is not known, which of so many equally likely strata of it
// each draw is in: each stratum once, and each pair of things spread over the square. A Sobol'
// sequence: I. M. Sobol', USSR Computational Mathematics and Mathematical Physics 7 (1967), with
// the direction numbers of S. Joe and F. Y. Kuo, SIAM Journal on Scientific Computing 30 (2008);
// they are cited from memory, and a test holds the points to what makes them even.
var evenly = sync.OnceValue(func() *[numWhat][points]int {
	var all [numWhat][points]int
	// Of the polynomial its degree and inner coefficients, and the first direction numbers.
	for d, s := range [numWhat]struct {
		degree, inner int
		first         []int
	}{{}, {1, 0, []int{1}}, {2, 1, []int{1, 3}}, {3, 1, []int{1, 3, 1}}} {
		directions := directions(s.degree, s.inner, s.first)
		at := shift[d]
		for i := range points {
			all[d][i] = at
			at ^= directions[trailingOnes(i)]
		}
	}
	return &all
})

// shift moves the points, so that no draw has everything at its lowest; they stay as even. Any
// numbers do.
var shift = [numWhat]int{0b010011010110, 0b101000111001, 0b001101011011, 0b110110000101}

// directions are the numbers that each bit of a point's place adds, as whole strata.
func directions(degree, inner int, first []int) (v [bits + 1]int) {
	for k := range bits {
		switch {
		case degree == 0:
			v[k] = 1 << (bits - 1 - k)
		case k < degree:
			v[k] = first[k] << (bits - 1 - k)
		default:
			v[k] = v[k-degree] ^ v[k-degree]>>degree
			for j := 1; j < degree; j++ {
				v[k] ^= (inner >> (degree - 1 - j) & 1) * v[k-j]
			}
		}
	}
	return v // the last, of a bit that no point has, is zero
}

func trailingOnes(i int) (n int) {
	for ; i&1 == 1; i >>= 1 {
		n++
	}
	return n
}

// middle is the chance in the middle of a stratum.
func middle(stratum int) float64 { return (float64(stratum) + 0.5) / points }

// normal is the standard normal at the middle of each stratum.
var normal = sync.OnceValue(func() *[points]float64 {
	var all [points]float64
	for i := range all {
		all[i] = z(middle(i))
	}
	return &all
})

// z is the standard normal quantile.
func z(p float64) float64 { return -math.Sqrt2 * math.Erfcinv(2*p) }
