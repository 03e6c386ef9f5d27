package workflow_test

import (
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"tackfree/services/workflow/internal/workflow"
)

// The zones of the tests. From the IANA time zone database, 2026: in America/Chicago (rule US)
// clocks are put forward at 02:00 on 8 March and back at 02:00 on 1 November; in Europe/Madrid
// (rule EU) forward at 02:00 on 29 March and back at 03:00 on 25 October.
func zone(t testing.TB, name string) *time.Location {
	t.Helper()
	z, err := time.LoadLocation(name)
	if err != nil {
		t.Fatal(err)
	}
	return z
}

func dayAt(year int, month time.Month, day int) time.Time {
	return time.Date(year, month, day, 0, 0, 0, 0, time.UTC)
}

// clock is a time of day as minutes: 16:30.
func clock(t testing.TB, s string) int {
	t.Helper()
	if s == "24:00" {
		return 24 * 60
	}
	at, err := time.Parse("15:04", s)
	if err != nil {
		t.Fatal(err)
	}
	return at.Hour()*60 + at.Minute()
}

// hours are such as 08:00-16:30.
func hours(t testing.TB, s string) workflow.Hours {
	t.Helper()
	from, to, _ := strings.Cut(s, "-")
	return workflow.Hours{Start: clock(t, from), End: clock(t, to)}
}

// works is a day's hours, and the breaks in them.
func works(t testing.TB, day time.Weekday, of string, breaks ...string) workflow.WorkingDay {
	t.Helper()
	w := workflow.WorkingDay{Weekday: day, Hours: hours(t, of)}
	for _, b := range breaks {
		w.Breaks = append(w.Breaks, hours(t, b))
	}
	return w
}

// utc is an instant of 2026 or another year.
func utc(t testing.TB, s string) time.Time {
	t.Helper()
	at, err := time.Parse("2006-01-02 15:04", s)
	if err != nil {
		t.Fatal(err)
	}
	return at
}

// times are a shift's start and end in UTC.
func times(s *workflow.Shift) string {
	if s == nil {
		return "none"
	}
	out := s.Start.UTC().Format("2006-01-02 15:04") + " to " + s.End.UTC().Format("2006-01-02 15:04")
	for _, b := range s.Breaks {
		out += ", break " + b.Start.UTC().Format("15:04") + " to " + b.End.UTC().Format("15:04")
	}
	return out
}

// Nell paints from Monday to Friday and sprays on Saturday nights.
func painter(t testing.TB) workflow.Person {
	p := workflow.Person{Name: "Nell"}
	for day := time.Monday; day <= time.Friday; day++ {
		p.Week = append(p.Week, works(t, day, "08:00-16:30", "12:00-12:30"))
	}
	p.Week = append(p.Week, works(t, time.Saturday, "22:00-06:00", "01:30-02:30", "23:45-00:15"))
	return p
}

func TestPerson_ShiftOn(t *testing.T) {
	nell := painter(t)
	nell.ActiveFrom, nell.ActiveTo = dayAt(2026, 1, 7), dayAt(2028, 3, 31)
	nell.DaysOff = []workflow.DayOff{
		{First: dayAt(2026, 7, 13), Last: dayAt(2026, 7, 24), Reason: "at the lake"},
		{First: dayAt(2026, 8, 3), Last: dayAt(2026, 8, 3)},
	}
	for name, c := range map[string]struct {
		zone      string
		day       time.Time
		want, why string
	}{
		"InWinter":          {"America/Chicago", dayAt(2026, 3, 2), "2026-03-02 14:00 to 2026-03-02 22:30, break 18:00 to 18:30", ""},
		"InSummer":          {"America/Chicago", dayAt(2026, 6, 1), "2026-06-01 13:00 to 2026-06-01 21:30, break 17:00 to 17:30", ""},
		"FirstDay":          {"America/Chicago", dayAt(2026, 1, 7), "2026-01-07 14:00 to 2026-01-07 22:30, break 18:00 to 18:30", ""},
		"BeforeTheyCame":    {"America/Chicago", dayAt(2026, 1, 6), "none", "not in the shop"},
		"LastDay":           {"America/Chicago", dayAt(2028, 3, 31), "2028-03-31 13:00 to 2028-03-31 21:30, break 17:00 to 17:30", ""},
		"AfterTheyLeft":     {"America/Chicago", dayAt(2028, 4, 3), "none", "not in the shop"},
		"LeapDay":           {"America/Chicago", dayAt(2028, 2, 29), "2028-02-29 14:00 to 2028-02-29 22:30, break 18:00 to 18:30", ""},
		"Sunday":            {"America/Chicago", dayAt(2026, 3, 1), "none", "not a working day"},
		"FirstDayOff":       {"America/Chicago", dayAt(2026, 7, 13), "none", "day off: at the lake"},
		"LastDayOff":        {"America/Chicago", dayAt(2026, 7, 24), "none", "day off: at the lake"},
		"DayOffAlone":       {"America/Chicago", dayAt(2026, 8, 3), "none", "day off"},
		"AfterDayOff":       {"America/Chicago", dayAt(2026, 8, 4), "2026-08-04 13:00 to 2026-08-04 21:30, break 17:00 to 17:30", ""},
		"Night":             {"America/Chicago", dayAt(2026, 2, 28), "2026-03-01 04:00 to 2026-03-01 12:00, break 07:30 to 08:30, break 05:45 to 06:15", ""},
		"NightForward":      {"America/Chicago", dayAt(2026, 3, 7), "2026-03-08 04:00 to 2026-03-08 11:00, break 07:30 to 08:00, break 05:45 to 06:15", ""},
		"NightBack":         {"America/Chicago", dayAt(2026, 10, 31), "2026-11-01 03:00 to 2026-11-01 12:00, break 06:30 to 08:30, break 04:45 to 05:15", ""},
		"MadridNight":       {"Europe/Madrid", dayAt(2026, 3, 21), "2026-03-21 21:00 to 2026-03-22 05:00, break 00:30 to 01:30, break 22:45 to 23:15", ""},
		"MadridForward":     {"Europe/Madrid", dayAt(2026, 3, 28), "2026-03-28 21:00 to 2026-03-29 04:00, break 00:30 to 01:00, break 22:45 to 23:15", ""},
		"MadridBack":        {"Europe/Madrid", dayAt(2026, 10, 24), "2026-10-24 20:00 to 2026-10-25 05:00, break 23:30 to 01:30, break 21:45 to 22:15", ""},
		"MadridAWeekBefore": {"Europe/Madrid", dayAt(2026, 3, 9), "2026-03-09 07:00 to 2026-03-09 15:30, break 11:00 to 11:30", ""},
	} {
		t.Run(name, func(t *testing.T) {
			got, why := nell.ShiftOn(c.day, zone(t, c.zone))
			if times(got) != c.want || why.Text != c.why || (why.Reason == "") != (c.why == "") {
				t.Errorf("ShiftOn = %s %q, want %s %q", times(got), why.Text, c.want, c.why)
			}
		})
	}
	if got, why := (workflow.Person{Name: "Odo"}).ShiftOn(dayAt(2026, 3, 2), time.UTC); got != nil || why.Reason != "HOURS_NOT_SAID" || why.Text != "nobody said when they work" {
		t.Errorf("ShiftOn of Odo = %s %q", times(got), why.Text)
	}
}

// A day off is the whole day by the shop's clock, whatever day it is in UTC.
func TestPerson_Absence(t *testing.T) {
	chicago := zone(t, "America/Chicago")
	nell := workflow.Person{Name: "Nell", DaysOff: []workflow.DayOff{{First: dayAt(2026, 7, 13), Last: dayAt(2026, 7, 24), Reason: "at the lake"}, {First: dayAt(2026, 8, 3), Last: dayAt(2026, 8, 3)}}}
	for at, want := range map[time.Time]string{
		time.Date(2026, 7, 12, 23, 0, 0, 0, chicago):                     "",
		time.Date(2026, 7, 24, 23, 0, 0, 0, chicago):                     "Nell is away until the end of Fri 24 Jul 2026 (day off: at the lake).",
		time.Date(2026, 8, 4, 0, 30, 0, 0, time.UTC).In(chicago):         "Nell is away until the end of Mon 3 Aug 2026 (day off).",
		time.Date(2026, 8, 4, 0, 0, 0, 0, chicago).Add(-time.Nanosecond): "Nell is away until the end of Mon 3 Aug 2026 (day off).",
		time.Date(2026, 8, 4, 0, 0, 0, 0, chicago):                       "",
	} {
		if got := nell.Absence(at); got != want {
			t.Errorf("Absence(%v) = %q, want %q", at, got, want)
		}
	}
}

// A time that the clock is put forward over is the instant at which it is; one that it shows
// twice is the first for what begins and the second for what ends. In Lord Howe clocks are
// moved by half an hour at 02:00 (rule LH: 5 April and 4 October 2026).
func TestPerson_ShiftOn_ClocksAreMoved(t *testing.T) {
	for name, c := range map[string]struct {
		zone, hours string
		day         time.Time
		want        string
	}{
		"BeginsInTheGap":    {"America/Chicago", "02:15-10:00", dayAt(2026, 3, 8), "2026-03-08 08:00 to 2026-03-08 15:00"},
		"BeginsAtTheGap":    {"America/Chicago", "02:00-10:00", dayAt(2026, 3, 8), "2026-03-08 08:00 to 2026-03-08 15:00"},
		"BeginsAfterTheGap": {"America/Chicago", "03:00-10:00", dayAt(2026, 3, 8), "2026-03-08 08:00 to 2026-03-08 15:00"},
		"EndsInTheGap":      {"America/Chicago", "00:00-02:59", dayAt(2026, 3, 8), "2026-03-08 06:00 to 2026-03-08 08:00"},
		"IsTheGap":          {"America/Chicago", "02:10-02:50", dayAt(2026, 3, 8), "none"},
		"BeginsTwice":       {"America/Chicago", "01:30-09:00", dayAt(2026, 11, 1), "2026-11-01 06:30 to 2026-11-01 15:00"},
		"EndsTwice":         {"America/Chicago", "00:00-01:30", dayAt(2026, 11, 1), "2026-11-01 05:00 to 2026-11-01 07:30"},
		"EndsOnceMore":      {"America/Chicago", "00:00-02:00", dayAt(2026, 11, 1), "2026-11-01 05:00 to 2026-11-01 08:00"},
		"WholeDayForward":   {"America/Chicago", "00:00-24:00", dayAt(2026, 3, 8), "2026-03-08 06:00 to 2026-03-09 05:00"},
		"WholeDayBack":      {"America/Chicago", "00:00-00:00", dayAt(2026, 11, 1), "2026-11-01 05:00 to 2026-11-02 06:00"},
		"MadridGap":         {"Europe/Madrid", "02:30-06:00", dayAt(2026, 3, 29), "2026-03-29 01:00 to 2026-03-29 04:00"},
		"MadridTwice":       {"Europe/Madrid", "02:30-02:45", dayAt(2026, 10, 25), "2026-10-25 00:30 to 2026-10-25 01:45"},
		"HalfAnHourForward": {"Australia/Lord_Howe", "02:10-08:00", dayAt(2026, 10, 4), "2026-10-03 15:30 to 2026-10-03 21:00"},
		"HalfAnHourBack":    {"Australia/Lord_Howe", "01:45-01:50", dayAt(2026, 4, 5), "2026-04-04 14:45 to 2026-04-04 15:20"},
		"NeverMoved":        {"UTC", "02:30-10:00", dayAt(2026, 3, 8), "2026-03-08 02:30 to 2026-03-08 10:00"},
	} {
		t.Run(name, func(t *testing.T) {
			p := workflow.Person{Week: []workflow.WorkingDay{works(t, c.day.Weekday(), c.hours)}}
			got, _ := p.ShiftOn(c.day, zone(t, c.zone))
			if times(got) != c.want {
				t.Errorf("ShiftOn %s = %s, want %s", c.hours, times(got), c.want)
			}
		})
	}
}

func TestPerson_ShiftAt(t *testing.T) {
	nell := painter(t)
	nell.ActiveTo = dayAt(2026, 12, 31)
	nell.DaysOff = []workflow.DayOff{{First: dayAt(2026, 3, 9), Last: dayAt(2026, 11, 8)}}
	for at, want := range map[string]string{
		"2026-03-02 13:59": "2026-03-02 14:00", // a minute too soon
		"2026-03-02 14:00": "2026-03-02 14:00",
		"2026-03-02 18:15": "2026-03-02 14:00", // in the break
		"2026-03-02 22:29": "2026-03-02 14:00",
		"2026-03-02 22:30": "2026-03-03 14:00", // it is over
		"2026-03-06 23:00": "2026-03-08 04:00", // from Friday evening to Saturday night
		"2026-03-08 10:59": "2026-03-08 04:00", // on Sunday morning, in Saturday's
		"2026-03-08 11:00": "2026-11-09 14:00", // then they are away for eight months
		"2026-12-31 22:29": "2026-12-31 14:00",
		"2026-12-31 22:30": "none",
	} {
		got := nell.ShiftAt(utc(t, at).In(zone(t, "America/Chicago")))
		if begins := strings.Split(times(got), " to ")[0]; begins != want {
			t.Errorf("ShiftAt(%s) begins %s, want %s", at, begins, want)
		}
	}
	later := painter(t)
	later.ActiveFrom = dayAt(2026, 9, 1)
	if got := times(later.ShiftAt(utc(t, "2026-03-02 13:59").In(zone(t, "Europe/Madrid")))); !strings.HasPrefix(got, "2026-09-01 06:00") {
		t.Errorf("ShiftAt before they come = %s, want the first of September", got)
	}
	mondays := workflow.Person{Week: []workflow.WorkingDay{works(t, time.Monday, "08:00-12:00")}}
	if got := times(mondays.ShiftAt(utc(t, "2026-03-02 12:00"))); !strings.HasPrefix(got, "2026-03-09 08:00") {
		t.Errorf("ShiftAt after one of Mondays alone = %s, want the next Monday's", got)
	}
	if got := (workflow.Person{}).ShiftAt(nine); got != nil {
		t.Errorf("ShiftAt of one of whom nobody said when they work = %s", times(got))
	}
}

func TestPerson_ShiftEnd(t *testing.T) {
	for start, want := range map[string]string{
		"2026-03-02 12:10": "2026-03-02 22:30", // at ten past six in the morning, for the shift of that day
		"2026-03-02 20:00": "2026-03-02 22:30",
		"2026-03-02 22:30": "none",             // after it
		"2026-03-08 10:00": "2026-03-08 11:00", // in Saturday's, on Sunday
		"2026-03-08 15:00": "none",             // on a day that is free
		"2026-03-08 03:00": "2026-03-08 11:00", // at nine on Saturday night
	} {
		got, said := painter(t).ShiftEnd(utc(t, start).In(zone(t, "America/Chicago")))
		if end := got.UTC().Format("2006-01-02 15:04"); said != (want != "none") || said && end != want {
			t.Errorf("ShiftEnd(%s) = %s %v, want %s", start, end, said, want)
		}
	}
	if _, said := (workflow.Person{}).ShiftEnd(nine); said {
		t.Error("a shift ends of which nobody said anything")
	}
}

// Whatever the hours, the day and the zone: a shift begins when the clock shows its start, or
// when it is put forward over it, and lasts what passes, which is what the clock shows but for
// by how much it is moved in between.
func TestPerson_ShiftOn_LastsWhatPasses(t *testing.T) {
	zones := []string{"America/Chicago", "Europe/Madrid", "Australia/Lord_Howe", "Asia/Kolkata", "Pacific/Apia", "UTC"}
	rapid.Check(t, func(rt *rapid.T) {
		z := zone(t, rapid.SampledFrom(zones).Draw(rt, "zone"))
		day := dayAt(2026, 1, 1).AddDate(0, 0, rapid.IntRange(0, 1500).Draw(rt, "day"))
		h := workflow.Hours{Start: rapid.IntRange(0, 1439).Draw(rt, "start"), End: rapid.IntRange(0, 1440).Draw(rt, "end")}
		p := workflow.Person{Week: []workflow.WorkingDay{{Weekday: day.Weekday(), Hours: h}}}
		s, _ := p.ShiftOn(day, z)
		if s == nil {
			return
		}
		_, before := s.Start.Zone()
		_, after := s.End.Zone()
		shows := h.End - h.Start
		if shows <= 0 {
			shows += 24 * 60
		}
		moved := time.Duration(after-before) * time.Second
		if got, want := s.End.Sub(s.Start), time.Duration(shows)*time.Minute-moved; got != want && s.Start.Hour()*60+s.Start.Minute() == h.Start && (s.End.Hour()*60+s.End.Minute())%1440 == h.End%1440 {
			rt.Fatalf("the shift %v to %v lasts %v, want %v", s.Start, s.End, got, want)
		}
		if shown := s.Start.Hour()*60 + s.Start.Minute(); shown != h.Start {
			if _, earlier := s.Start.Add(-1).Zone(); earlier >= before {
				rt.Fatalf("it begins at %v, not at minute %d of %v", s.Start, h.Start, day)
			}
		}
		if again := p.ShiftAt(s.Start); again == nil || !cmp.Equal(*again, *s) {
			rt.Fatalf("ShiftAt its start = %s, want %s", times(again), times(s))
		}
	})
}
