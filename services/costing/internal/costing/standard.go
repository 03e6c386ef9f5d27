package costing

import (
	"math/big"
	"slices"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/money"
)

// StandardRate is what an hour of hands should cost, from a day on. It prices nothing that was
// worked: work is measured by it.
type StandardRate struct {
	ID         id.ID
	Day        time.Time // the first calendar day it holds
	From       time.Time // that day's beginning in the shop's zone
	PerHour    money.Amount
	Actor      string
	RecordedAt time.Time
}

// Admit refuses a rate of nothing, and one that begins on the day of another, unless it takes that one's place.
// Faults: AMOUNT_NOT_POSITIVE, STANDARD_RATE_OVERLAPS.
func (r StandardRate) Admit(known []StandardRate, replaces bool, c money.Currency) error {
	if r.PerHour == 0 {
		return fault.New(fault.Invalid, "AMOUNT_NOT_POSITIVE", "By an hour that should cost nothing, no work can be measured; the amount must be above zero.").At("per_hour")
	}
	for _, k := range slices.Backward(known) {
		if k.Day.Equal(r.Day) && !replaces {
			return fault.New(fault.Exists, "STANDARD_RATE_OVERLAPS", "An hour should cost %s from %s on already. Say that the new rate replaces it (replaces, or --replace), or give another day.", c.Format(k.PerHour), k.Day.Format(time.DateOnly)).
				At("effective_date")
		}
	}
	return nil
}

// Yardstick is what an hour should cost at any time.
type Yardstick struct {
	steps   []step
	average *money.Amount // before the first of them; nil: there is none
}

// NewYardstick makes it of what the owner said, in the order in which they said it, and of what hours
// cost on average: that holds where the owner had said nothing yet.
func NewYardstick(said []StandardRate, average *money.Amount) Yardstick {
	return Yardstick{steps(said, func(r StandardRate) step { return step{from: r.From, value: int64(r.PerHour)} }), average}
}

// At is what an hour should cost at an instant; false: nobody can tell.
func (s Yardstick) At(at time.Time) (money.Amount, bool) {
	if len(s.steps) > 0 && !s.steps[0].from.After(at) {
		return money.Amount(valueAt(s.steps, at)), true
	}
	if s.average == nil {
		return 0, false
	}
	return *s.average, true
}

// RatedHours is what an hour of somebody costs, and how many they worked.
type RatedHours struct {
	Person  id.ID
	PerHour money.Amount
	Time    time.Duration
}

// AverageRate is what an hour costs on average, by the hours, rounded once; nil: of no hours.
func AverageRate(of []RatedHours) *money.Amount {
	paid, all := new(big.Int), new(big.Int)
	for _, r := range of {
		hours := big.NewInt(r.Time.Milliseconds())
		all.Add(all, hours)
		paid.Add(paid, hours.Mul(hours, big.NewInt(int64(r.PerHour))))
	}
	if all.Sign() == 0 {
		return nil
	}
	average := money.Round(new(big.Rat).SetFrac(paid, all))
	return &average
}
