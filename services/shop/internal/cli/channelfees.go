package cli

import (
	"fmt"
	"strings"

	moneyv1 "google.golang.org/genproto/googleapis/type/money"

	salesv1 "tackfree/proto/tackfree/sales/v1"
	"tackfree/services/shop/internal/report"
)

// feesWord says what a channel keeps, in a line.
func feesWord(f *salesv1.FeeSchedule) string {
	if f == nil {
		return "nobody said"
	}
	parts := shareWords(f)
	if isSome(f.Fixed) {
		parts = append(parts, "and "+report.Money(f.Fixed))
	}
	if isSome(f.Minimum) {
		parts = append(parts, "at least "+report.Money(f.Minimum))
	}
	if f.Most != nil {
		parts = append(parts, "at most "+report.Money(f.Most))
	}
	if len(parts) == 0 {
		return "nothing"
	}
	return strings.Join(parts, ", ")
}

// shareWords say which share of a price it keeps.
func shareWords(f *salesv1.FeeSchedule) (parts []string) {
	if f.Percent != "" && f.Percent != "0" || len(f.Tiers) > 0 {
		parts = append(parts, f.Percent+" %")
	}
	for _, t := range f.Tiers {
		parts = append(parts, fmt.Sprintf("%s %% from %s on", t.Percent, report.Money(t.From)))
	}
	switch f.TierRule {
	case salesv1.FeeSchedule_TIER_RULE_MARGINAL:
		parts = append(parts, "each of what lies in its tier")
	case salesv1.FeeSchedule_TIER_RULE_WHOLE_PRICE:
		parts = append(parts, "of the whole price")
	}
	if len(parts) > 0 && f.Base == salesv1.FeeSchedule_BASE_WITH_TAX {
		parts = append(parts, "with tax")
	}
	return parts
}

func isSome(m *moneyv1.Money) bool { return m.GetUnits() != 0 || m.GetNanos() != 0 }

// noteFee says where the fee of a sale comes from if nobody said it.
func noteFee(e *env, fromChannel bool, channel string, fee *moneyv1.Money) {
	if fromChannel {
		fmt.Fprintf(e.out, "The fee, %s, follows from what %s keeps.\n", report.Money(fee), channel)
	}
}
