package commissioned

import (
	"strings"
	"time"

	"google.golang.org/genproto/googleapis/type/date"
	moneyv1 "google.golang.org/genproto/googleapis/type/money"

	"tackfree/pkg/money"
	"tackfree/pkg/wire"
)

// amount writes money in figures alone, for the letter says its currency once.
func (o Order) amount(m *moneyv1.Money) string { return o.minor(o.minorOf(m)) }

// minorOf is money in the smallest unit; 0: there is none.
func (o Order) minorOf(m *moneyv1.Money) money.Amount {
	a, _ := wire.FromMoney(m, o.Currency.Digits)
	return a
}

func (o Order) minor(a money.Amount) string {
	sign := ""
	if a < 0 {
		sign, a = "−", -a
	}
	return sign + o.decimal(o.Currency.Format(a))
}

// decimal writes an exact decimal of zero or more, such as 1234.5, as the language does: 1,234.5 or 1.234,5.
func (o Order) decimal(text string) string {
	whole, fraction, has := strings.Cut(text, ".")
	var b strings.Builder
	for i, r := range whole {
		if i > 0 && (len(whole)-i)%3 == 0 {
			b.WriteString(o.t("group"))
		}
		b.WriteRune(r)
	}
	if has {
		b.WriteString(o.t("point") + fraction)
	}
	return b.String()
}

// dayOf writes the day of an instant in the shop.
func (o Order) dayOf(at time.Time) string {
	local := at.In(o.Zone)
	return o.t("day", local.Day(), o.t("month."+local.Format("01")), local.Year())
}

// day writes a day; empty: there is none.
func (o Order) day(d *date.Date) string {
	if d == nil {
		return ""
	}
	return o.dayOf(time.Date(int(d.Year), time.Month(d.Month), int(d.Day), 12, 0, 0, 0, o.Zone))
}
