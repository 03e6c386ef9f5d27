package cli

import (
	"testing"

	"google.golang.org/genproto/googleapis/type/date"
	"google.golang.org/genproto/googleapis/type/dayofweek"
	"google.golang.org/genproto/googleapis/type/timeofday"
	"google.golang.org/protobuf/types/known/fieldmaskpb"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

func clock(hours, minutes int32) *timeofday.TimeOfDay {
	return &timeofday.TimeOfDay{Hours: hours, Minutes: minutes}
}

// working is a day from 08:00 to 16:30 with half an hour at noon.
func working(day dayofweek.DayOfWeek) *workflowv1.WorkingDay {
	return &workflowv1.WorkingDay{Day: day, Start: clock(8, 0), End: clock(16, 30), Breaks: []*workflowv1.WorkingDay_Break{{Start: clock(12, 0), End: clock(12, 30)}}}
}

var saturday = &workflowv1.WorkingDay{Day: dayofweek.DayOfWeek_SATURDAY, Start: clock(9, 0), End: clock(12, 0)}

func TestPerson_WhenTheyWork(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	f.stations = []*workflowv1.Station{{Name: "stations/booth", DisplayName: "The booth"}}
	// The break at noon lies on no Saturday.
	f.gives(t, line("person add Ruth --skill spray:3 --skill sand --works 'mon,wed 08:00-16:30' --works 'Sat 09:00-12:00' --break 12:00-12:30 "+
		"--off 2026-12-24..2026-12-26=home --off 2026-05-01 --station 'the BOOTH' --from 2026-03-02 --to 2027-02-28"),
		&workflowv1.AddPersonRequest{DisplayName: "Ruth", Skills: []string{"spray", "sand"}, Levels: []*workflowv1.SkillLevel{{Skill: "spray", Level: 3}},
			WorkingDays: []*workflowv1.WorkingDay{working(dayofweek.DayOfWeek_MONDAY), working(dayofweek.DayOfWeek_WEDNESDAY), saturday},
			DaysOff: []*workflowv1.DayOff{{FirstDate: &date.Date{Year: 2026, Month: 12, Day: 24}, LastDate: &date.Date{Year: 2026, Month: 12, Day: 26}, Reason: "home"},
				{FirstDate: &date.Date{Year: 2026, Month: 5, Day: 1}}},
			Stations: []string{"stations/booth"}, ActiveFrom: &date.Date{Year: 2026, Month: 3, Day: 2}, ActiveTo: &date.Date{Year: 2027, Month: 2, Day: 28}})
	f.gives(t, line("person change Nell --works 'sat 09:00-12:00' --off '' --station '' --to ''"), &workflowv1.UpdatePersonRequest{
		Person:     &workflowv1.Person{Name: "people/n", WorkingDays: []*workflowv1.WorkingDay{saturday}},
		UpdateMask: &fieldmaskpb.FieldMask{Paths: []string{"working_days", "days_off", "stations", "active_to"}}})
}

// A break with its days is one on these alone; it may go to the end of the hours.
func TestPerson_BreaksOfSomeDays(t *testing.T) {
	t.Parallel()
	hours := func(day dayofweek.DayOfWeek, breaks ...*workflowv1.WorkingDay_Break) *workflowv1.WorkingDay {
		return &workflowv1.WorkingDay{Day: day, Start: clock(8, 0), End: clock(12, 0), Breaks: breaks}
	}
	newFake(t).gives(t, line("person change Nell --works 'fri-sat 08:00-12:00' --break 'sat 10:00-10:15' --break 11:45-12:00"), &workflowv1.UpdatePersonRequest{
		Person: &workflowv1.Person{Name: "people/n", WorkingDays: []*workflowv1.WorkingDay{
			hours(dayofweek.DayOfWeek_FRIDAY, &workflowv1.WorkingDay_Break{Start: clock(11, 45), End: clock(12, 0)}),
			hours(dayofweek.DayOfWeek_SATURDAY, &workflowv1.WorkingDay_Break{Start: clock(10, 0), End: clock(10, 15)}, &workflowv1.WorkingDay_Break{Start: clock(11, 45), End: clock(12, 0)})}},
		UpdateMask: &fieldmaskpb.FieldMask{Paths: []string{"working_days"}}})
}

// Hours over midnight have their break there too.
func TestPerson_OverMidnight(t *testing.T) {
	t.Parallel()
	newFake(t).gives(t, line("person change Nell --works 'fri 22:00-06:00' --break 01:00-01:30"), &workflowv1.UpdatePersonRequest{
		Person: &workflowv1.Person{Name: "people/n", WorkingDays: []*workflowv1.WorkingDay{{Day: dayofweek.DayOfWeek_FRIDAY, Start: clock(22, 0), End: clock(6, 0),
			Breaks: []*workflowv1.WorkingDay_Break{{Start: clock(1, 0), End: clock(1, 30)}}}}},
		UpdateMask: &fieldmaskpb.FieldMask{Paths: []string{"working_days"}}})
}

func TestPerson_HoursThatAreNone(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	for text, want := range map[string]string{
		"--works 'mon-fri 8-16'":                              "is not of the form 'mon-fri 08:00-16:30'",
		"--works 'mon-fri 08:00'":                             "is not of the form",
		"--works 08:00-16:30":                                 "does not say on which days",
		"--works 'monday 08:00-16:30'":                        `"monday" is not a day of the week`,
		"--works 'mon-fri 08:00-16:30' --break 17:00-17:15":   "lies on no day",
		"--works 'mon 08:00-16:30' --break 'tue 12:00-12:30'": "lies on no day",
		"--break 12:00-12:30":                                 "lies on no day",
		"--off christmas":                                     `"christmas" is not a day`,
		"--off =home":                                         "is not of the form '2026-12-24..2026-12-26=reason'",
		"--station cellar":                                    `there is no station "cellar"; there are: none yet`,
		"--from soon":                                         `"soon" is not a day`,
	} {
		f.refuses(t, line("person change Nell "+text), want)
	}
}

// What is shown of hours can be typed again.
func TestPerson_ListShowsWhen(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	f.people[0] = &workflowv1.Person{Name: "people/n", DisplayName: "Nell", Skills: []string{"spray"}, Levels: []*workflowv1.SkillLevel{{Skill: "spray", Level: 3}}, Stations: []string{"stations/booth", "stations/bench-1"},
		WorkingDays: []*workflowv1.WorkingDay{saturday, working(dayofweek.DayOfWeek_TUESDAY), working(dayofweek.DayOfWeek_WEDNESDAY), working(dayofweek.DayOfWeek_FRIDAY)},
		DaysOff:     []*workflowv1.DayOff{{FirstDate: &date.Date{Year: 2026, Month: 5, Day: 1}, LastDate: &date.Date{Year: 2026, Month: 5, Day: 3}, Reason: "a wedding"}},
		ActiveFrom:  &date.Date{Year: 2026, Month: 3, Day: 2}}
	works := "tue-wed 08:00-16:30, break 12:00-12:30; fri 08:00-16:30, break 12:00-12:30; sat 09:00-12:00"
	f.says(t, line("person list"), "Nell spray:3 "+works+" 2026-05-01..2026-05-03=a wedding booth, bench-1 2026-03-02\n")
	f.says(t, line("person show nell"), "works "+works+"\n", "stations booth, bench-1\n", "from 2026-03-02\n")
	f.says(t, line("person show Nell --json"), `"workingDays"`)
}
