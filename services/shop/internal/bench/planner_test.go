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

// Of some job shops with promises only the first jobs are used.
func TestReadPromised(t *testing.T) {
	for line, want := range map[[4]string]published{
		{"la21", "first 10", "1.3", "463"}: {set: "twt/1.3", name: "la21", best: 463, jobs: 10, factor: 1.3},
		{"abz5", "all", "1.5", "69"}:       {set: "twt/1.5", name: "abz5", best: 69, factor: 1.5},
	} {
		if got, err := readPromised(line[:]); err != nil || got != want {
			t.Errorf("%v is read as %+v, %v", line, got, err)
		}
	}
	if _, err := readPromised([]string{"la21", "some", "1.3", "463"}); err == nil {
		t.Error("nobody knows how many jobs that are, and it is read")
	}
}
