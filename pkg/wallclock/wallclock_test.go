package wallclock_test

import (
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"tackfree/pkg/wallclock"
)

// change is a day on which clocks are moved, from the IANA time zone database:
// at an instant, by how much, and what the clock shows then and right after.
type change struct {
	zone         string
	at           string // UTC
	by           time.Duration
	shown, after string
}

// northamerica, rule US from 2007 on: second Sunday of March and first Sunday of November,
// 2:00 by the clock. australasia, rule LH from 2008 on: first Sundays of April and October,
// 2:00 by the clock, by half an hour.
var changes = []change{
	{"America/Chicago", "2026-03-08T08:00:00Z", time.Hour, "2026-03-08 02:00:00", "2026-03-08 03:00:00"},
	{"America/Chicago", "2026-11-01T07:00:00Z", -time.Hour, "2026-11-01 02:00:00", "2026-11-01 01:00:00"},
	{"Australia/Lord_Howe", "2026-10-03T15:30:00Z", 30 * time.Minute, "2026-10-04 02:00:00", "2026-10-04 02:30:00"},
	{"Australia/Lord_Howe", "2026-04-04T15:00:00Z", -30 * time.Minute, "2026-04-05 02:00:00", "2026-04-05 01:30:00"},
}

const form = "2006-01-02 15:04:05"

func zone(t testing.TB, name string) *time.Location {
	t.Helper()
	z, err := time.LoadLocation(name)
	if err != nil {
		t.Fatal(err)
	}
	return z
}

func instant(t testing.TB, text string) time.Time {
	t.Helper()
	at, err := time.Parse(time.RFC3339, text)
	if err != nil {
		t.Fatal(err)
	}
	return at
}

func TestRead_ByTheClock(t *testing.T) {
	for _, c := range []struct{ zone, text, want string }{
		{"America/Chicago", "2026-03-02 08:00", "2026-03-02T14:00:00Z"},
		{"America/Chicago", "2026-03-02T08:00", "2026-03-02T14:00:00Z"},
		{"America/Chicago", "2026-07-02 08:00:30", "2026-07-02T13:00:30Z"},
		{"America/Chicago", "2026-07-02 08:00:30 CDT", "2026-07-02T13:00:30Z"},
		{"America/Chicago", "2026-11-01 01:15:00 CDT", "2026-11-01T06:15:00Z"},
		{"America/Chicago", "2026-11-01 01:15:00 CST", "2026-11-01T07:15:00Z"},
		{"America/Chicago", "2026-11-01T01:15:00-05:00", "2026-11-01T06:15:00Z"},
		{"America/Chicago", "2026-11-01 01:15-06:00", "2026-11-01T07:15:00Z"},
		{"Australia/Lord_Howe", "2026-04-05 01:29:59", "2026-04-04T14:29:59Z"},
		{"Australia/Lord_Howe", "2026-04-05 01:45:00 +1030", "2026-04-04T15:15:00Z"},
		{"Australia/Lord_Howe", "2026-04-05 02:00", "2026-04-04T15:30:00Z"},
		{"UTC", "2026-03-08 02:30", "2026-03-08T02:30:00Z"},
		// A whole day that was on no calendar there stands before this one.
		{"Pacific/Apia", "2011-12-31 00:00", "2011-12-30T10:00:00Z"},
	} {
		got, err := wallclock.Read(c.text, zone(t, c.zone))
		if err != nil || !got.Equal(instant(t, c.want)) {
			t.Errorf("Read(%q, %s) = %v, %v, want %s", c.text, c.zone, got, err, c.want)
		}
	}
}

func TestRead_Refuses(t *testing.T) {
	for _, c := range []struct{ zone, text, want string }{
		{"America/Chicago", "noon", `"noon" is not a time such as`},
		{"America/Chicago", "2026-02-30 08:00", "is not a time such as"},
		{"America/Chicago", "2026-03-08 02:30", "as in 2026-03-08T03:30:00-05:00"},
		{"America/Chicago", "2026-11-01 01:15", "2026-11-01T01:15:00-05:00 or 2026-11-01T01:15:00-06:00"},
		{"America/Chicago", "2026-03-02 08:00:00 CDT", "its zone is another"},
		{"Australia/Lord_Howe", "2026-10-04 02:15", "as in 2026-10-04T02:45:00+11:00"},
		{"Australia/Lord_Howe", "2026-04-05 01:45", "2026-04-05T01:45:00+11:00 or 2026-04-05T01:45:00+10:30"},
		{"Pacific/Apia", "2011-12-30 12:00", "no clock in Pacific/Apia shows 2011-12-30 12:00"},
	} {
		got, err := wallclock.Read(c.text, zone(t, c.zone))
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("Read(%q, %s) = %v, %v, want an error that says %q", c.text, c.zone, got, err, c.want)
		}
	}
}

// What a clock shows is one instant, but for the minutes that a change skips or repeats.
func TestRead_RefusesJustWhatAChangeSkipsOrRepeats(t *testing.T) {
	for _, c := range changes {
		z, shown, after := zone(t, c.zone), wall(t, c.shown), wall(t, c.after)
		if got := instant(t, c.at).In(z).Format(form); got != c.after {
			t.Fatalf("at %s a clock in %s shows %s, want %s", c.at, c.zone, got, c.after)
		}
		first, last := shown, after // skipped
		if c.by < 0 {
			first, last = after, shown // repeated
		}
		rapid.Check(t, func(t *rapid.T) {
			w := shown.Add(time.Duration(rapid.IntRange(-7200, 7200).Draw(t, "seconds")) * time.Second)
			_, err := wallclock.Read(w.Format(form), z)
			odd := !w.Before(first) && w.Before(last)
			if odd != (err != nil) {
				t.Fatalf("Read(%s, %s) = %v", w.Format(form), c.zone, err)
			}
		})
	}
}

// What is written is read again as the same instant, for it names the zone of its day.
func TestWrite_IsReadAgain(t *testing.T) {
	for _, c := range changes {
		z, about := zone(t, c.zone), instant(t, c.at)
		rapid.Check(t, func(t *rapid.T) {
			at := about.Add(time.Duration(rapid.Int64Range(-200*86400, 200*86400).Draw(t, "seconds")) * time.Second)
			if rapid.Bool().Draw(t, "near") {
				at = about.Add(at.Sub(about) / 2400)
			}
			at = at.Truncate(time.Second)
			got, err := wallclock.Read(wallclock.Write(at, z), z)
			if err != nil || !got.Equal(at) {
				t.Fatalf("Read(Write(%s)) = %s, %v", at, got, err)
			}
			if got, err := wallclock.Read(at.In(z).Format(time.RFC3339), time.UTC); err != nil || !got.Equal(at) {
				t.Fatalf("Read of %s with its offset = %s, %v", at, got, err)
			}
		})
	}
}

func TestWrite(t *testing.T) {
	if got := wallclock.Write(instant(t, "2026-03-02T14:00:00Z"), zone(t, "America/Chicago")); got != "2026-03-02 08:00:00 CST" {
		t.Errorf("Write = %q", got)
	}
}

func wall(t testing.TB, text string) time.Time {
	t.Helper()
	w, err := time.Parse(form, text)
	if err != nil {
		t.Fatal(err)
	}
	return w
}
