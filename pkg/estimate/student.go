package estimate

import "math"

// student is Student's t for 95 in 100 within ±t, by degrees of freedom from 1. Source: NIST/SEMATECH e-Handbook of
// Statistical Methods, section 1.3.6.7.2, column 0.975.
var student = []float64{12.706, 4.303, 3.182, 2.776, 2.571, 2.447, 2.365, 2.306, 2.262, 2.228, 2.201, 2.179, 2.160, 2.145, 2.131, 2.120, 2.110, 2.101, 2.093, 2.086,
	2.080, 2.074, 2.069, 2.064, 2.060, 2.056, 2.052, 2.048, 2.045, 2.042}

// Student95 is how many standard errors, with so many degrees of freedom (1 or more), 95 in 100 lie within on either side; infinite below 1.
// Beyond the table by the expansion in Abramowitz and Stegun, Handbook of Mathematical Functions, 26.7.5.
func Student95(freedom int) float64 {
	switch {
	case freedom < 1:
		return math.Inf(1)
	case freedom <= len(student):
		return student[freedom-1]
	}
	const z = 1.959963985
	const z3, z5 = z * z * z, z * z * z * z * z
	n := float64(freedom)
	return z + (z3+z)/(4*n) + (5*z5+16*z3+3*z)/(96*n*n)
}

// Ratio is what an hour brings by several pieces, each with its hours, so that those of many hours count for more.
type Ratio struct {
	Pieces  int
	PerHour float64
	// Spread is the variance of what one piece of average hours says of it; 0 of fewer than two pieces.
	Spread float64
}

// RatioOf reckons it; hours are 0 or more, and above 0 together, or there is none: false. Source: the ratio estimator and its
// variance, W. G. Cochran, Sampling Techniques, chapter 6, cited from memory.
func RatioOf(profits, hours []float64) (r Ratio, ok bool) {
	profit, worked := 0.0, 0.0
	for i := range profits {
		profit, worked = profit+profits[i], worked+hours[i]
	}
	if worked <= 0 {
		return Ratio{}, false
	}
	r = Ratio{Pieces: len(profits), PerHour: profit / worked}
	if r.Pieces < 2 {
		return r, true
	}
	for i := range profits {
		off := profits[i] - r.PerHour*hours[i]
		r.Spread += off * off
	}
	mean := worked / float64(r.Pieces)
	r.Spread /= float64(r.Pieces-1) * mean * mean
	return r, true
}

// Within95 is the interval in which what is estimated lies nineteen times in twenty, by Student's t; false of fewer than two pieces.
func (r Ratio) Within95() (low, high float64, ok bool) {
	if r.Pieces < 2 {
		return 0, 0, false
	}
	off := Student95(r.Pieces-1) * math.Sqrt(r.Spread/float64(r.Pieces))
	return r.PerHour - off, r.PerHour + off, true
}
