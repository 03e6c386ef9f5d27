package jobshop_test

import (
	"testing"

	"tackfree/pkg/fault"
	"tackfree/pkg/planner/jobshop"
)

// Two jobs on two machines: the first on 0 for 3 and on 1 for 2, the second on 1 for 4 or on 0 for 5, from 1 on.
func small() (*jobshop.Shop, jobshop.Schedule) {
	s := &jobshop.Shop{Machines: 2, Jobs: []jobshop.Job{
		{Due: 6, Weight: 3, Operations: []jobshop.Operation{{Modes: []jobshop.Mode{{Machine: 0, Duration: 3}}}, {Modes: []jobshop.Mode{{Machine: 1, Duration: 2}}}}},
		{Due: 4, Weight: 2, Release: 1, Operations: []jobshop.Operation{{Modes: []jobshop.Mode{{Machine: 1, Duration: 4}, {Machine: 0, Duration: 5}}}}},
	}}
	return s, jobshop.Schedule{{{Machine: 0, Start: 0, End: 3}, {Machine: 1, Start: 5, End: 7}}, {{Machine: 1, Start: 1, End: 5}}}
}

func TestValidate_CountsByHand(t *testing.T) {
	s, plan := small()
	// Done at 7. The first job is 1 late at 3, the second 1 late at 2.
	if makespan, tardiness, err := jobshop.Validate(s, plan); makespan != 7 || tardiness != 5 || err != nil {
		t.Errorf("Validate = %d, %d, %v, want 7, 5", makespan, tardiness, err)
	}
}

func TestValidate_FindsWhatBreaksARule(t *testing.T) {
	for name, c := range map[string]struct {
		reason string
		breaks func(jobshop.Schedule) jobshop.Schedule
	}{
		"a job is missing":        {"MISSING", func(p jobshop.Schedule) jobshop.Schedule { return p[:1] }},
		"an operation is missing": {"MISSING", func(p jobshop.Schedule) jobshop.Schedule { p[0] = p[0][:1]; return p }},
		"it takes another time":   {"MODE", func(p jobshop.Schedule) jobshop.Schedule { p[0][1].End = 8; return p }},
		"no mode of the machine":  {"MODE", func(p jobshop.Schedule) jobshop.Schedule { p[0][1].Machine = 0; return p }},
		"the time of another":     {"MODE", func(p jobshop.Schedule) jobshop.Schedule { p[1][0].Machine = 0; return p }},
		"before the former ends": {"PRECEDENCE", func(p jobshop.Schedule) jobshop.Schedule {
			p[0][1] = jobshop.Placed{Machine: 1, Start: 2, End: 4}
			return p
		}},
		"before the release": {"PRECEDENCE", func(p jobshop.Schedule) jobshop.Schedule {
			p[1][0] = jobshop.Placed{Machine: 1, Start: 0, End: 4}
			return p
		}},
		"two at once": {"OVERLAP", func(p jobshop.Schedule) jobshop.Schedule {
			p[0][1] = jobshop.Placed{Machine: 1, Start: 4, End: 6}
			return p
		}},
	} {
		s, plan := small()
		if _, _, err := jobshop.Validate(s, c.breaks(plan)); !fault.Is(err, c.reason) {
			t.Errorf("%s: Validate gives %v, want a fault of reason %s", name, err, c.reason)
		}
	}
}
