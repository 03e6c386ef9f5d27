// Package jobshop orders work on machines of which each does one thing at a time: the job shop, the
// flexible job shop, and the job shop whose jobs are due. Trade, pure.
//
//	Shop ─▶ Check ─▶ core ──▶ Solve: islands, one a core, which meet after a fixed number of steps
//	                   │        ├ start: priority rules with chance, the first schedules
//	                   │        ├ tabu: moves within the blocks of a critical path, and to other machines
//	                   │        │   └ graph: machine orders, heads, tails and a topological order, kept up to date
//	                   │        └ relink: from one elite part of the way to another, and tabu from there
//	                   ├ bound: the longest job; the load of each set of machines   ─▶ Result.Bound
//	                   └ prove: edge finding, and branch and bound for small shops  ─▶ Result.Bound, Proven
//	Validate: the rules once more, by a schedule alone; the search does not know it
//
// Times are whole units, of whatever length the caller has in mind; work is not interrupted.
//
// Sources. Neighbourhood: Balas and Vazacopoulos, Management Science 44 (1998) 262-275; Zhang, Li, Guan and Rao,
// Computers & Operations Research 34 (2007) 3229-3242. Other machines: Mastrolilli and Gambardella, Journal of
// Scheduling 3 (2000) 3-20. Relinking: Peng, Lü and Cheng, Computers & Operations Research 53 (2015) 154-164.
// Weighted tardiness: Kreipl, Journal of Scheduling 3 (2000) 125-138; Mati, Dauzère-Pérès and Lahlou, European Journal
// of Operational Research 212 (2011) 33-42. Bounds and proofs: Carlier and Pinson, Management Science 35 (1989)
// 164-176, and European Journal of Operational Research 78 (1994) 146-161; Brucker, Jurisch and Sievers, Discrete
// Applied Mathematics 49 (1994) 107-127.
package jobshop

import "tackfree/pkg/fault"

// Mode is one way to do an operation: on which machine, and for how long.
type Mode struct {
	Machine  int // from 0
	Duration int // 0 or more
}

// Operation is one step of a job; one of its modes is chosen.
type Operation struct{ Modes []Mode }

// Job is a chain of operations, each of which waits for the one before.
type Job struct {
	Release    int // the first operation begins no earlier; 0 or more
	Due        int // tardiness counts from here; of no account for the makespan
	Weight     int // cost of one unit of tardiness; 0 or more
	Operations []Operation
}

// Shop is what is to be ordered.
type Shop struct {
	Machines int
	Jobs     []Job
}

// Placed is where and when an operation is done: [Start, End).
type Placed struct{ Machine, Start, End int }

// Schedule has the place of every operation, by job and then by operation, as the shop has them.
type Schedule [][]Placed

// Longest is the greatest sum of releases and longest durations of a shop, and the greatest due date, that is taken.
const Longest = 1 << 28

// Heaviest is the greatest weight of a job that is taken.
const Heaviest = 1 << 20

// Check says what is wrong with a shop, in a sentence, or nil.
func (s *Shop) Check() error {
	if s.Machines < 1 || s.Machines > Longest {
		return fault.New(fault.Invalid, "MACHINES_OUT_OF_RANGE", "the shop has %d machines; it needs at least one", s.Machines).At("machines")
	}
	sum := 0
	for j := range s.Jobs {
		if err := s.checkJob(j, &sum); err != nil {
			return err
		}
	}
	if sum == 0 && s.operations() == 0 {
		return fault.New(fault.Invalid, "NO_OPERATIONS", "there is nothing to do: no job has an operation").At("jobs")
	}
	return nil
}

func (s *Shop) operations() (n int) {
	for j := range s.Jobs {
		n += len(s.Jobs[j].Operations)
	}
	return n
}

func (s *Shop) checkJob(j int, sum *int) error {
	job := &s.Jobs[j]
	if job.Release < 0 || job.Release > Longest || job.Due < -Longest || job.Due > Longest {
		return fault.New(fault.Invalid, "JOB_OUT_OF_RANGE", "job %d is released at %d and due at %d; times go from 0 to %d", j, job.Release, job.Due, Longest).At("jobs")
	}
	if job.Weight < 0 || job.Weight > Heaviest {
		return fault.New(fault.Invalid, "WEIGHT_OUT_OF_RANGE", "job %d has weight %d; it must be 0 to %d", j, job.Weight, Heaviest).At("jobs")
	}
	*sum += job.Release
	for i, o := range job.Operations {
		longest, err := s.checkModes(j, i, o.Modes)
		if err != nil {
			return err
		}
		if *sum += longest; *sum > Longest {
			return fault.New(fault.Invalid, "TIMES_TOO_LONG", "releases and durations add up to more than %d; count in a longer unit", Longest).At("jobs")
		}
	}
	return nil
}

func (s *Shop) checkModes(j, i int, modes []Mode) (longest int, err error) {
	if len(modes) == 0 {
		return 0, fault.New(fault.Invalid, "NO_MODES", "operation %d of job %d can be done on no machine", i, j).At("jobs")
	}
	for _, m := range modes {
		if m.Machine < 0 || m.Machine >= s.Machines {
			return 0, fault.New(fault.Invalid, "UNKNOWN_MACHINE", "operation %d of job %d names machine %d; there are %d, from 0", i, j, m.Machine, s.Machines).At("jobs")
		}
		if m.Duration < 0 || m.Duration > Longest {
			return 0, fault.New(fault.Invalid, "DURATION_OUT_OF_RANGE", "operation %d of job %d takes %d; it must be 0 to %d", i, j, m.Duration, Longest).At("jobs")
		}
		longest = max(longest, m.Duration)
	}
	return longest, nil
}
