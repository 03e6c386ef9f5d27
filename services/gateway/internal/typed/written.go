package typed

import (
	"fmt"
	"strconv"
	"strings"
	"tackfree/pkg/money"
	"tackfree/pkg/wire"
	"time"

	moneyv1 "google.golang.org/genproto/googleapis/type/money"

	"google.golang.org/genproto/googleapis/type/date"
	"google.golang.org/genproto/googleapis/type/timeofday"
)

// Day writes a day as browsers take it into a form; empty: there is none.
func Day(d *date.Date) string {
	if d == nil {
		return ""
	}
	return fmt.Sprintf("%04d-%02d-%02d", d.Year, d.Month, d.Day)
}

// Time writes a time of day as browsers take it; empty: there is none.
func Time(t *timeofday.TimeOfDay) string {
	if t == nil {
		return ""
	}
	return fmt.Sprintf("%02d:%02d", t.Hours, t.Minutes)
}

// Number writes a number with a point; empty: there is none.
func Number(v *float64) string {
	if v == nil {
		return ""
	}
	return strconv.FormatFloat(*v, 'f', -1, 64)
}

// Whole writes a number that is empty where it is 0.
func Whole(v int32) string {
	if v == 0 {
		return ""
	}
	return strconv.FormatInt(int64(v), 10)
}

// WholeSaid writes a number, 0 too; empty: there is none.
func WholeSaid(v *int32) string {
	if v == nil {
		return ""
	}
	return strconv.FormatInt(int64(*v), 10)
}

// Noon is the middle of a day by the clock of a zone, to be written as a day; zero: there is none.
func Noon(d *date.Date, zone *time.Location) time.Time {
	if d == nil {
		return time.Time{}
	}
	return time.Date(int(d.Year), time.Month(d.Month), int(d.Day), 12, 0, 0, 0, zone)
}

// Money writes an amount as a form takes it: without cents where there are none; empty: there is none.
func Money(m *moneyv1.Money, c money.Currency) string {
	amount, whole := wire.FromMoney(m, c.Digits)
	if m == nil || !whole {
		return ""
	}
	text := c.Format(amount)
	if m.Nanos == 0 {
		text, _, _ = strings.Cut(text, ".")
	}
	return text
}
