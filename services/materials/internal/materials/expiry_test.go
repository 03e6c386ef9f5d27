package materials_test

import (
	"strings"
	"testing"
	"time"

	"github.com/shopspring/decimal"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/services/materials/internal/materials"
)

// Two weeks are common practice.
func TestExpiryHorizon(t *testing.T) {
	if got := materials.ExpiryHorizon(oilDay); !got.Equal(oilDay.AddDate(0, 0, 14)) {
		t.Errorf("ExpiryHorizon = %v, want two weeks on", got)
	}
}

func TestExpiringLot_Alert(t *testing.T) {
	zone := denver(t)
	expires := time.Date(2026, 3, 10, 5, 0, 0, 0, time.UTC) // the 9th in Denver, by daylight time
	l := materials.ExpiringLot{Product: id.New(), ProductName: "Catalysed lacquer", Lot: id.New(), Left: decimal.RequireFromString("1.2500000009"), Unit: "L", ExpiresAt: expires}
	before, at := l.Alert(expires.Add(-time.Millisecond), zone), l.Alert(expires, zone)
	if l.Expired(expires.Add(-time.Millisecond)) || !l.Expired(expires) {
		t.Error("a lot expires at the instant that it says")
	}
	if !strings.Contains(before.Text, "1.25 L of Catalysed lacquer may be used up to and on Mon 9 Mar 2026") || !strings.Contains(at.Text, "Mon 9 Mar 2026 was the last day") {
		t.Errorf("texts = %q and %q", before.Text, at.Text)
	}
	if before.Key != at.Key || before.Kind != at.Kind || !before.Due.Equal(expires) || before.Product != l.Product {
		t.Errorf("alerts = %+v and %+v, want one and the same, due when it expires", before, at)
	}
	if !strings.Contains(at.Text, "hazardous waste") || !strings.Contains(at.Text, "local rules") {
		t.Errorf("text = %q, want it to defer to local rules", at.Text)
	}
}

// Printed on the can is 9 March; it is too old when that is over, at midnight in Denver.
func TestExpiringLot_LastDay(t *testing.T) {
	zone := denver(t)
	l := materials.ExpiringLot{ExpiresAt: time.Date(2026, 3, 10, 0, 0, 0, 0, zone)}
	if got := l.LastDay(zone); !got.Equal(time.Date(2026, 3, 9, 0, 0, 0, 0, time.UTC)) {
		t.Errorf("LastDay = %v, want 9 March", got)
	}
	if text := l.Alert(time.Date(2026, 3, 1, 9, 0, 0, 0, zone), zone).Text; !strings.Contains(text, "Mon 9 Mar 2026") {
		t.Errorf("text = %q, want 9 March", text)
	}
}

func TestPeriod_Check(t *testing.T) {
	if err := (materials.Period{From: oilDay.Add(1), To: oilDay}).Check(); !fault.Is(err, "FROM_AFTER_TO") {
		t.Errorf("Check = %v, want FROM_AFTER_TO", err)
	}
	for _, p := range []materials.Period{{}, {From: oilDay}, {To: oilDay}, {From: oilDay, To: oilDay}} {
		if err := p.Check(); err != nil {
			t.Errorf("Check(%v) = %v", p, err)
		}
	}
}

func TestStoragePlace_Check(t *testing.T) {
	for _, bad := range []string{"", "Yellow", "a b", "-a", "a--b", strings.Repeat("a", 61), "päint"} {
		if err := (materials.StoragePlace{Word: bad}).Check(); !fault.Is(err, "PLACE_NAME_MALFORMED") {
			t.Errorf("Check(%q) = %v, want PLACE_NAME_MALFORMED", bad, err)
		}
	}
	if err := (materials.StoragePlace{Word: "shelf-2"}).Check(); err != nil {
		t.Error(err)
	}
	if err := (materials.StoragePlace{Retired: true}).TakesIn(); !fault.Is(err, "PLACE_RETIRED") {
		t.Errorf("TakesIn = %v, want PLACE_RETIRED", err)
	}
}
