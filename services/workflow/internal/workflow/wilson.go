package workflow

import "math"

// normal975 is the 97.5th percentile of the standard normal distribution.
const normal975 = 1.959963984540054

// Wilson is the score interval at 95 % for what share of things in the long run is so, of which hits of n were so; n is
// at least 1. Source: E. B. Wilson, J. Amer. Statist. Assoc. 22 (1927) 209-212; method 3 of R. G. Newcombe,
// Statistics in Medicine 17 (1998) 857-872.
func Wilson(hits, n int) (low, high float64) {
	p, size, z2 := float64(hits)/float64(n), float64(n), normal975*normal975
	mid := p + z2/(2*size)
	half := normal975 * math.Sqrt(p*(1-p)/size+z2/(4*size*size))
	return max(0, (mid-half)/(1+z2/size)), min(1, (mid+half)/(1+z2/size))
}
