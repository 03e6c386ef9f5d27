package ledger_test

import (
	"testing"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/ledger"
	"tackfree/pkg/money"
)

// The sign maker, OpenStax, Principles of Accounting, Volume 2: Managerial Accounting, chapter 4 (CC
// BY-NC-SA 4.0): overhead of 250,000 a year by 100,000 dollars of labour is 2.50 a dollar; an hour at
// 1.00 is a dollar here. The winch maker's 33.50 for 6,240 hours are 209,040 and give 33.50 back. The
// rest is by hand: a third goes to the nearest cent, a half to the even one.
func TestSuggestOverheadRate(t *testing.T) {
	for _, c := range []struct {
		yearly money.Amount
		hours  time.Duration
		want   money.Amount
	}{
		{250_000_00, 100_000 * time.Hour, 2_50},
		{209_040_00, 6_240 * time.Hour, 33_50},
		{100, 3 * time.Hour, 33},
		{200, 3 * time.Hour, 67},
		{1, 2 * time.Hour, 0},
		{3, 2 * time.Hour, 2},
		{0, time.Hour, 0},
	} {
		if got, err := ledger.SuggestOverheadRate(c.yearly, c.hours); got != c.want || err != nil {
			t.Errorf("SuggestOverheadRate(%d, %s) = %d, %v, want %d", c.yearly, c.hours, got, err, c.want)
		}
	}
	if _, err := ledger.SuggestOverheadRate(1_00, 0); !fault.Is(err, "HOURS_MISSING") {
		t.Errorf("without hours: %v", err)
	}
	if _, err := ledger.SuggestOverheadRate(-1, time.Hour); !fault.Is(err, "AMOUNT_NEGATIVE") {
		t.Errorf("below zero: %v", err)
	}
}
