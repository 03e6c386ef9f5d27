package literature

import (
	"io"
	"strconv"

	"tackfree/pkg/planner/jobshop"
)

// JobShop reads a job shop in the standard format (Fisher and Thompson's, Lawrence's and others' instances in the
// OR-Library of Beasley, Journal of the Operational Research Society 41 (1990) 1069-1072): a line with the number of
// jobs and of machines; then a line for each job, of as many pairs as there are machines, machine (from 0) and
// duration. Each job visits each machine at most once.
func JobShop(r io.Reader) (*jobshop.Shop, error) {
	n := read(r)
	jobs, machines, err := n.header(false)
	if err != nil {
		return nil, err
	}
	s := &jobshop.Shop{Machines: machines}
	for j := range jobs {
		job, err := n.job(j, machines)
		if err != nil {
			return nil, err
		}
		s.Jobs = append(s.Jobs, job)
	}
	return s, n.over()
}

// header reads the numbers of jobs and machines, and what may stand behind them.
func (n *numbers) header(flexible bool) (jobs, machines int, err error) {
	if err = n.next("the numbers of jobs and machines"); err != nil {
		return 0, 0, err
	}
	if jobs, err = n.whole("the number of jobs", 1, mostJobs); err != nil {
		return 0, 0, err
	}
	if machines, err = n.whole("the number of machines", 1, mostMachines); err != nil {
		return 0, 0, err
	}
	if flexible && len(n.fields) == 1 {
		if average, err := strconv.ParseFloat(n.fields[0], 64); err != nil || !(average > 0) {
			return 0, 0, n.fault("the average number of machines of an operation should be a number above 0, not %q", short(n.fields[0]))
		}
		n.fields = nil
	}
	if jobs*machines > mostOperations && !flexible {
		return 0, 0, n.fault("%d jobs on %d machines are more than %d operations", jobs, machines, mostOperations)
	}
	return jobs, machines, n.end()
}

func (n *numbers) job(j, machines int) (job jobshop.Job, err error) {
	if err = n.next("job " + strconv.Itoa(j+1)); err != nil {
		return job, err
	}
	seen := make(map[int]bool, machines)
	for range machines {
		mode, err := n.mode(0, machines-1)
		if err != nil {
			return job, err
		}
		if seen[mode.Machine] {
			return job, n.fault("the job visits machine %d twice", mode.Machine)
		}
		seen[mode.Machine] = true
		job.Operations = append(job.Operations, jobshop.Operation{Modes: []jobshop.Mode{mode}})
	}
	return job, n.end()
}

func (n *numbers) mode(low, high int) (m jobshop.Mode, err error) {
	if m.Machine, err = n.whole("a machine", low, high); err != nil {
		return m, err
	}
	m.Machine -= low
	m.Duration, err = n.whole("a duration", 0, mostDuration)
	return m, err
}
