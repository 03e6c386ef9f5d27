package costing

import (
	"slices"
	"testing"
	"time"

	"tackfree/pkg/id"
)

// What two books leave is settled once, for the later reason, a few at a time, and whoever has several
// weeks has them one after the other.
func TestUnsettled(t *testing.T) {
	later := NewUnsettled()
	ann, ben, chest := id.New(), id.New(), id.New()
	if id.Compare(ann, ben) > 0 {
		ann, ben = ben, ann
	}
	monday := func(n int) time.Time { return time.Date(2026, 3, 2+7*n, 0, 0, 0, 0, time.UTC) }
	cause := func(minute int) Cause {
		return Cause{id.New(), id.New(), monday(0).Add(time.Duration(minute) * time.Minute)}
	}
	first, second := NewBook(Standard()), NewBook(Standard())
	first.weeks[PersonWeek{ben, monday(0)}], first.weeks[PersonWeek{ann, monday(1)}] = cause(1), cause(5)
	second.weeks[PersonWeek{ann, monday(1)}], second.weeks[PersonWeek{ann, monday(0)}] = cause(4), cause(6)
	first.touch(chest, cause(2))
	second.touch(chest, cause(3))
	why := first.weeks[PersonWeek{ann, monday(1)}]
	moved := second.Cause(chest)
	first.PutOff(later)
	second.PutOff(later)
	if len(first.Weeks())+len(second.Weeks())+len(first.Touched()) > 0 {
		t.Error("the books still have what they left to later")
	}

	b := later.TakeWeeks(Standard(), 2)
	if got, want := b.Weeks(), []PersonWeek{{ann, monday(0)}, {ann, monday(1)}}; !slices.Equal(got, want) {
		t.Errorf("first come %v, want %v", got, want)
	}
	if got := b.weeks[PersonWeek{ann, monday(1)}]; got != why {
		t.Errorf("the week is settled because of %v, want the later %v", got, why)
	}
	if got := later.TakeWeeks(Standard(), 2).WeeksOf(); !slices.Equal(got, []id.ID{ben}) {
		t.Errorf("then come weeks of %v, want %v", got, ben)
	}
	if later.TakeWeeks(Standard(), 2) != nil || later.TakeMachines(Standard(), 2) != nil {
		t.Error("there is more than was left to later")
	}
	if b := later.TakePlaces(Standard(), 2); !slices.Equal(b.Touched(), []id.ID{chest}) || b.Cause(chest) != moved {
		t.Errorf("pieces to settle: %v, want %v because of what came last", b.Touched(), chest)
	}
}
