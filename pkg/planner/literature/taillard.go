package literature

import (
	"tackfree/pkg/fault"
	"tackfree/pkg/planner/jobshop"
)

// Taillard makes the job shop of two seeds by the generator of Taillard, Benchmarks for basic scheduling problems,
// European Journal of Operational Research 64 (1993) 278-285: durations from 1 to 99, job by job, by the one seed; the
// machines of each job in an order shuffled by the other. Each job visits each machine once.
func Taillard(jobs, machines int, timeSeed, machineSeed int32) (*jobshop.Shop, error) {
	if jobs < 1 || jobs > mostJobs || machines < 1 || machines > mostMachines || jobs*machines > mostOperations {
		return nil, fault.New(fault.Invalid, "SHOP_OUT_OF_RANGE", "a shop has 1 to %d jobs and machines, and at most %d operations", mostJobs, mostOperations)
	}
	if timeSeed < 1 || timeSeed >= lehmerPrime || machineSeed < 1 || machineSeed >= lehmerPrime {
		return nil, fault.New(fault.Invalid, "SEED_OUT_OF_RANGE", "a seed is from 1 to %d", lehmerPrime-1)
	}
	s := &jobshop.Shop{Machines: machines, Jobs: make([]jobshop.Job, jobs)}
	times, orders := lehmer(timeSeed), lehmer(machineSeed)
	for j := range s.Jobs {
		s.Jobs[j].Operations = make([]jobshop.Operation, machines)
		for i := range machines {
			s.Jobs[j].Operations[i].Modes = []jobshop.Mode{{Machine: i, Duration: times.between(1, 99)}}
		}
	}
	for j := range s.Jobs {
		o := s.Jobs[j].Operations
		for i := range machines {
			k := orders.between(i, machines-1)
			o[i].Modes[0].Machine, o[k].Modes[0].Machine = o[k].Modes[0].Machine, o[i].Modes[0].Machine
		}
	}
	return s, nil
}

// lehmer is the generator of Bratley, Fox and Schrage: x becomes 16807 x modulo 2^31 - 1.
type lehmer int32

const lehmerPrime = 1<<31 - 1

func (x *lehmer) between(low, high int) int {
	*x = lehmer(int64(*x) * 16807 % lehmerPrime)
	return low + int(float64(*x)/lehmerPrime*float64(high-low+1))
}
