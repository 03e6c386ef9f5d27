package estimate

import (
	"math"

	"tackfree/pkg/fault"
)

// Sum is the time of several tasks, one after another and independent of each other: the
// log-normal with the same mean and variance. Faults: OUT_OF_RANGE, NOTHING_TO_SUM.
// Source: Fenton, IRE Transactions on Communications Systems 8 (1960), the method of
// moments.
func Sum(tasks ...LogNormal) (LogNormal, error) {
	if len(tasks) == 0 {
		return LogNormal{}, fault.New(fault.Invalid, "NOTHING_TO_SUM", "There is no task to sum up.").At("tasks")
	}
	var mean, variance float64
	for _, t := range tasks {
		if err := t.check(); err != nil {
			return LogNormal{}, err
		}
		mean += t.Mean()
		variance += t.StdDev() * t.StdDev()
	}
	s2 := math.Log1p(variance / (mean * mean))
	sum := LogNormal{Mu: math.Log(mean) - s2/2, Sigma: math.Sqrt(s2)}
	if err := sum.check(); err != nil {
		return LogNormal{}, err
	}
	return sum, nil
}
