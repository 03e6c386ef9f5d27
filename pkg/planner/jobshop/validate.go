package jobshop

import (
	"cmp"
	"slices"

	"tackfree/pkg/fault"
)

// Validate says by the rules alone whether a schedule keeps them, and if so what it comes to. It shares no code with
// the search: whatever the search believes of itself is believed here only when it is so.
//
// The rules: each operation is done once, in one of its modes; none before its job's release or before the one before
// it ends; a machine does one operation at a time (those without length may stand between others, not inside one).
func Validate(s *Shop, plan Schedule) (makespan int, tardiness int64, err error) {
	if len(plan) != len(s.Jobs) {
		return 0, 0, broken("MISSING", "the schedule has %d jobs, the shop %d", len(plan), len(s.Jobs))
	}
	for j, job := range s.Jobs {
		end, err := validateJob(j, job, plan[j])
		if err != nil {
			return 0, 0, err
		}
		makespan = max(makespan, end)
		tardiness += int64(job.Weight) * int64(max(0, end-job.Due))
	}
	return makespan, tardiness, validateMachines(s.Machines, plan)
}

func broken(reason, format string, args ...any) error {
	return fault.New(fault.Invalid, reason, format, args...)
}

func validateJob(j int, job Job, row []Placed) (end int, err error) {
	if len(row) != len(job.Operations) {
		return 0, broken("MISSING", "job %d has %d operations in the schedule and %d in the shop", j, len(row), len(job.Operations))
	}
	end = job.Release
	for i, p := range row {
		if !slices.Contains(job.Operations[i].Modes, Mode{Machine: p.Machine, Duration: p.End - p.Start}) {
			return 0, broken("MODE", "operation %d of job %d is done on machine %d from %d to %d, which is none of its modes", i, j, p.Machine, p.Start, p.End)
		}
		if p.Start < end {
			return 0, broken("PRECEDENCE", "operation %d of job %d begins at %d, before %d", i, j, p.Start, end)
		}
		end = p.End
	}
	return end, nil
}

func validateMachines(machines int, plan Schedule) error {
	rows := make([][]Placed, machines)
	for _, row := range plan {
		for _, p := range row {
			rows[p.Machine] = append(rows[p.Machine], p)
		}
	}
	for m, row := range rows {
		slices.SortFunc(row, func(a, b Placed) int {
			return cmp.Or(cmp.Compare(a.Start, b.Start), cmp.Compare(a.End, b.End))
		})
		for i := 1; i < len(row); i++ {
			if row[i].Start < row[i-1].End {
				return broken("OVERLAP", "machine %d does two things at %d", m, row[i].Start)
			}
		}
	}
	return nil
}
