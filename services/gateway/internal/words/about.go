package words

import (
	"math"
	"strconv"
	"strings"
	"time"

	moneyv1 "google.golang.org/genproto/googleapis/type/money"

	"tackfree/pkg/money"
	"tackfree/pkg/wire"
)

// SoldIn writes in how many days something was sold.
func (v *Voice) SoldIn(days int32) string { return v.N("buying.in.days", int(days)) }

// Minor is an amount in the minor units of the shop's currency; 0: there is none.
func (v *Voice) Minor(m *moneyv1.Money) int64 {
	a, _ := wire.FromMoney(m, v.Currency.Digits)
	return int64(a)
}

// About writes an amount of a forecast to the whole unit of the currency, the nearest: nobody knows its cents.
func (v *Voice) About(m *moneyv1.Money) string {
	return v.whole(m, func(a money.Amount, unit int64) money.Amount { return money.MulDiv(a, 1, unit) })
}

// AtMost is About rounded down, so that what is said is never above what is meant.
func (v *Voice) AtMost(m *moneyv1.Money) string {
	return v.whole(m, func(a money.Amount, unit int64) money.Amount { return floor(a, unit) })
}

// AtLeast is About rounded up.
func (v *Voice) AtLeast(m *moneyv1.Money) string {
	return v.whole(m, func(a money.Amount, unit int64) money.Amount { return -floor(-a, unit) })
}

func floor(a money.Amount, unit int64) money.Amount {
	q := a / money.Amount(unit)
	if q*money.Amount(unit) > a {
		q--
	}
	return q
}

func (v *Voice) whole(m *moneyv1.Money, round func(money.Amount, int64) money.Amount) string {
	a, ok := wire.FromMoney(m, v.Currency.Digits)
	if m == nil || !ok {
		return v.T("none")
	}
	unit := int64(1)
	for range v.Currency.Digits {
		unit *= 10
	}
	coarse := *v
	coarse.Currency.Digits = 0
	return coarse.Amount(round(a, unit))
}

// HoursAbout writes hours of a forecast as 7:20, to the five minutes.
func (v *Voice) HoursAbout(hours float64) string {
	return v.HoursOf(time.Duration(math.Round(hours*12)) * 5 * time.Minute)
}

// HoursAtMost writes a bound that hours are to stay within, to the five minutes, and never more than it is: a
// second is for what is lost in reckoning.
func (v *Voice) HoursAtMost(hours float64) string {
	return v.HoursOf(time.Duration(math.Floor(hours*12+1.0/300)) * 5 * time.Minute)
}

// Percent writes a share of 0 to 1 as a percentage. What is neither none nor all is not written so.
func (v *Voice) Percent(share float64) string {
	n := math.Round(share * 100)
	if share > 0 {
		n = max(n, 1)
	}
	if share < 1 {
		n = min(n, 99)
	}
	return strconv.FormatFloat(n, 'f', 0, 64) + " %"
}

// Chance writes how likely something is, 0 to 1, as Percent does; but nothing is so sure that it is all.
func (v *Voice) Chance(share float64) string {
	if share > 0.995 {
		return v.T("chance.over")
	}
	return v.Percent(share)
}

// Decimal writes a number with so many digits after the point.
func (v *Voice) Decimal(f float64, digits int) string {
	whole, fraction, has := strings.Cut(strconv.FormatFloat(math.Abs(f), 'f', digits, 64), ".")
	out := v.grouped(whole)
	if has {
		out += v.T("decimal.point") + fraction
	}
	if f < 0 {
		return "−" + out
	}
	return out
}
