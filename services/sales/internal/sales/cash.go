package sales

import "tackfree/pkg/money"

// CashStep is the smallest step in which the shop takes cash; zero: cash is not rounded.
type CashStep struct {
	Step    money.Amount
	Version int64
}

// Round is an amount to the nearest step, a half step up.
func (c CashStep) Round(due money.Amount) money.Amount {
	if c.Step <= 1 {
		return due
	}
	return (due + c.Step/2) / c.Step * c.Step
}

// Rounding is what more comes in than is due when that is paid by a method; below zero: what less.
func (c CashStep) Rounding(due money.Amount, by Method) money.Amount {
	if by != Cash {
		return 0
	}
	return c.Round(due) - due
}
