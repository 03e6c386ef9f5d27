package materials_test

import (
	"strings"
	"testing"
	"time"

	"tackfree/services/materials/internal/materials"
)

// One alert for all that is open, in stronger words once a night has come over the rags.
func TestOilyAlert(t *testing.T) {
	zone := denver(t)
	work := []materials.OilyWork{oiled("stain_coat", time.Date(2026, 3, 2, 10, 0, 0, 0, zone), time.Time{}), oiled("wipe_off", time.Date(2026, 3, 2, 11, 0, 0, 0, zone), time.Time{})}
	days := []materials.OilyDay{{Day: oilDay, Work: work}}
	if got := materials.OilyAlert(nil, oilDay, zone); got != nil {
		t.Errorf("nothing is open = %v, want no alert", got)
	}
	before := materials.OilyAlert(days, time.Date(2026, 3, 2, 17, 59, 0, 0, zone), zone)
	if len(before) != 1 || !strings.HasPrefix(before[0].Text, "Oily rags and waste of Mon 2 Mar 2026 (stain_coat, wipe_off) are to be put away by 18:00") {
		t.Errorf("before it is due = %+v", before)
	}
	for _, at := range []time.Time{time.Date(2026, 3, 2, 18, 0, 0, 0, zone), time.Date(2026, 3, 2, 23, 59, 0, 0, zone)} {
		if due := materials.OilyAlert(days, at, zone); len(due) != 1 || !strings.HasPrefix(due[0].Text, "NOW DUE") || !strings.Contains(due[0].Text, "by 18:00") {
			t.Errorf("at %v = %+v, want it said to be due", at, due)
		}
	}
	night := materials.OilyAlert(days, time.Date(2026, 3, 3, 0, 0, 0, 0, zone), zone)
	if len(night) != 1 || !strings.HasPrefix(night[0].Text, "URGENT") || night[0].Key != before[0].Key || !night[0].Due.Equal(before[0].Due) {
		t.Errorf("after midnight = %+v, want the same alert in stronger words", night)
	}
	both := materials.OilyAlert(append(days, materials.OilyDay{Day: oilDay.AddDate(0, 0, 1), Work: work}), time.Date(2026, 3, 3, 12, 0, 0, 0, zone), zone)
	if len(both) != 1 || !strings.Contains(both[0].Text, "Mon 2 Mar 2026") {
		t.Errorf("of two days = %+v, want one, of the first", both)
	}
}

// After a late shift, until two in the morning, a night has passed in the morning and not at
// midnight, when the work is going on.
func TestOilyAlert_LateShift(t *testing.T) {
	zone := denver(t)
	until := time.Date(2026, 3, 3, 2, 0, 0, 0, zone)
	days := []materials.OilyDay{{Day: oilDay, Work: []materials.OilyWork{oiled("oil_coat", time.Date(2026, 3, 2, 23, 0, 0, 0, zone), until)}}}
	for at, want := range map[time.Time]string{
		until.Add(-time.Hour): "Oily rags", until: "NOW DUE", until.Add(5 * time.Hour): "NOW DUE", until.Add(6 * time.Hour): "URGENT",
	} {
		if got := materials.OilyAlert(days, at, zone); !strings.HasPrefix(got[0].Text, want) || !got[0].Due.Equal(until) {
			t.Errorf("at %v = %q, due %v, want %s", at, got[0].Text, got[0].Due, want)
		}
	}
}

// Rosa works on Mondays from nine to five, and on Tuesdays from six in the evening to two.
func TestShiftEnd(t *testing.T) {
	zone := denver(t)
	week := map[time.Weekday]materials.ShiftHours{
		time.Monday: {Start: 9 * time.Hour, End: 17*time.Hour + 30*time.Minute}, time.Tuesday: {Start: 18 * time.Hour, End: 2 * time.Hour}}
	clock := func(day, hour, minute int) time.Time { return time.Date(2026, 3, day, hour, minute, 0, 0, zone) }
	for name, c := range map[string]struct{ at, want time.Time }{
		"in the day":              {clock(2, 15, 0), clock(2, 17, 30)},
		"before it":               {clock(2, 8, 0), clock(2, 17, 30)},
		"after it":                {clock(2, 19, 0), clock(2, 17, 30)},
		"in the late shift":       {clock(3, 19, 0), clock(4, 2, 0)},
		"past midnight":           {clock(4, 1, 0), clock(4, 2, 0)},
		"when that is over":       {clock(4, 2, 0), clock(4, 2, 0)},
		"after that":              {clock(4, 2, 40), clock(4, 2, 0)},
		"on a day without a word": {clock(5, 10, 0), time.Time{}},
	} {
		if got := materials.ShiftEnd(c.at, week, zone); !got.Equal(c.want) {
			t.Errorf("%s: ShiftEnd = %v, want %v", name, got.In(zone), c.want)
		}
	}
	if got := materials.ShiftEnd(clock(2, 15, 0), nil, zone); !got.IsZero() {
		t.Errorf("of nobody known = %v, want none", got)
	}
}
