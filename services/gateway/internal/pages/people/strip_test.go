package people

import (
	"net/url"
	"slices"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"google.golang.org/genproto/googleapis/type/date"
	"google.golang.org/genproto/googleapis/type/dayofweek"
	"google.golang.org/genproto/googleapis/type/timeofday"
	"google.golang.org/protobuf/testing/protocmp"
	"pgregory.net/rapid"

	"tackfree/pkg/fault"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/gateway/internal/typed"
	"tackfree/services/gateway/internal/words"
)

var voice = &words.Voice{Language: "en", Zone: time.UTC}

func at(h, m int32) *timeofday.TimeOfDay { return &timeofday.TimeOfDay{Hours: h, Minutes: m} }

func worked(day dayofweek.DayOfWeek, from, to *timeofday.TimeOfDay, breaks ...*timeofday.TimeOfDay) *workflowv1.WorkingDay {
	d := &workflowv1.WorkingDay{Day: day, Start: from, End: to}
	for i := 0; i+1 < len(breaks); i += 2 {
		d.Breaks = append(d.Breaks, &workflowv1.WorkingDay_Break{Start: breaks[i], End: breaks[i+1]})
	}
	return d
}

var carmen = &workflowv1.Person{DisplayName: "Carmen", Skills: []string{"finish", "hand caning", "sand"}, Levels: []*workflowv1.SkillLevel{{Skill: "finish", Level: 3}},
	WorkingDays: []*workflowv1.WorkingDay{worked(1, at(8, 0), at(16, 30), at(12, 0), at(12, 30)), worked(2, at(8, 0), at(16, 30), at(12, 0), at(12, 30)), worked(6, at(22, 0), at(2, 0))},
	DaysOff:     []*workflowv1.DayOff{{FirstDate: &date.Date{Year: 2026, Month: 3, Day: 20}, LastDate: &date.Date{Year: 2026, Month: 3, Day: 22}, Reason: "at the sea"}},
	Stations:    []string{"stations/booth"}, ActiveFrom: &date.Date{Year: 2026, Month: 1, Day: 2}}

func TestSaid(t *testing.T) {
	if got, want := said(carmen.WorkingDays, voice), "Mon–Tue 08:00–16:30, Sat 22:00–02:00"; got != want {
		t.Errorf("said = %q, want %q", got, want)
	}
	if got := said(nil, voice); got != "" {
		t.Errorf("said(nobody said) = %q", got)
	}
}

// What a form was filled with reads back as the same person.
func TestReadPerson_ReadsWhatWasWritten(t *testing.T) {
	f := &typed.Form{Values: valuesOf(carmen), Voice: voice}
	if diff := cmp.Diff(carmen, readPerson(f), protocmp.Transform()); diff != "" || f.Err() != nil {
		t.Errorf("%v\n%s", f.Err(), diff)
	}
}

// A form that nobody touched says what it was filled with.
func TestTypedValues_Untouched(t *testing.T) {
	values := valuesOf(carmen)
	shown := formOf(values, values, known{skills: []string{"sand", "spray"}, stations: []*workflowv1.Station{{Name: "stations/booth"}, {Name: "stations/yard", Retired: true}}})
	if len(shown.Stations) != 1 || len(shown.Skills) != 4 || len(shown.Off) != 1+blankRows {
		t.Errorf("the form has %d stations, %d skills, %d rows of days off; want 1, 4, %d", len(shown.Stations), len(shown.Skills), len(shown.Off), 1+blankRows)
	}
	form := url.Values{"name": {shown.Name}, "active_from": {shown.From}, "active_to": {shown.To}, "stations": {"stations/booth"}, "another_level": {"2"}}
	for _, s := range shown.Skills {
		if s.Level != 0 {
			form.Set("skill."+s.Word, typed.Whole(s.Level))
		}
	}
	for _, d := range shown.Days {
		form.Set(d.Day+".start", d.Start)
		form.Set(d.Day+".end", d.End)
		form.Set(d.Day+".breaks", d.Breaks)
	}
	for _, o := range shown.Off {
		form.Add("off.first", o.First)
		form.Add("off.last", o.Last)
		form.Add("off.reason", o.Reason)
	}
	if diff := cmp.Diff(values, typedValues(form), cmp.Comparer(alike)); diff != "" {
		t.Error(diff)
	}
}

// alike holds fields to be alike that are empty either way.
func alike(a, b url.Values) bool {
	for _, f := range fields {
		if !slices.Equal(slices.DeleteFunc(slices.Clone(a[f.Name]), empty), slices.DeleteFunc(slices.Clone(b[f.Name]), empty)) {
			return false
		}
	}
	return true
}

func empty(s string) bool { return s == "" }

func TestReadHours_Refuses(t *testing.T) {
	for _, line := range []string{"08:00", "8-16", "08:00-25:00", "08:00-16:00 noon", "-16:00"} {
		f := &typed.Form{Values: url.Values{"hours.mon": {line}}, Voice: voice}
		readPerson(f)
		if err := f.Err(); !fault.Is(err, "TIME_UNREADABLE") {
			t.Errorf("%q: %v, want TIME_UNREADABLE", line, err)
		}
	}
}

func TestTypedHours(t *testing.T) {
	for breaks, want := range map[string]string{"12:00-12:30, 15:00-15:15": "08:00-16:00 12:00-12:30 15:00-15:15", "12:00–12:30;15:00 - 15:15": "08:00-16:00 12:00-12:30 15:00-15:15", "": "08:00-16:00"} {
		if got := typedHours("08:00", "16:00", breaks); got != want {
			t.Errorf("typedHours(%q) = %q, want %q", breaks, got, want)
		}
	}
	if got := typedHours("", "", "12:00-12:30"); got != "" {
		t.Errorf("a day without hours is %q", got)
	}
}

// A week is drawn within its drawing, whoever works when; what goes past midnight goes on the next day.
func TestStrip_StaysInside(t *testing.T) {
	clock := rapid.Custom(func(t *rapid.T) *timeofday.TimeOfDay {
		return at(rapid.Int32Range(0, 23).Draw(t, "h"), rapid.Int32Range(0, 59).Draw(t, "m"))
	})
	rapid.Check(t, func(t *rapid.T) {
		day := dayofweek.DayOfWeek(rapid.IntRange(1, 7).Draw(t, "day"))
		for _, s := range strip([]*workflowv1.WorkingDay{worked(day, clock.Draw(t, "from"), clock.Draw(t, "to"), clock.Draw(t, "off"), clock.Draw(t, "on"))}) {
			if s.X < 0 || s.X+slatWide > stripWide || s.Y < 0 || s.Y+s.High > stripHigh+1 || s.High < 1 {
				t.Fatalf("%+v is outside", s)
			}
		}
	})
	got := strip([]*workflowv1.WorkingDay{worked(7, at(22, 0), at(2, 0))})
	if want := []slat{{X: 96, Y: 44, High: 4}, {X: 0, Y: 0, High: 4}}; !slices.Equal(got, want) {
		t.Errorf("a night from Sunday on = %+v, want %+v", got, want)
	}
}
