package estimate

import (
	"math"

	"tackfree/pkg/dimension"
	"tackfree/pkg/fault"
)

// Task is the time of one of several tasks. What is not known of a kind of stage is not
// known of any of its tasks, so those err together.
type Task struct {
	LogNormal
	Kind   string
	Shared float64 // of the variance Sigma², what it has in common with all others of its kind; 0 to Sigma²
}

// Sum is the time of several tasks, one after another and independent of each other: the
// log-normal with the same mean and variance. Faults: OUT_OF_RANGE, NOTHING_TO_SUM.
// Source: Fenton, IRE Transactions on Communications Systems 8 (1960), the method of
// moments.
func Sum(tasks ...LogNormal) (LogNormal, error) {
	apart := make([]Task, len(tasks))
	for i, t := range tasks {
		apart[i].LogNormal = t
	}
	return SumTasks(apart...)
}

// SumTasks is Sum of tasks that err together within each kind. In constant time for each
// task. Faults: OUT_OF_RANGE, NOTHING_TO_SUM. Source: as Sum; the covariance of two
// log-normals of means m and n whose logarithms have the covariance c is m n (eᶜ − 1).
func SumTasks(tasks ...Task) (LogNormal, error) {
	if len(tasks) == 0 {
		return LogNormal{}, fault.New(fault.Invalid, "NOTHING_TO_SUM", "There is no task to sum up.").At("tasks")
	}
	var mean, variance float64
	kinds := map[string]*together{}
	for _, t := range tasks {
		if err := t.check(); err != nil {
			return LogNormal{}, err
		}
		m := t.Mean()
		mean += m
		variance += t.StdDev() * t.StdDev()
		k := kinds[t.Kind]
		if k == nil {
			k = &together{}
			kinds[t.Kind] = k
		}
		variance += k.add(m * math.Sqrt(math.Expm1(t.Shared)))
	}
	s2 := math.Log1p(variance / (mean * mean))
	sum := LogNormal{Mu: math.Log(mean) - s2/2, Sigma: math.Sqrt(s2)}
	return sum, sum.check()
}

func (t Task) check() error {
	if err := t.LogNormal.check(); err != nil {
		return err
	}
	return dimension.Within("shared variance", t.Shared, 0, t.Sigma*t.Sigma*(1+1e-9), "")
}

// together is what the tasks of a kind that were seen have in common.
type together struct{ sum float64 }

// add gives the covariance of one more with all of them, both ways. Of tasks of one kind
// the shared variance is the same, so the product of the roots is the covariance.
func (k *together) add(root float64) float64 {
	both := 2 * root * k.sum
	k.sum += root
	return both
}
