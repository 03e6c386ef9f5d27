package costing_test

import (
	"testing"
	"time"

	"tackfree/services/costing/internal/costing"
)

// A day of a zone is as long as its clock makes it: on 8 March 2026 New York's was put forward.
func TestPeriodOf(t *testing.T) {
	zone, err := time.LoadLocation("America/New_York")
	if err != nil {
		t.Fatal(err)
	}
	day := func(d int) time.Time { return time.Date(2026, 3, d, 0, 0, 0, 0, time.UTC) }
	for d, hours := range map[int]float64{7: 24, 8: 23, 9: 24} {
		p := costing.PeriodOf(day(d), day(d), zone)
		if p.To.Sub(p.From).Hours() != hours || p.From.In(zone).Format("2006-01-02 15:04") != day(d).Format("2006-01-02 15:04") {
			t.Errorf("%d March = %v, %v hours", d, p, p.To.Sub(p.From).Hours())
		}
		if of := costing.DayOf(p.To.Add(-1), zone); of != p {
			t.Errorf("its last instant is in %v", of)
		}
	}
	if p := costing.PeriodOf(time.Time{}, time.Time{}, zone); p != costing.Ever() {
		t.Errorf("of no days: %v", p)
	}
}

// Days are counted by the midnights that the shop saw.
func TestInHand_Days(t *testing.T) {
	zone, err := time.LoadLocation("America/New_York")
	if err != nil {
		t.Fatal(err)
	}
	at := func(text string) time.Time {
		instant, err := time.ParseInLocation("2006-01-02 15:04", text, zone)
		if err != nil {
			t.Fatal(err)
		}
		return instant
	}
	p := costing.InHand{LastWork: at("2026-03-07 23:59"), FinishedAt: at("2026-03-10 00:00")}
	p.CameAt = at("2026-03-01 12:00")
	now := at("2026-03-10 00:01")
	if here, idle, done := p.DaysHere(now, zone), p.DaysIdle(now, zone), p.DaysFinished(now, zone); here != 9 || idle != 3 || done != 0 {
		t.Errorf("here %d, idle %d, finished %d days; want 9, 3 and 0", here, idle, done)
	}
	p.LastWork = time.Time{}
	if idle := p.DaysIdle(now, zone); idle != 9 {
		t.Errorf("nobody worked on it, and it is idle for %d days", idle)
	}
	if (costing.InHand{}).DaysHere(now, zone) != 0 || p.DaysHere(at("2026-02-01 00:00"), zone) != 0 {
		t.Error("days below zero, or of a piece that nobody knows when it came")
	}
}
