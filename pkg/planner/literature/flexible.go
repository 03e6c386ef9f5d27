package literature

import (
	"io"
	"strconv"

	"tackfree/pkg/planner/jobshop"
)

// FlexibleJobShop reads a flexible job shop in the format of Brandimarte (Annals of Operations Research 41 (1993)
// 157-183): a line with the numbers of jobs and machines and, if given, the average number of machines of an
// operation; then a line for each job: the number of its operations and, for each, the number of its modes and as
// many pairs of machine (from 1) and duration. In the shop that comes of it, machines count from 0.
func FlexibleJobShop(r io.Reader) (*jobshop.Shop, error) {
	n := read(r)
	jobs, machines, err := n.header(true)
	if err != nil {
		return nil, err
	}
	s := &jobshop.Shop{Machines: machines}
	total := 0
	for j := range jobs {
		job, err := n.flexibleJob(j, machines)
		if err != nil {
			return nil, err
		}
		if total += len(job.Operations); total > mostOperations {
			return nil, n.fault("there are more than %d operations", mostOperations)
		}
		s.Jobs = append(s.Jobs, job)
	}
	return s, n.over()
}

func (n *numbers) flexibleJob(j, machines int) (job jobshop.Job, err error) {
	if err = n.next("job " + strconv.Itoa(j+1)); err != nil {
		return job, err
	}
	operations, err := n.whole("the number of operations", 1, mostOperations)
	if err != nil {
		return job, err
	}
	for range operations {
		o, err := n.operation(machines)
		if err != nil {
			return job, err
		}
		job.Operations = append(job.Operations, o)
	}
	return job, n.end()
}

func (n *numbers) operation(machines int) (o jobshop.Operation, err error) {
	modes, err := n.whole("the number of machines of an operation", 1, machines)
	if err != nil {
		return o, err
	}
	for range modes {
		m, err := n.mode(1, machines)
		if err != nil {
			return o, err
		}
		for _, other := range o.Modes {
			if other.Machine == m.Machine {
				return o, n.fault("the operation names machine %d twice", m.Machine+1)
			}
		}
		o.Modes = append(o.Modes, m)
	}
	return o, nil
}
