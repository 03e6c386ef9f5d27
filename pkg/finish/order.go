package finish

import (
	"fmt"

	"tackfree/pkg/fault"
)

// order lists the indices of stages so that each comes after those it waits for, and
// otherwise as they are given. Faults: STAGE_UNKNOWN, STAGES_GO_ROUND.
func order(stages []Stage) ([]int, error) {
	v := &visit{stages: stages, state: make([]byte, len(stages)), order: make([]int, 0, len(stages))}
	for i := range stages {
		if err := v.to(i); err != nil {
			return nil, err
		}
	}
	return v.order, nil
}

type visit struct {
	stages []Stage
	state  []byte // entered, done
	order  []int
}

const (
	entered = 1
	done    = 2
)

func (v *visit) to(i int) error {
	switch v.state[i] {
	case done:
		return nil
	case entered:
		return fault.New(fault.Invalid, "STAGES_GO_ROUND", "%s comes after itself; take out one of the stages that it waits for.", v.stages[i].Title()).At(place(i))
	}
	v.state[i] = entered
	for _, before := range v.stages[i].After {
		if before < 0 || before >= len(v.stages) {
			return fault.New(fault.Invalid, "STAGE_UNKNOWN", "%s comes after stage %d, and there are %d.", v.stages[i].Title(), before+1, len(v.stages)).At(place(i))
		}
		if err := v.to(before); err != nil {
			return err
		}
	}
	v.state[i] = done
	v.order = append(v.order, i)
	return nil
}

func place(stage int) string { return fmt.Sprintf("stages[%d]", stage) }

// inOrder puts stages in their order, and their indices with them.
func inOrder(stages []Stage) ([]Stage, error) {
	order, err := order(stages)
	if err != nil {
		return nil, err
	}
	now := make([]int, len(stages))
	for to, from := range order {
		now[from] = to
	}
	sorted := make([]Stage, len(stages))
	for to, from := range order {
		sorted[to] = stages[from]
		after := make([]int, len(sorted[to].After))
		for i, before := range stages[from].After {
			after[i] = now[before]
		}
		sorted[to].After = after
	}
	return sorted, nil
}

// leadingTo marks the stages that must come before one.
func leadingTo(stages []Stage, to int) []bool {
	marked, left := make([]bool, len(stages)), []int{to}
	for len(left) > 0 {
		i := left[len(left)-1]
		left = left[:len(left)-1]
		for _, before := range stages[i].After {
			if !marked[before] {
				marked[before] = true
				left = append(left, before)
			}
		}
	}
	return marked
}
