package cli

import (
	"fmt"

	salesv1 "tackfree/proto/tackfree/sales/v1"
	"tackfree/services/shop/internal/report"
)

// sellFlags say how what is sold is taxed and paid.
type sellFlags struct {
	Place     string `help:"Where it is taxed, as tax list names it; without it and --tax: at the default place, if any is stated." placeholder:"PLACE"`
	Exempt    string `help:"The buyer pays no tax: why, or the number of their certificate." placeholder:"REASON"`
	OnAccount bool   `help:"It is paid later, with pay record."`
	Method    string `help:"How it is paid now: cash, card, transfer, check or other." placeholder:"METHOD"`
}

// noteTerms says what was not typed: what the tax was reckoned by, what is due, and how cash was rounded.
func noteTerms(e *env, s *salesv1.Sale) {
	if s.GetTaxPlace() != "" && !s.GetTaxExempt() {
		fmt.Fprintf(e.out, "Sales tax %s: %s %% of %s, at %s.\n", report.Money(s.GetTax()), s.GetTaxPercent(), report.Money(s.GetTaxable()), s.GetTaxPlace())
	}
	if s.GetDeposit() != nil {
		fmt.Fprintf(e.out, "A deposit of %s went into it.\n", report.Money(s.GetDeposit()))
	}
	if s.GetOnAccount() {
		fmt.Fprintf(e.out, "On account: %s is due.\n", report.Money(s.GetDue()))
	}
	for _, p := range s.GetPayments() {
		if p.GetRounding() != nil {
			fmt.Fprintf(e.out, "In cash: %s, rounded.\n", report.Money(p.GetAmount()))
		}
	}
}
