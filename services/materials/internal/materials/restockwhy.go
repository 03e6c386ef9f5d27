package materials

import (
	"fmt"
	"math"
	"strings"
	"time"

	"github.com/shopspring/decimal"
)

// why says in a sentence what the advice follows from.
func (a Advice) why(c calendar) string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s on hand, %s reserved", a.amount(a.Fresh), a.amount(a.Reserved))
	if last := a.lastNeed(c); !last.IsZero() {
		fmt.Fprintf(&b, " up to %s", onDay(last))
	}
	fmt.Fprintf(&b, ", %s on order; about %s a day is used beside plans and ", a.amount(a.OnOrder), a.amount(Few(a.UseADay)))
	if a.Mixture != nil {
		b.WriteString(a.whyMix())
		return b.String()
	}
	fmt.Fprintf(&b, "a delivery takes about %s", days(a.Lead.Mean))
	switch {
	case a.Halt != nil:
		fmt.Fprintf(&b, ": %s would lack %s on %s", a.Halt.Title, a.amount(Few(a.Halt.Lacks.InexactFloat64())), onDay(a.Halt.Day))
	case a.Now:
		b.WriteString(": there would be less than is kept in reserve before a later delivery could come")
	case !a.By.IsZero():
		fmt.Fprintf(&b, ": an order on %s still comes in time", onDay(a.By))
	default:
		b.WriteString(": nothing runs short")
	}
	if a.Now && len(a.Offers) == 0 {
		b.WriteString("; nobody is known to sell it")
	}
	return b.String() + "."
}

// whyMix ends the sentence for what is mixed.
func (a Advice) whyMix() string {
	mixed := "it is mixed by recipe " + a.Mixture.Name
	switch {
	case a.Now:
		return mixed + ": there is too little for what is next."
	case !a.By.IsZero():
		return fmt.Sprintf("%s: to mix it on %s is in time.", mixed, onDay(a.By))
	}
	return mixed + ": nothing runs short."
}

// lastNeed is the day of the last need; zero: there is none.
func (a Advice) lastNeed(c calendar) (last time.Time) {
	for _, n := range a.Needs {
		if day := dayOf(n.Wanted(c.now), c.zone); day.After(last) {
			last = day
		}
	}
	return last
}

// amount writes an amount of the product, which is never one of another unit than its own.
func (a Advice) amount(v decimal.Decimal) string {
	return Few(v.InexactFloat64()).String() + " " + a.Product.Unit.Symbol
}

// Few keeps three digits of a forecast, or all before the point.
func Few(v float64) decimal.Decimal {
	if v <= 0 {
		return decimal.Zero
	}
	return decimal.NewFromFloat(v).Round(int32(min(places, max(0, 2-math.Floor(math.Log10(v))))))
}

// onDay writes a day for people: 3 Mar.
func onDay(day time.Time) string { return day.Format("2 Jan") }

func days(n float64) string {
	if n = math.Round(n); n == 1 {
		return "1 day"
	}
	return fmt.Sprintf("%.0f days", n)
}
