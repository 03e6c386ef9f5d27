package jobshop

import "math/bits"

// chance is a small generator of pseudo-random numbers: the multiplier of wyhash over a Weyl sequence. One for each
// island, so that what they do hangs on the seed alone.
type chance uint64

func (c *chance) next() uint64 {
	*c += 0xa0761d6478bd642f
	hi, lo := bits.Mul64(uint64(*c), uint64(*c)^0xe7037ed1a0b428db)
	return hi ^ lo
}

// below gives a number from 0 to n-1; n is at least 1.
func (c *chance) below(n int) int {
	hi, _ := bits.Mul64(c.next(), uint64(n))
	return int(hi)
}

// unit gives a number from 0 to below 1.
func (c *chance) unit() float64 { return float64(c.next()>>11) / (1 << 53) }
