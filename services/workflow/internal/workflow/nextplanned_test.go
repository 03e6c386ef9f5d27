package workflow_test

import (
	"testing"
	"time"

	"tackfree/pkg/id"
)

// What the plan that people know has Nell begin by nine comes first, in its order; what it has her begin later, and
// what others begin by it, stand where they would stand without it.
func TestSearch_Next_TheirTurn(t *testing.T) {
	p := &nell
	worthy, second, first, later, pool := open(1, worth(90000), has(p)), open(2, has(p)), open(3, has(p)), open(4, worth(100), has(p)), open(5, worth(500000))
	s := search(p, worthy, second, first, later, pool)
	wantNext(t, s, 1, 2, 3, 4, 5)
	s.Planned = map[id.ID]time.Time{first.Stages[0].ID: nine.Add(-time.Hour), second.Stages[0].ID: nine, later.Stages[0].ID: nine.Add(time.Minute), pool.Stages[0].ID: nine.Add(-2 * time.Hour)}
	offers := wantNext(t, s, 3, 2, 1, 4, 5)
	if !offers[3].Planned.Equal(nine.Add(time.Minute)) || !offers[2].Planned.IsZero() {
		t.Errorf("planned %v and %v", offers[3].Planned, offers[2].Planned)
	}
}
