package intake

import (
	"github.com/shopspring/decimal"

	"tackfree/pkg/fault"
	"tackfree/pkg/money"
)

// CancelRule is what becomes of a commission that the client cancels after approving.
type CancelRule string

// The rules.
const (
	OwesNothing  CancelRule = "nothing"
	OwesWork     CancelRule = "work_done"
	OwesWorkPlus CancelRule = "work_done_and_percent"
)

// CommissionTerms are what holds of estimates that say nothing else. Version 0: the owner said nothing yet.
type CommissionTerms struct {
	Rate          money.Amount    // what an hour costs a client; 0: not said
	Markup        decimal.Decimal // percent on the cost of material
	Tax           decimal.Decimal // percent
	Deposit       decimal.Decimal // percent of the total
	ValidDays     int32           // above 0
	Rule          CancelRule
	CancelPercent decimal.Decimal // of the last rule
	LabourUntaxed bool            // suggested lines of labour are not taxed
	Version       int64
}

// usualValidDays goes where the owner says nothing. Common practice.
const usualValidDays = 30

// Say makes terms the next version, with what is usual in the place of what they do not say.
func (t CommissionTerms) Say(to CommissionTerms) CommissionTerms {
	if to.ValidDays == 0 {
		to.ValidDays = usualValidDays
	}
	if to.Rule == "" {
		to.Rule = OwesWork
	}
	to.Version = t.Version + 1
	return to
}

func (t CommissionTerms) hasRate() error {
	if t.Rate == 0 {
		return fault.New(fault.Precondition, "RATE_MISSING",
			"Nobody said yet what an hour of work costs a client; say it once in the terms of commissions (shop commission terms --rate 65), or name a rate on the line.")
	}
	return nil
}
