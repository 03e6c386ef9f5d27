package workflow_test

import (
	"math"
	"testing"

	"tackfree/pkg/id"
	"tackfree/services/workflow/internal/workflow"
)

// Somebody is as quick as they were here, or as their level says where nobody has seen them at it.
func TestLabour_Pace(t *testing.T) {
	slow, quick, new := id.New(), id.New(), id.New()
	l, err := workflow.NewLabour([]workflow.LabourSum{
		{Kind: "sand", Person: slow, N: 20, Sum: 20 * math.Log(1.5), Squares: 20 * math.Pow(math.Log(1.5), 2)},
		{Kind: "sand", Person: quick, N: 20, Sum: 20 * math.Log(0.7), Squares: 20 * math.Pow(math.Log(0.7), 2)}})
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		kind      string
		person    id.ID
		level     int32
		low, high float64
	}{
		{"sand", slow, 3, 1.15, 1.6}, {"sand", quick, 1, 0.6, 0.9},
		{"sand", new, 1, 1.25, 1.25}, {"sand", new, 2, 1, 1}, {"sand", new, 3, 0.9, 0.9}, {"wax", slow, 0, 1, 1},
	} {
		if got, err := l.Pace(c.kind, c.person, c.level); err != nil || got < c.low || got > c.high {
			t.Errorf("Pace(%s, level %d) = %.3f, %v; want %.2f to %.2f", c.kind, c.level, got, err, c.low, c.high)
		}
	}
	if got, err := l.Doubt("wax"); err != nil || got != 0.35 {
		t.Errorf("Doubt(wax) = %.3f, %v", got, err)
	}
	if got, err := l.Doubt("sand"); err != nil || got == 0.35 || got < 0.05 || got > 2 {
		t.Errorf("Doubt(sand) = %.3f, %v", got, err)
	}
}
