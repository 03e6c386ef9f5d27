package workflow_test

import (
	"testing"
	"time"

	"tackfree/pkg/id"
)

// What the plan that people know has Nell begin today comes first, in its order, and what she was given since comes
// now; what it has her begin another day, and what others begin by it, stand where they would stand without it.
func TestSearch_Next_TheirTurn(t *testing.T) {
	p := &nell
	tomorrow, given, second, first, later, pool := open(1, worth(90000), has(p)), open(2, has(p)), open(3, worth(100), has(p)), open(4, worth(200), has(p)), open(5, worth(9000), has(p)), open(6, worth(500000))
	s := search(p, tomorrow, given, second, first, later, pool)
	wantNext(t, s, 1, 2, 5, 4, 3, 6)
	s.Planned = map[id.ID]time.Time{first.Stages[0].ID: nine.Add(-time.Hour), second.Stages[0].ID: nine.Add(-time.Minute), later.Stages[0].ID: nine.Add(time.Hour),
		tomorrow.Stages[0].ID: nine.Add(24 * time.Hour), pool.Stages[0].ID: nine.Add(-2 * time.Hour)}
	offers := wantNext(t, s, 4, 3, 2, 5, 1, 6)
	if !offers[3].Planned.Equal(nine.Add(time.Hour)) || !offers[2].Planned.IsZero() {
		t.Errorf("planned %v and %v", offers[3].Planned, offers[2].Planned)
	}
}
