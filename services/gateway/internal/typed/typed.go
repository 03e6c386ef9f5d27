// Package typed reads what people type into forms: amounts with the comma or the point of their language,
// money of the shop, days and times of day as browsers send them.
//
//	form ─▶ Form.Quantity, Money, Day … ─▶ messages ─▶ the services, which judge them
//
// Only what cannot be read at all is refused here, the first such field in a sentence; what it may be the
// services decide.
package typed

import (
	"net/url"
	"strconv"
	"strings"
	"time"

	"google.golang.org/genproto/googleapis/type/date"
	moneyv1 "google.golang.org/genproto/googleapis/type/money"
	"google.golang.org/genproto/googleapis/type/timeofday"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	"tackfree/pkg/quantity"
	"tackfree/pkg/wallclock"
	"tackfree/pkg/wire"
	typev1 "tackfree/proto/tackfree/type/v1"
	"tackfree/services/gateway/internal/words"
)

// Form is what somebody typed, and what of it could not be read.
type Form struct {
	Values url.Values
	Voice  *words.Voice
	fault  *fault.Fault
}

// Err is the first field that could not be read; nil: all could. Faults: NUMBER_UNREADABLE, DAY_UNREADABLE,
// TIME_UNREADABLE, AMOUNT_MALFORMED.
func (f *Form) Err() error {
	if f.fault == nil {
		return nil
	}
	return f.fault
}

// Refuse notes a text that cannot be read, with the key of a sentence and what it quotes; the first one counts.
func (f *Form) Refuse(reason, key string, quoted ...any) {
	if f.fault == nil {
		f.fault = fault.New(fault.Invalid, reason, "%s", f.Voice.T(key, quoted...))
	}
}

// Take keeps what of another form, such as a row of this one, could not be read; the first one counts.
func (f *Form) Take(row *Form) {
	if f.fault == nil {
		f.fault = row.fault
	}
}

// Text is a field without the blanks around it.
func (f *Form) Text(field string) string { return strings.TrimSpace(f.Values.Get(field)) }

// Quantity reads an amount and its unit; nil: nothing was typed. The amount may be one as it is read off a rule: 18 1/2, 18½.
func (f *Form) Quantity(field, unit string) *typev1.Quantity {
	text := f.Text(field)
	if text == "" {
		return nil
	}
	value := f.plain(quantity.Decimal(text), -1)
	if _, err := strconv.ParseFloat(value, 64); err != nil {
		f.Refuse("NUMBER_UNREADABLE", "typed.number", text)
		return nil
	}
	return &typev1.Quantity{Value: value, Unit: f.Text(unit)}
}

// Money reads an amount of the shop's currency; nil: nothing was typed.
func (f *Form) Money(field string) *moneyv1.Money {
	text := f.Text(field)
	if text == "" {
		return nil
	}
	amount, err := f.Voice.Currency.Parse(f.plain(text, f.Voice.Currency.Digits))
	if err != nil {
		f.Refuse(fault.Reason(err), "typed.money", text)
		return nil
	}
	return wire.Shop{Currency: f.Voice.Currency}.ToMoney(amount)
}

// Number reads a number; nil: nothing was typed.
func (f *Form) Number(field string) *float64 {
	text := f.Text(field)
	if text == "" {
		return nil
	}
	v, err := strconv.ParseFloat(f.plain(quantity.Decimal(text), -1), 64)
	if err != nil {
		f.Refuse("NUMBER_UNREADABLE", "typed.number", text)
		return nil
	}
	return &v
}

// Whole reads a whole number; 0: nothing was typed.
func (f *Form) Whole(field string) int32 {
	text := f.Text(field)
	if text == "" {
		return 0
	}
	v, err := strconv.ParseInt(text, 10, 32)
	if err != nil {
		f.Refuse("NUMBER_UNREADABLE", "typed.whole", text)
	}
	return int32(v)
}

// WholeSaid is Whole where nothing is something else than 0; nil: nothing was typed.
func (f *Form) WholeSaid(field string) *int32 {
	if f.Text(field) == "" {
		return nil
	}
	v := f.Whole(field)
	return &v
}

// Day reads a day as browsers send it, 2026-03-18; nil: nothing was typed.
func (f *Form) Day(field string) *date.Date { return f.ADay(f.Text(field)) }

// ADay is Day of a text.
func (f *Form) ADay(text string) *date.Date {
	if text == "" {
		return nil
	}
	day, err := time.Parse(time.DateOnly, text)
	if err != nil {
		f.Refuse("DAY_UNREADABLE", "typed.day", text)
		return nil
	}
	return wire.ToDay(day)
}

// Instant reads a day and a time by the clock on the shop's wall, as browsers send them in one field; nil: nothing was typed.
func (f *Form) Instant(field string) *timestamppb.Timestamp { return f.AnInstant(f.Text(field)) }

// AnInstant is Instant of a text. A time that the clock never shows, or twice, is refused.
func (f *Form) AnInstant(text string) *timestamppb.Timestamp {
	if text == "" {
		return nil
	}
	at, err := wallclock.Read(text, f.Voice.Zone)
	if err != nil {
		f.Refuse("TIME_UNREADABLE", "typed.instant", text)
		return nil
	}
	return timestamppb.New(at)
}

// ATime reads a time of day, 17:30; nil: nothing was typed.
func (f *Form) ATime(text string) *timeofday.TimeOfDay {
	if text == "" {
		return nil
	}
	at, err := time.Parse("15:04", text)
	if err != nil {
		f.Refuse("TIME_UNREADABLE", "typed.time", text)
		return nil
	}
	return &timeofday.TimeOfDay{Hours: int32(at.Hour()), Minutes: int32(at.Minute())}
}
