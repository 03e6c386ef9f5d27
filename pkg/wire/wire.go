// Package wire turns messages into trade values and back, and refuses what no shop
// could mean: another currency, an instant in the future, an amount without end.
// Plumbing.
package wire

import (
	"time"

	"github.com/shopspring/decimal"
	"google.golang.org/genproto/googleapis/type/date"
	"google.golang.org/genproto/googleapis/type/money"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	moneypkg "tackfree/pkg/money"
	"tackfree/pkg/quantity"
	typev1 "tackfree/proto/tackfree/type/v1"
)

// Shop is what the border must know of the shop it stands at.
type Shop struct {
	Currency moneypkg.Currency
	Zone     *time.Location // for days; instants are UTC
	Now      func() time.Time
}

// skew is how far ahead of ours a caller's clock may be.
const skew = 2 * time.Minute

// Oldest is the oldest instant that is taken in.
var Oldest = time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)

// Instant reads an optional instant: now when absent, in UTC and whole milliseconds, for
// labour is counted in them. Faults: TIME_IN_FUTURE, TIME_TOO_OLD, TIME_MALFORMED.
func (s Shop) Instant(field string, ts *timestamppb.Timestamp) (time.Time, error) {
	now := s.Now().UTC()
	if ts == nil {
		return now.Truncate(time.Millisecond), nil
	}
	if err := ts.CheckValid(); err != nil {
		return time.Time{}, fault.New(fault.Invalid, "TIME_MALFORMED", "%s is not an instant.", fault.The(field)).At(field).Because(err)
	}
	t := ts.AsTime().UTC().Truncate(time.Millisecond)
	switch {
	case t.After(now.Add(skew)):
		return t, fault.New(fault.Invalid, "TIME_IN_FUTURE",
			"%s is %s, which has not come yet; check the clock.", fault.The(field), t.In(s.Zone).Format("2006-01-02 15:04 MST")).At(field)
	case t.Before(Oldest):
		return t, fault.New(fault.Invalid, "TIME_TOO_OLD", "%s is before the year 2000; check the date.", fault.The(field)).At(field)
	}
	return t, nil
}

// Money reads an amount of the shop's currency that is zero or more; absent is zero.
// Faults: CURRENCY_NOT_THE_SHOPS, AMOUNT_MALFORMED, AMOUNT_NEGATIVE.
func (s Shop) Money(field string, m *money.Money) (moneypkg.Amount, error) {
	if m == nil {
		return 0, nil
	}
	if m.CurrencyCode != s.Currency.Code {
		return 0, fault.New(fault.Invalid, "CURRENCY_NOT_THE_SHOPS",
			"%s is in %q, but this shop keeps its books in %s.", fault.The(field), m.CurrencyCode, s.Currency.Code).
			At(field).With("currency", s.Currency.Code)
	}
	a, ok := FromMoney(m, s.Currency.Digits)
	switch {
	case !ok:
		return 0, fault.New(fault.Invalid, "AMOUNT_MALFORMED",
			"%s is not a whole number of the smallest unit of %s, or too large.", fault.The(field), s.Currency.Code).At(field)
	case a < 0:
		return 0, fault.New(fault.Invalid, "AMOUNT_NEGATIVE", "%s must not be below zero.", fault.The(field)).At(field)
	}
	return a, nil
}

// FromMoney reads minor units of a currency with that many digits; false when there are
// fractions of one, mixed signs, or more than money.Max.
func FromMoney(m *money.Money, digits int) (moneypkg.Amount, bool) {
	perUnit, nanoPer := int64(1), int64(1_000_000_000)
	for range digits {
		perUnit, nanoPer = perUnit*10, nanoPer/10
	}
	units, nanos := m.GetUnits(), int64(m.GetNanos())
	most := int64(moneypkg.Max) / perUnit
	mixed := (units > 0 && nanos < 0) || (units < 0 && nanos > 0)
	if mixed || nanos%nanoPer != 0 || nanos <= -1_000_000_000 || nanos >= 1_000_000_000 || units > most || units < -most {
		return 0, false
	}
	a := moneypkg.Amount(units*perUnit + nanos/nanoPer)
	return a, -moneypkg.Max <= a && a <= moneypkg.Max
}

// ToMoney writes an amount of the shop's currency.
func (s Shop) ToMoney(a moneypkg.Amount) *money.Money {
	perUnit, nanoPer := int64(1), int64(1_000_000_000)
	for range s.Currency.Digits {
		perUnit, nanoPer = perUnit*10, nanoPer/10
	}
	return &money.Money{CurrencyCode: s.Currency.Code, Units: int64(a) / perUnit, Nanos: int32(int64(a) % perUnit * nanoPer)}
}

// Amount reads a quantity above zero. Faults: QUANTITY_MISSING, QUANTITY_NOT_POSITIVE and
// those of quantity.Parse.
func Amount(field string, q *typev1.Quantity) (quantity.Quantity, error) {
	if q == nil {
		return quantity.Quantity{}, fault.New(fault.Invalid, "QUANTITY_MISSING", "%s is missing.", fault.The(field)).At(field)
	}
	out, err := quantity.Parse(q.Value, q.Unit)
	if f := fault.Of(err); f != nil {
		return out, f.At(field)
	}
	if !out.Positive() {
		return out, fault.New(fault.Invalid, "QUANTITY_NOT_POSITIVE", "%s must be above zero, not %s.", fault.The(field), out).At(field)
	}
	return out, nil
}

// ToQuantity writes an amount of a unit.
func ToQuantity(value decimal.Decimal, unit string) *typev1.Quantity {
	return &typev1.Quantity{Value: value.String(), Unit: unit}
}

// Day reads a calendar day; absent is the zero time. A day that no calendar has is a
// fault DATE_MALFORMED.
func Day(field string, d *date.Date) (time.Time, error) {
	if d == nil {
		return time.Time{}, nil
	}
	t := time.Date(int(d.Year), time.Month(d.Month), int(d.Day), 0, 0, 0, 0, time.UTC)
	if t.Year() != int(d.Year) || t.Month() != time.Month(d.Month) || t.Day() != int(d.Day) || d.Year < 1900 || d.Year > 9999 {
		return time.Time{}, fault.New(fault.Invalid, "DATE_MALFORMED", "%s is not a day of the calendar.", fault.The(field)).At(field)
	}
	return t, nil
}

// ToDay writes the calendar day of t, in t's own zone.
func ToDay(t time.Time) *date.Date {
	return &date.Date{Year: int32(t.Year()), Month: int32(t.Month()), Day: int32(t.Day())}
}

// ToInstant writes an instant; the zero time is absent.
func ToInstant(t time.Time) *timestamppb.Timestamp {
	if t.IsZero() {
		return nil
	}
	return timestamppb.New(t)
}
