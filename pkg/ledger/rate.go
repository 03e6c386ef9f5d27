package ledger

import (
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/money"
)

// SuggestOverheadRate is what an hour should carry of a year's overhead so that all hours of the year
// carry all of it: the predetermined overhead rate, estimated overhead by estimated activity (OpenStax,
// Principles of Accounting, Volume 2, chapter 4), rounded once to the minor unit. Hours are those
// that pieces are expected to take, of labour or of machines. Faults: HOURS_MISSING, AMOUNT_NEGATIVE.
func SuggestOverheadRate(yearly money.Amount, hours time.Duration) (money.Amount, error) {
	switch {
	case hours < time.Hour:
		return 0, fault.New(fault.Invalid, "HOURS_MISSING", "Say how many hours the pieces of a year take, of labour or of machines; without any there is no rate.").At("hours")
	case yearly < 0:
		return 0, fault.New(fault.Invalid, "AMOUNT_NEGATIVE", "The overhead of a year must not be below zero.").At("overhead")
	}
	return money.MulDiv(yearly, time.Hour.Milliseconds(), hours.Milliseconds()), nil
}
