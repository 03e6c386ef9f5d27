package workflow

import "tackfree/pkg/fault"

// orderOf gives the indices of stages so that each comes after those it waits for, and
// otherwise as they are written. Faults: STAGE_TWICE, STAGE_UNKNOWN, STAGES_GO_ROUND.
func orderOf(stages []PlanStage) ([]int, error) {
	before, err := waitsFor(stages)
	if err != nil {
		return nil, err
	}
	const open, done = 1, 2
	state, order := make([]byte, len(stages)), make([]int, 0, len(stages))
	var visit func(i int) error
	visit = func(i int) error {
		switch state[i] {
		case done:
			return nil
		case open:
			return fault.New(fault.Invalid, "STAGES_GO_ROUND", "%s would have to come after itself; change what comes after what.", stages[i].Title()).At(atStage(i, "after"))
		}
		state[i] = open
		for _, b := range before[i] {
			if err := visit(b); err != nil {
				return err
			}
		}
		state[i] = done
		order = append(order, i)
		return nil
	}
	for i := range stages {
		if err := visit(i); err != nil {
			return nil, err
		}
	}
	return order, nil
}

// waitsFor finds by their titles the stages that each comes after.
func waitsFor(stages []PlanStage) ([][]int, error) {
	at := make(map[string]int, len(stages))
	for i, s := range stages {
		if _, twice := at[s.Title()]; twice {
			return nil, fault.New(fault.Invalid, "STAGE_TWICE", "There are two stages %s; give each a key of its own.", s.Title()).At(atStage(i, "key"))
		}
		at[s.Title()] = i
	}
	out := make([][]int, len(stages))
	for i, s := range stages {
		for j, title := range s.After {
			b, known := at[title]
			if !known {
				return nil, fault.New(fault.Invalid, "STAGE_UNKNOWN", "%s comes after %q, which the plan does not have.", s.Title(), title).At(atStage(i, "after") + index(j))
			}
			out[i] = append(out[i], b)
		}
	}
	return out, nil
}
