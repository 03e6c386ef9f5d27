package server_test

import (
	"testing"

	"github.com/google/go-cmp/cmp"
	"google.golang.org/genproto/googleapis/type/date"
	"google.golang.org/genproto/googleapis/type/dayofweek"
	"google.golang.org/genproto/googleapis/type/timeofday"
	"google.golang.org/protobuf/reflect/protoreflect"
	"google.golang.org/protobuf/testing/protocmp"

	"tackfree/pkg/fault"
	"tackfree/pkg/svctest"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

func clockTime(hours, minutes int32) *timeofday.TimeOfDay {
	return &timeofday.TimeOfDay{Hours: hours, Minutes: minutes}
}

func onDay(year, month, day int32) *date.Date { return &date.Date{Year: year, Month: month, Day: day} }

// sprayer is somebody of whom all is said.
func sprayer() *workflowv1.AddPersonRequest {
	return &workflowv1.AddPersonRequest{RequestId: svctest.NewID(), DisplayName: " Nell  Oord ",
		Skills: []string{"strip", "spray", "sand"}, Levels: []*workflowv1.SkillLevel{{Skill: "strip", Level: 1}, {Skill: "spray", Level: 3}},
		WorkingDays: []*workflowv1.WorkingDay{
			{Day: dayofweek.DayOfWeek_MONDAY, Start: clockTime(8, 0), End: clockTime(16, 30), Breaks: []*workflowv1.WorkingDay_Break{{Start: clockTime(12, 0), End: clockTime(12, 30)}}},
			{Day: dayofweek.DayOfWeek_SATURDAY, Start: clockTime(22, 0), End: clockTime(6, 0)},
			{Day: dayofweek.DayOfWeek_SUNDAY, Start: clockTime(18, 0), End: clockTime(24, 0)},
		},
		DaysOff:    []*workflowv1.DayOff{{FirstDate: onDay(2026, 7, 13), LastDate: onDay(2026, 7, 24), Reason: "at the lake"}, {FirstDate: onDay(2028, 2, 29)}},
		Stations:   []string{"stations/booth", "stations/bench-1"},
		ActiveFrom: onDay(2026, 1, 7), ActiveTo: onDay(2028, 12, 31)}
}

func setupSprayers(t *testing.T) *floor {
	t.Helper()
	f := setup(t)
	f.saveStation(t, boothFor("booth", 1))
	f.saveStation(t, boothFor("bench-1", 1))
	return f
}

// All that is said of a person is kept and given back; what costing needs of it is told.
func TestServer_AddPerson_AllOfIt(t *testing.T) {
	t.Parallel()
	f := setupSprayers(t)
	r := sprayer()
	added, err := f.people.AddPerson(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	want := &workflowv1.Person{Name: added.Person.Name, DisplayName: "Nell Oord", Skills: []string{"strip", "spray", "sand"}, Levels: []*workflowv1.SkillLevel{{Skill: "strip", Level: 1}, {Skill: "spray", Level: 3}},
		WorkingDays: r.WorkingDays, DaysOff: r.DaysOff, Stations: r.Stations, ActiveFrom: r.ActiveFrom, ActiveTo: r.ActiveTo, Role: typev1.Role_ROLE_HELPER, Etag: `"1"`}
	want.DaysOff[1].LastDate = onDay(2028, 2, 29)
	list, err := f.people.ListPeople(t.Context(), &workflowv1.ListPeopleRequest{})
	if err != nil {
		t.Fatal(err)
	}
	got, err := f.people.GetPerson(t.Context(), &workflowv1.GetPersonRequest{Name: want.Name})
	if err != nil {
		t.Fatal(err)
	}
	for how, p := range map[string]*workflowv1.Person{"AddPerson": added.Person, "GetPerson": got.Person, "ListPeople": list.People[0]} {
		if diff := cmp.Diff(want, p, protocmp.Transform()); diff != "" {
			t.Errorf("%s (-want +got):\n%s", how, diff)
		}
	}
	event := &eventsv1.PersonAdded{PersonId: want.Name[len("people/"):], DisplayName: "Nell Oord", Skills: []string{"strip", "spray", "sand"}, SkillLevels: []int32{1, 3, 2},
		ActiveFrom: r.ActiveFrom, ActiveTo: r.ActiveTo}
	if diff := cmp.Diff(event, f.Last(t).GetPersonAdded(), protocmp.Transform()); diff != "" {
		t.Errorf("event (-want +got):\n%s", diff)
	}
}

// What cannot be is refused by what it is, at the field that is wrong, of a new person and of
// one who is changed.
func TestServer_People_Refused(t *testing.T) {
	t.Parallel()
	f := setupSprayers(t)
	odo := f.person(t, "Odo")
	for name, c := range map[string]struct {
		change        func(*workflowv1.AddPersonRequest)
		kind          fault.Kind
		reason, field string
		path          string // in the mask
	}{
		"NoSuchStation": {func(r *workflowv1.AddPersonRequest) { r.Stations[1] = "stations/attic" }, fault.NotFound, "STATION_NOT_FOUND", "stations", "stations"},
		"NoStation":     {func(r *workflowv1.AddPersonRequest) { r.Stations[1] = "benches/1" }, fault.Invalid, "INVALID_NAME", "stations[1]", "stations"},
		"DayTwice":      {func(r *workflowv1.AddPersonRequest) { r.WorkingDays[1].Day = dayofweek.DayOfWeek_MONDAY }, fault.Invalid, "HOURS_MALFORMED", "working_days[1].day", "working_days"},
		"WithSeconds":   {func(r *workflowv1.AddPersonRequest) { r.WorkingDays[0].Start.Seconds = 30 }, fault.Invalid, "HOURS_MALFORMED", "working_days[0].start", "working_days"},
		"Beyond24":      {func(r *workflowv1.AddPersonRequest) { r.WorkingDays[2].End.Minutes = 1 }, fault.Invalid, "HOURS_MALFORMED", "working_days[2].end", "working_days"},
		"Begins24":      {func(r *workflowv1.AddPersonRequest) { r.WorkingDays[1].Start = clockTime(24, 0) }, fault.Invalid, "HOURS_MALFORMED", "working_days[1]", "working_days"},
		"BreakOdd":      {func(r *workflowv1.AddPersonRequest) { r.WorkingDays[0].Breaks[0].End = clockTime(12, 60) }, fault.Invalid, "HOURS_MALFORMED", "working_days[0].breaks[0].end", "working_days"},
		"BreakOutside":  {func(r *workflowv1.AddPersonRequest) { r.WorkingDays[0].Breaks[0].End = clockTime(17, 0) }, fault.Invalid, "HOURS_MALFORMED", "working_days[0].breaks[0]", "working_days"},
		"NoBreak":       {func(r *workflowv1.AddPersonRequest) { r.WorkingDays[0].Breaks[0].End = nil }, fault.Invalid, "INVALID_FIELD", "working_days[0].breaks[0].end", "working_days"},
		"OffBackwards":  {func(r *workflowv1.AddPersonRequest) { r.DaysOff[0].LastDate.Day = 12 }, fault.Invalid, "HOURS_MALFORMED", "days_off[0].last_date", "days_off"},
		"NoSuchDay":     {func(r *workflowv1.AddPersonRequest) { r.DaysOff[1].FirstDate.Year = 2027 }, fault.Invalid, "DATE_MALFORMED", "days_off[1].first_date", "days_off"},
		"OnlyAMonth":    {func(r *workflowv1.AddPersonRequest) { r.ActiveFrom.Day = 0 }, fault.Invalid, "DATE_MALFORMED", "active_from", "active_from"},
		"LongAgo":       {func(r *workflowv1.AddPersonRequest) { r.ActiveFrom.Year = 1986 }, fault.Invalid, "DATE_ABSURD", "active_from", "active_from"},
		"LeftBefore":    {func(r *workflowv1.AddPersonRequest) { r.ActiveFrom, r.ActiveTo = r.ActiveTo, r.ActiveFrom }, fault.Invalid, "DATE_ABSURD", "active_to", "active_to"},
		"SkillTwice":    {func(r *workflowv1.AddPersonRequest) { r.Skills[2] = "strip" }, fault.Invalid, "SKILL_TWICE", "skills[2]", "skills"},
		"SkillTooHigh":  {func(r *workflowv1.AddPersonRequest) { r.Levels[1].Level = 4 }, fault.Invalid, "INVALID_FIELD", "levels[1].level", "skills"},
		"LevelOfNone":   {func(r *workflowv1.AddPersonRequest) { r.Levels[1].Skill = "carve" }, fault.Invalid, "SKILL_UNKNOWN", "levels[1].skill", "skills"},
	} {
		t.Run(name, func(t *testing.T) {
			r := sprayer()
			c.change(r)
			got := svctest.Refused(t, f.Service, f.people.AddPerson, r, c.kind, c.reason)
			if len(got.Fields) != 1 || got.Fields[0].Path != c.field {
				t.Errorf("AddPerson blames %v, want %s", got.Fields, c.field)
			}
			p := &workflowv1.Person{Name: odo, Skills: r.Skills, Levels: r.Levels, WorkingDays: r.WorkingDays, DaysOff: r.DaysOff, Stations: r.Stations, ActiveFrom: r.ActiveFrom, ActiveTo: r.ActiveTo}
			paths := []string{c.path}
			if c.path == "active_to" {
				paths = append(paths, "active_from")
			}
			got = svctest.Refused(t, f.Service, f.people.UpdatePerson, update(p, paths...), c.kind, c.reason)
			if len(got.Fields) != 1 || got.Fields[0].Path != "person."+c.field {
				t.Errorf("UpdatePerson blames %v, want person.%s", got.Fields, c.field)
			}
		})
	}
}

// What the mask names is changed, lists as a whole, and nothing else.
func TestServer_UpdatePerson_Mask(t *testing.T) {
	t.Parallel()
	f := setupSprayers(t)
	added, err := f.people.AddPerson(svctest.Ctx(t), sprayer())
	if err != nil {
		t.Fatal(err)
	}
	want := added.Person
	for _, c := range []struct {
		path   string
		change func(p *workflowv1.Person)
	}{
		{"display_name", func(p *workflowv1.Person) { p.DisplayName = "Nellie" }},
		{"skills", func(p *workflowv1.Person) { p.Skills, p.Levels = []string{"oil"}, nil }},
		{"working_days", func(p *workflowv1.Person) { p.WorkingDays = p.WorkingDays[1:] }},
		{"working_days", func(p *workflowv1.Person) { p.WorkingDays = nil }},
		{"days_off", func(p *workflowv1.Person) { p.DaysOff = p.DaysOff[:1] }},
		{"days_off", func(p *workflowv1.Person) { p.DaysOff = nil }},
		{"stations", func(p *workflowv1.Person) { p.Stations = p.Stations[:1] }},
		{"stations", func(p *workflowv1.Person) { p.Stations = nil }},
		{"active_from", func(p *workflowv1.Person) { p.ActiveFrom = nil }},
		{"active_to", func(p *workflowv1.Person) { p.ActiveTo = onDay(2026, 3, 1) }},
	} {
		c.change(want)
		said := &workflowv1.Person{Name: want.Name, Etag: want.Etag, DisplayName: "other", Skills: []string{"other"}, Stations: []string{"stations/other"}, ActiveTo: onDay(2027, 1, 1)}
		to, from := said.ProtoReflect(), want.ProtoReflect()
		if field := to.Descriptor().Fields().ByName(protoreflect.Name(c.path)); from.Has(field) {
			to.Set(field, from.Get(field))
		} else {
			to.Clear(field)
		}
		got, err := f.people.UpdatePerson(svctest.Ctx(t), update(said, c.path))
		if err != nil {
			t.Fatalf("%s: %v", c.path, err)
		}
		want.Etag = got.Person.Etag
		if diff := cmp.Diff(want, got.Person, protocmp.Transform()); diff != "" {
			t.Errorf("%s (-want +got):\n%s", c.path, diff)
		}
	}
	e := f.Last(t)
	event := &eventsv1.PersonChanged{PersonId: want.Name[len("people/"):], DisplayName: "Nellie", Skills: []string{"oil"}, SkillLevels: []int32{2}, ActiveTo: onDay(2026, 3, 1)}
	if diff := cmp.Diff(event, e.GetPersonChanged(), protocmp.Transform()); diff != "" || e.Version != 11 || want.Etag != `"11"` {
		t.Errorf("event of version %d, etag %s (-want +got):\n%s", e.Version, want.Etag, diff)
	}
}

// Who has left begins nothing any more from the day after on; their labour until then stays.
func TestServer_UpdatePerson_Leaves(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell := f.person(t, "Nell", "strip")
	_, stages := f.planned(t)
	f.works(t, nell, stages["strip top"].Name, 0, 30)
	leave := func(day *date.Date) {
		t.Helper()
		if _, err := f.people.UpdatePerson(svctest.Ctx(t), update(&workflowv1.Person{Name: nell, ActiveTo: day}, "active_to")); err != nil {
			t.Fatal(err)
		}
	}
	leave(onDay(2026, 3, 1))
	got := svctest.Refused(t, f.Service, f.clocks.ClockOn, f.clockOn(nell, stages["strip case"].Name, 40), fault.Precondition, "PERSON_INACTIVE")
	says(t, got, "Nell", "Sun 1 Mar 2026")
	leave(onDay(2026, 3, 2))
	f.works(t, nell, stages["strip case"].Name, 40, 50)
	if got := f.entries(t, nell); len(got) != 2 {
		t.Errorf("%d entries, want 2", len(got))
	}
}
