package workflow

import (
	"testing"
	"time"

	"pgregory.net/rapid"
)

func zoneOf(t testing.TB, name string) *time.Location {
	t.Helper()
	zone, err := time.LoadLocation(name)
	if err != nil {
		t.Fatal(err)
	}
	return zone
}

// A day is as long as the clock on the wall makes it.
func TestDayBetween(t *testing.T) {
	day := func(y, m, d int) time.Time { return time.Date(y, time.Month(m), d, 0, 0, 0, 0, time.UTC) }
	for name, c := range map[string]struct {
		zone string
		day  time.Time
		from string
		long time.Duration
	}{
		"Usual":                {"America/New_York", day(2026, 3, 2), "2026-03-02T05:00:00Z", 24 * time.Hour},
		"ClocksForward":        {"America/New_York", day(2026, 3, 8), "2026-03-08T05:00:00Z", 23 * time.Hour},
		"ClocksBack":           {"America/New_York", day(2026, 11, 1), "2026-11-01T04:00:00Z", 25 * time.Hour},
		"MidnightIsNotShown":   {"America/Santiago", day(2024, 9, 8), "2024-09-08T04:00:00Z", 23 * time.Hour},
		"MidnightIsShownTwice": {"America/Havana", day(2024, 11, 3), "2024-11-03T04:00:00Z", 25 * time.Hour},
		"AnHourBeforeMidnight": {"America/Santiago", day(2024, 4, 6), "2024-04-06T03:00:00Z", 25 * time.Hour},
	} {
		from, to := DayBetween(c.day, zoneOf(t, c.zone))
		if got := from.UTC().Format(time.RFC3339); got != c.from || to.Sub(from) != c.long {
			t.Errorf("%s: DayBetween = %s for %s, want %s for %s", name, got, to.Sub(from), c.from, c.long)
		}
	}
}

// Days follow each other without a gap, in any zone.
func TestDayBetween_Follow(t *testing.T) {
	zones := []string{"UTC", "America/New_York", "America/Santiago", "America/Havana", "Australia/Lord_Howe", "Asia/Kolkata", "Africa/Casablanca"}
	rapid.Check(t, func(t *rapid.T) {
		zone, err := time.LoadLocation(rapid.SampledFrom(zones).Draw(t, "zone"))
		if err != nil {
			t.Fatal(err)
		}
		day := time.Date(2020, 1, 1+rapid.IntRange(0, 3000).Draw(t, "day"), 0, 0, 0, 0, time.UTC)
		from, to := DayBetween(day, zone)
		next, _ := DayBetween(day.AddDate(0, 0, 1), zone)
		if !to.Equal(next) || !Today(from.In(zone)).Equal(day) || !to.After(from) {
			t.Errorf("%s in %s is from %s to %s, and the next from %s", saidDay(day), zone, from, to, next)
		}
	})
}

// What lies on a day is cut at its ends; a clock that runs counts until now.
func TestWorked(t *testing.T) {
	at := func(hour int) time.Time { return time.Date(2026, 3, 2, hour, 0, 0, 0, time.UTC) }
	entries := []Entry{
		{Start: at(-2), End: at(1)}, {Start: at(8), End: at(10)}, {Start: at(10), End: at(11), Indirect: "cleaning"}, {Start: at(22)},
	}
	labour, indirect := Worked(entries, at(0), at(24), at(23))
	if labour != 4*time.Hour || indirect != time.Hour {
		t.Errorf("Worked = %s and %s, want 4 hours and 1", labour, indirect)
	}
	if labour, _ := Worked(entries, at(0), at(24), at(30)); labour != 5*time.Hour {
		t.Errorf("Worked on the day after = %s, want 5 hours until midnight", labour)
	}
	if labour, indirect := Worked(entries, at(24), at(48), at(23)); labour != 0 || indirect != 0 {
		t.Errorf("Worked tomorrow = %s and %s, want nothing", labour, indirect)
	}
}
