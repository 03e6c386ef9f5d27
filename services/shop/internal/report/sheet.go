package report

import (
	"time"

	moneyv1 "google.golang.org/genproto/googleapis/type/money"

	"tackfree/pkg/money"
	"tackfree/pkg/wire"
	costingv1 "tackfree/proto/tackfree/costing/v1"
)

// sheet is cost sheets added up. What is earned counts only for the pieces that are done:
// before that, a piece has nothing but costs.
type sheet struct {
	pieces                                                              int
	worked                                                              time.Duration
	acquisition, labour, material, outside, rework, fees, revenue, cost money.Amount
	unusual                                                             map[string]money.Amount // what not every shop has, by name

	profit  money.Amount  // of pieces that are done
	earning time.Duration // the hours on them
}

// add adds the sheet of one more piece.
func (s *sheet) add(p *costingv1.PieceCost, c money.Currency) {
	amount := func(m *moneyv1.Money) money.Amount {
		a, _ := wire.FromMoney(m, c.Digits)
		return a
	}
	sums, worked := p.GetSums(), workedOn(p)
	s.pieces++
	s.worked += worked
	s.acquisition += amount(sums.GetAcquisition())
	s.labour += amount(sums.GetLabour())
	s.material += amount(sums.GetMaterial())
	s.outside += amount(sums.GetOutside())
	if s.unusual == nil {
		s.unusual = map[string]money.Amount{}
	}
	for _, u := range unusual {
		s.unusual[u.name] += amount(u.of(sums))
	}
	s.rework += amount(sums.GetRework())
	s.fees += amount(sums.GetFees())
	s.revenue += amount(sums.GetRevenue())
	s.cost += amount(sums.GetCost())
	if done(p) {
		s.profit += amount(sums.GetProfit())
		s.earning += worked
	}
}

// perHour is the profit for each hour of the pieces that are done; of less than a minute
// it says nothing.
func (s *sheet) perHour(c money.Currency) string {
	if s.earning < time.Minute {
		return none
	}
	return c.Format(money.MulDiv(s.profit, time.Hour.Milliseconds(), s.earning.Milliseconds()))
}

// workedOn is all hands-on time on a piece.
func workedOn(p *costingv1.PieceCost) time.Duration {
	return p.GetSums().GetLabourTime().AsDuration() + p.GetSums().GetReworkTime().AsDuration()
}

// done reports whether a piece has come to its end, so that it has earned or lost.
func done(p *costingv1.PieceCost) bool {
	return p.State == costingv1.PieceCost_STATE_SOLD || p.State == costingv1.PieceCost_STATE_SCRAPPED
}

// ProfitOf is what a piece earned, in all and for each hour; dashes while it is in hand.
func ProfitOf(p *costingv1.PieceCost) (profit, perHour string) {
	if !done(p) {
		return none, none
	}
	return Money(p.GetSums().GetProfit()), Money(p.GetSums().GetProfitPerLabourHour())
}

// StateOf is how far a piece has come, with a question mark while it is not final.
func StateOf(p *costingv1.PieceCost) string {
	s := State(p.State.String())
	switch {
	case p.Commission && p.State == costingv1.PieceCost_STATE_SOLD:
		s = "invoiced"
	case p.Commission && p.State == costingv1.PieceCost_STATE_IN_HAND:
		s = "commission"
	}
	if p.Provisional {
		s += "?"
	}
	return s
}
