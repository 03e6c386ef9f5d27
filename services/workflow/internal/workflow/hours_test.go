package workflow_test

import (
	"strings"
	"testing"
	"time"

	"tackfree/pkg/fault"
	"tackfree/services/workflow/internal/workflow"
)

func TestMinuteOf(t *testing.T) {
	for _, c := range []struct {
		hours, minutes, seconds, nanos int32
		want                           int
		shown                          bool
	}{
		{0, 0, 0, 0, 0, true}, {8, 30, 0, 0, 510, true}, {23, 59, 0, 0, 1439, true}, {24, 0, 0, 0, 1440, true},
		{24, 1, 0, 0, 0, false}, {25, 0, 0, 0, 0, false}, {-1, 0, 0, 0, 0, false}, {8, 60, 0, 0, 0, false}, {8, -1, 0, 0, 0, false},
		{8, 0, 1, 0, 0, false}, {8, 0, -1, 0, 0, false}, {8, 0, 0, 1, 0, false}, {8, 0, 60, 0, 0, false},
	} {
		got, shown := workflow.MinuteOf(c.hours, c.minutes, c.seconds, c.nanos)
		if shown != c.shown || shown && got != c.want {
			t.Errorf("MinuteOf(%d, %d, %d, %d) = %d %v, want %d %v", c.hours, c.minutes, c.seconds, c.nanos, got, shown, c.want, c.shown)
		}
	}
}

func TestPerson_Check(t *testing.T) {
	week := func(days ...workflow.WorkingDay) workflow.Person { return workflow.Person{Week: days} }
	off := func(days ...workflow.DayOff) workflow.Person { return workflow.Person{DaysOff: days} }
	mon, tue, sun := time.Monday, time.Tuesday, time.Sunday
	bad := workflow.WorkingDay{Weekday: mon, Hours: workflow.Hours{Start: 1440, End: 60}}
	for name, c := range map[string]struct {
		person        workflow.Person
		reason, field string
	}{
		"Nothing":            {workflow.Person{}, "", ""},
		"AllOfIt":            {painter(t), "", ""},
		"BreaksTouch":        {week(works(t, mon, "08:00-16:00", "12:00-12:30", "12:30-12:45", "08:00-08:10", "15:45-16:00")), "", ""},
		"UntilMidnight":      {week(works(t, mon, "16:00-24:00", "23:30-24:00")), "", ""},
		"AllDay":             {week(works(t, mon, "08:00-08:00", "07:30-08:00")), "", ""},
		"NightAfterNight":    {week(works(t, mon, "22:00-06:00"), works(t, tue, "06:00-12:00")), "", ""},
		"OneDayTwice":        {week(works(t, mon, "08:00-12:00"), works(t, tue, "08:00-12:00"), works(t, mon, "13:00-17:00")), "HOURS_MALFORMED", "working_days[2].day"},
		"BeginsAtMidnight24": {week(bad), "HOURS_MALFORMED", "working_days[0]"},
		"EndsPastMidnight":   {week(workflow.WorkingDay{Weekday: mon, Hours: workflow.Hours{Start: 60, End: 1441}}), "HOURS_MALFORMED", "working_days[0]"},
		"Before0":            {week(workflow.WorkingDay{Weekday: mon, Hours: workflow.Hours{Start: -1, End: 60}}), "HOURS_MALFORMED", "working_days[0]"},
		"BreakTooSoon":       {week(works(t, mon, "08:00-16:00", "07:30-08:30")), "HOURS_MALFORMED", "working_days[0].breaks[0]"},
		"BreakTooLate":       {week(works(t, mon, "08:00-16:00", "12:00-12:30", "15:45-16:01")), "HOURS_MALFORMED", "working_days[0].breaks[1]"},
		"BreakBackwards":     {week(works(t, mon, "08:00-16:00", "12:30-12:00")), "HOURS_MALFORMED", "working_days[0].breaks[0]"},
		"BreakAtNight":       {week(works(t, mon, "22:00-06:00", "06:30-07:00")), "HOURS_MALFORMED", "working_days[0].breaks[0]"},
		"BreaksOverlap":      {week(works(t, tue, "08:00-16:00", "12:00-12:30", "12:29-12:45")), "HOURS_MALFORMED", "working_days[0].breaks[1]"},
		"LaterBreakFirst":    {week(works(t, tue, "08:00-16:00", "12:29-12:45", "12:00-12:30")), "HOURS_MALFORMED", "working_days[0].breaks[1]"},
		"BreakInBreak":       {week(works(t, mon, "22:00-06:00", "23:30-02:00", "00:30-01:00")), "HOURS_MALFORMED", "working_days[0].breaks[1]"},
		"NoBreak":            {week(workflow.WorkingDay{Weekday: mon, Hours: hours(t, "08:00-16:00"), Breaks: []workflow.Hours{{Start: 1441, End: 2}}}), "HOURS_MALFORMED", "working_days[0].breaks[0]"},
		"IntoTheNextShift":   {week(works(t, tue, "05:59-12:00"), works(t, mon, "22:00-06:00")), "HOURS_MALFORMED", "working_days[1]"},
		"SundayIntoMonday":   {week(works(t, sun, "20:00-08:01"), works(t, mon, "08:00-12:00")), "HOURS_MALFORMED", "working_days[0]"},
		"SaturdayIntoSunday": {week(works(t, time.Saturday, "20:00-08:01"), works(t, sun, "08:00-12:00")), "HOURS_MALFORMED", "working_days[0]"},
		"OffBackwards":       {off(workflow.DayOff{First: dayAt(2026, 3, 2), Last: dayAt(2026, 3, 2)}, workflow.DayOff{First: dayAt(2026, 3, 2), Last: dayAt(2026, 3, 1)}), "HOURS_MALFORMED", "days_off[1].last_date"},
		"OffLongAgo":         {off(workflow.DayOff{First: dayAt(1999, 12, 31), Last: dayAt(2026, 3, 1)}), "DATE_ABSURD", "days_off[0].first_date"},
		"OffForEver":         {off(workflow.DayOff{First: dayAt(2026, 3, 1), Last: dayAt(2100, 1, 1)}), "DATE_ABSURD", "days_off[0].last_date"},
		"OneDay":             {workflow.Person{ActiveFrom: dayAt(2000, 1, 1), ActiveTo: dayAt(2000, 1, 1)}, "", ""},
		"Long":               {workflow.Person{ActiveFrom: dayAt(2000, 1, 1), ActiveTo: dayAt(2099, 12, 31)}, "", ""},
		"LeftBeforeTheyCame": {workflow.Person{ActiveFrom: dayAt(2026, 3, 2), ActiveTo: dayAt(2026, 3, 1)}, "DATE_ABSURD", "active_to"},
		"CameLongAgo":        {workflow.Person{ActiveFrom: dayAt(1999, 12, 31)}, "DATE_ABSURD", "active_from"},
		"LeavesTooLate":      {workflow.Person{ActiveTo: dayAt(2100, 1, 1)}, "DATE_ABSURD", "active_to"},
		"SkillTwice":         {workflow.Person{Skills: []workflow.Skill{{Word: "sand", Level: 1}, {Word: "strip", Level: 1}, {Word: "sand", Level: 3}}}, "SKILL_TWICE", "skills[2]"},
	} {
		t.Run(name, func(t *testing.T) {
			err := c.person.Check()
			if got := fault.Reason(err); got != c.reason {
				t.Fatalf("Check = %v, want %q", err, c.reason)
			}
			if err != nil && fault.Of(err).Fields[0].Path != c.field {
				t.Errorf("Check blames %s, want %s", fault.Of(err).Fields[0].Path, c.field)
			}
		})
	}
}

// A refusal says the hours as they hang on the wall.
func TestPerson_Check_SaysHours(t *testing.T) {
	p := workflow.Person{Week: []workflow.WorkingDay{works(t, time.Friday, "22:00-06:00", "05:30-06:15")}}
	if err := p.Check(); err == nil || !strings.Contains(err.Error(), "05:30 to 06:15 on Friday is not within 22:00 to 06:00") {
		t.Errorf("Check = %v", err)
	}
}
