package bench

import "testing"

// What was not found is not reached, and that there is no plan counts when it was proved.
func TestSumUp(t *testing.T) {
	sets := sumUp([]PlannerRun{
		{Set: "a", Objective: 55, Bound: 55, Best: 55, Proven: true},
		{Set: "a", Objective: 102, Bound: 90, Best: 100, Percent: 2},
		{Set: "a", Objective: -1, Best: 100},
		{Set: "b", Objective: -1, Best: -1, Proven: true},
		{Set: "b", Objective: -1, Best: -1},
	})
	want := []PlannerSet{{Set: "a", Instances: 3, Reached: 1, Proven: 1, Mean: 2.0 / 3, Worst: 2}, {Set: "b", Instances: 2, Reached: 1, Proven: 1}}
	if len(sets) != 2 || sets[0] != want[0] || sets[1] != want[1] {
		t.Errorf("sets = %+v, want %+v", sets, want)
	}
}
