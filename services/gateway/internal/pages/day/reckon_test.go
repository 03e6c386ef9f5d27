package day

import (
	"testing"
	"time"

	"google.golang.org/genproto/googleapis/type/date"
	"google.golang.org/genproto/googleapis/type/dayofweek"
	"google.golang.org/genproto/googleapis/type/timeofday"
	"google.golang.org/protobuf/types/known/timestamppb"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// wednesday is a Wednesday at eleven.
var wednesday = time.Date(2026, 3, 18, 11, 0, 0, 0, time.UTC)

func worksOn(day dayofweek.DayOfWeek, from, to int32) *workflowv1.WorkingDay {
	return &workflowv1.WorkingDay{Day: day, Start: &timeofday.TimeOfDay{Hours: from}, End: &timeofday.TimeOfDay{Hours: to}}
}

func TestHours_WorkGoesOnInTheShopsHours(t *testing.T) {
	for _, c := range []struct {
		from time.Time
		d    time.Duration
		want time.Time
	}{
		{wednesday, 0, wednesday},
		{wednesday, 2 * time.Hour, wednesday.Add(2 * time.Hour)},
		{wednesday, 5*time.Hour + 30*time.Minute, time.Date(2026, 3, 18, 16, 30, 0, 0, time.UTC)},
		{wednesday, 6 * time.Hour, time.Date(2026, 3, 19, 8, 30, 0, 0, time.UTC)},
		{time.Date(2026, 3, 18, 5, 0, 0, 0, time.UTC), time.Hour, time.Date(2026, 3, 18, 9, 0, 0, 0, time.UTC)},
		{time.Date(2026, 3, 20, 16, 0, 0, 0, time.UTC), time.Hour, time.Date(2026, 3, 23, 8, 30, 0, 0, time.UTC)}, // over the weekend
	} {
		if got := usualHours.work(c.from, c.d); !got.Equal(c.want) {
			t.Errorf("work(%s, %s) = %s, want %s", c.from.Format(time.DateTime), c.d, got.Format(time.DateTime), c.want.Format(time.DateTime))
		}
	}
	if got := (hours{}).work(wednesday, time.Hour); !got.Equal(wednesday.AddDate(1, 0, 0)) {
		t.Errorf("in a shop that never opens an hour is done %s", got)
	}
}

func TestHoursOf_AreWhenSomebodyIsThere(t *testing.T) {
	left := &date.Date{Year: 2026, Month: 3, Day: 17}
	people := []*workflowv1.Person{
		{WorkingDays: []*workflowv1.WorkingDay{worksOn(dayofweek.DayOfWeek_WEDNESDAY, 9, 15), worksOn(dayofweek.DayOfWeek_SUNDAY, 22, 6)}},
		{WorkingDays: []*workflowv1.WorkingDay{worksOn(dayofweek.DayOfWeek_WEDNESDAY, 7, 12)}},
		{WorkingDays: []*workflowv1.WorkingDay{worksOn(dayofweek.DayOfWeek_WEDNESDAY, 1, 23)}, ActiveTo: left},
	}
	got := hoursOf(people, wednesday)
	if got[time.Wednesday] != [2]int{7 * 60, 15 * 60} || got[time.Sunday] != [2]int{22 * 60, 24 * 60} || got[time.Monday] != [2]int{} {
		t.Errorf("hoursOf = %v", got)
	}
	if hoursOf(people[2:], wednesday) != usualHours {
		t.Error("where nobody said when they work it is not the usual hours")
	}
}

// A top that is stained, dries overnight and is coated, beside a case that takes less, and what is
// finished: what ends last counts, with the drying on its way.
func TestHours_Reckon(t *testing.T) {
	stages := []*workflowv1.Stage{
		{Name: "sand", State: workflowv1.Stage_STATE_FINISHED, AttendedMinutes: 600},
		{Name: "stain", State: workflowv1.Stage_STATE_READY, After: []string{"sand"}, AttendedMinutes: 60, UnattendedMinutes: 8 * 60},
		{Name: "coat", State: workflowv1.Stage_STATE_WAITING, After: []string{"stain"}, AttendedMinutes: 30, UnattendedMinutes: 120},
		{Name: "case", State: workflowv1.Stage_STATE_DRYING, AttendedMinutes: 15, ReadyTime: timestamppb.New(wednesday.Add(time.Hour))},
	}
	got := usualHours.reckon(stages, wednesday)
	// Stained at 12:00, dry at 20:00, coated the next day at 8:30, dry at 10:30.
	if want := time.Date(2026, 3, 19, 10, 30, 0, 0, time.UTC); !got.Ends.Equal(want) || got.Stages != 3 || got.Hands != 105*time.Minute || got.Drying != 10*time.Hour {
		t.Errorf("reckon = %+v, want it to end %s", got, want)
	}
	if got := usualHours.reckon(stages[3:], wednesday); !got.Ends.Equal(wednesday.Add(75*time.Minute)) || got.Drying != time.Hour {
		t.Errorf("what dries for an hour yet: %+v", got)
	}
	if got := usualHours.reckon(stages[:1], wednesday); got != (left{Ends: wednesday}) {
		t.Errorf("of what is finished: %+v", got)
	}
}

func TestWeigh(t *testing.T) {
	at := func(d time.Duration) *timestamppb.Timestamp { return timestamppb.New(wednesday.Add(d)) }
	for want, c := range map[string]struct {
		by     time.Duration
		stages int32
		ends   time.Duration
	}{
		"over": {-time.Minute, 3, time.Hour}, "late": {5 * time.Hour, 3, 6 * time.Hour}, "tight": {12 * time.Hour, 3, 5 * time.Hour},
		"fits": {13 * time.Hour, 3, 5 * time.Hour}, "unplanned": {48 * time.Hour, 0, 0},
	} {
		got := weigh(&workflowv1.BoardLine{PromiseTime: at(c.by), Stages: c.stages}, left{Ends: wednesday.Add(c.ends)}, wednesday)
		if got.State != want || got.Late != c.ends-c.by {
			t.Errorf("promised in %s, done in %s: %s, %s late; want %s", c.by, c.ends, got.State, got.Late, want)
		}
	}
}

func TestBelongs(t *testing.T) {
	day := func(d int32) *date.Date { return &date.Date{Year: 2026, Month: 3, Day: d} }
	for _, c := range []struct {
		from, to *date.Date
		want     bool
	}{{nil, nil, true}, {day(18), day(18), true}, {day(19), nil, false}, {nil, day(17), false}} {
		if got := belongs(&workflowv1.Person{ActiveFrom: c.from, ActiveTo: c.to}, wednesday); got != c.want {
			t.Errorf("belongs(%v to %v) = %v", c.from, c.to, got)
		}
	}
}
