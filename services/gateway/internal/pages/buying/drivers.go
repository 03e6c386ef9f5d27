package buying

import (
	moneyv1 "google.golang.org/genproto/googleapis/type/money"

	intakev1 "tackfree/proto/tackfree/intake/v1"
	"tackfree/services/gateway/internal/axis"
	"tackfree/services/gateway/internal/words"
)

// The sheet of a bar of what decides.
const (
	barWide = 200
	barEdge = 4
)

// drivers are what decides most, as bars on one rule of money: from the most to pay were a thing known to be low,
// to the most were it known to be high. Where a bar is wide, finding out is worth something.
type drivers struct {
	Says string // what the bars show
	Rows []driver
	Most int // where the most to pay lies on each bar, and what is asked
	Asks int
}

// driver is one of them.
type driver struct {
	What, IfLow, IfHigh, Share string
	X, Wide                    int
}

func driversOf(v *words.Voice, ad *intakev1.Advice, asked *moneyv1.Money) (it drivers) {
	if len(ad.GetDrivers()) == 0 {
		return it
	}
	if ad.GetVerdict() == intakev1.Advice_VERDICT_NO {
		return giftDriversOf(v, ad)
	}
	it.Says = v.T("buying.drivers")
	all := []int64{v.Minor(ad.GetMostToPay()), v.Minor(asked)}
	for _, d := range ad.GetDrivers() {
		all = append(all, v.Minor(d.MostIfLow), v.Minor(d.MostIfHigh))
	}
	s := axis.Over(barEdge, barWide-barEdge, all...)
	it.Most, it.Asks = s.At(all[0]), s.At(all[1])
	for _, d := range ad.GetDrivers() {
		low, high := s.At(v.Minor(d.MostIfLow)), s.At(v.Minor(d.MostIfHigh))
		it.Rows = append(it.Rows, driver{What: v.T("buying.driver." + enum(d.What.String(), "WHAT_")), IfLow: notBelow(v, d.MostIfLow), IfHigh: notBelow(v, d.MostIfHigh),
			Share: v.Percent(d.Share), X: min(low, high), Wide: max(low, high, min(low, high)+2) - min(low, high)})
	}
	return it
}

// giftDriversOf is the same of what is not to be had even as a gift, where the most to pay is nothing whatever was
// known: bars of the chance that it reaches the target, on a rule from none to all.
func giftDriversOf(v *words.Voice, ad *intakev1.Advice) drivers {
	const finely = 1000
	s := axis.Over(barEdge, barWide-barEdge, 0, finely)
	at := func(chance float64) int { return s.At(int64(chance * finely)) }
	it := drivers{Says: v.T("buying.drivers.gift"), Most: at(ad.GetChanceAsGift()), Asks: at(ad.GetChance())}
	for _, d := range ad.GetDrivers() {
		low, high := at(d.GiftChanceIfLow), at(d.GiftChanceIfHigh)
		it.Rows = append(it.Rows, driver{What: v.T("buying.driver." + enum(d.What.String(), "WHAT_")), IfLow: v.Percent(d.GiftChanceIfLow), IfHigh: v.Percent(d.GiftChanceIfHigh),
			Share: v.Percent(d.Share), X: min(low, high), Wide: max(low, high, min(low, high)+2) - min(low, high)})
	}
	return it
}

// notBelow writes what may be paid: below nothing it is nothing.
func notBelow(v *words.Voice, m *moneyv1.Money) string {
	if v.Minor(m) < 0 {
		return "0"
	}
	return v.AtMost(m)
}
