package costing

import (
	"math/big"
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/money"
)

// OnTop is what an hour on a piece that is still to come bears beside its pay.
type OnTop struct {
	Burden   int64        // of the pay, in millionths
	Overhead money.Amount // by the labour hour
}

// OnTopAt says it of an instant. The overhead is the whole shop's, for nobody knows yet at which stages
// the hours will be; the burden is that of those who worked, on average by the pay for their hours, and
// everybody's while nobody did.
func (t *Terms) OnTopAt(at time.Time, worked []RatedHours) OnTop {
	shop := t.pricing(id.Nil, len(t.Of(id.Nil)))
	return OnTop{Burden: t.burdenAt(at, worked), Overhead: money.Amount(valueAt(OverheadSteps(shop.overheads, "", LabourHour), at))}
}

func (t *Terms) burdenAt(at time.Time, worked []RatedHours) int64 {
	burden := func(person id.ID) int64 { return valueAt(t.pricing(person, len(t.Of(person))).burden, at) }
	on, pay := new(big.Int), new(big.Int)
	for _, w := range worked {
		paid := new(big.Int).Mul(big.NewInt(int64(w.PerHour)), big.NewInt(w.Time.Milliseconds()))
		pay.Add(pay, paid)
		on.Add(on, paid.Mul(paid, big.NewInt(burden(w.Person))))
	}
	if pay.Sign() == 0 {
		return burden(id.Nil)
	}
	return int64(money.Round(new(big.Rat).SetFrac(on, pay)))
}
