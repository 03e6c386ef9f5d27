package costing

import (
	"cmp"
	"slices"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/money"
)

// Rate is what an hour of a person costs from an instant on.
type Rate struct {
	ID         id.ID
	Person     id.ID
	Day        time.Time // the first calendar day it holds
	From       time.Time // that day's beginning in the shop's zone
	PerHour    money.Amount
	Actor      string
	RecordedAt time.Time
}

// Rates are the rates of some people, in the order they were recorded.
type Rates map[id.ID][]Rate

// NewRates sorts rates by person and by when they were recorded.
func NewRates(list []Rate) Rates {
	r := Rates{}
	for _, rate := range list {
		r[rate.Person] = append(r[rate.Person], rate)
	}
	for _, of := range r {
		slices.SortFunc(of, func(a, b Rate) int {
			return cmp.Or(a.RecordedAt.Compare(b.RecordedAt), slices.Compare(a.ID[:], b.ID[:]))
		})
	}
	return r
}

const millisPerHour = int64(time.Hour / time.Millisecond)

// ForTime is an amount per hour for a length of time in whole milliseconds, rounded once.
func ForTime(perHour money.Amount, d time.Duration) money.Amount {
	return money.MulDiv(perHour, d.Milliseconds(), millisPerHour)
}

// The most whole units of a currency that an hour may be said to cost: a guard against a slip of the decimal
// point, far beyond any wage (common practice).
const (
	mostPerHour      = 10_000
	mostSmallPerHour = 10_000_000 // of currencies in which wages run to hundred thousands an hour
)

// bigUnits are currencies of which ten thousand are far more than an hour of anybody's. From memory; so all
// others count as small.
var bigUnits = []string{"AUD", "BHD", "BRL", "CAD", "CHF", "CNY", "CZK", "DKK", "EUR", "GBP", "HKD", "ILS", "JOD", "KWD", "MXN", "NOK",
	"NZD", "OMR", "PLN", "SEK", "SGD", "USD", "ZAR"}

// CheckPerHour refuses what an hour cannot be meant to cost. Fault: RATE_ABSURD.
func CheckPerHour(perHour money.Amount, c money.Currency) error {
	most := money.Amount(mostSmallPerHour)
	if slices.Contains(bigUnits, c.Code) {
		most = mostPerHour
	}
	for range c.Digits {
		most *= 10
	}
	if perHour <= most {
		return nil
	}
	return fault.New(fault.Invalid, "RATE_ABSURD", "%s %s an hour is more than the books take for one, which is %s; check the decimal point, and that it is for an hour.",
		c.Format(perHour), c.Code, c.Format(most)).At("per_hour").With("most", c.Format(most))
}
