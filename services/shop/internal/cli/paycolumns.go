package cli

import (
	"slices"
	"time"

	moneyv1 "google.golang.org/genproto/googleapis/type/money"
	"google.golang.org/protobuf/types/known/durationpb"

	"tackfree/pkg/money"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	"tackfree/services/shop/internal/report"
)

// payColumn is a column of a week's payroll: hours or money.
type payColumn struct {
	heading string
	hours   func(*costingv1.PayrollWeek_Line) *durationpb.Duration
	money   func(*costingv1.PayrollWeek_Line) *moneyv1.Money
	always  bool // else it is left out where it has nothing to say
	alone   bool // what it says of each does not add up
}

// allPayColumns are the columns, in their order. What only a pay rule or a burden brings about is left
// out where there is none of it.
var allPayColumns = []payColumn{
	{heading: "labour", always: true, hours: (*costingv1.PayrollWeek_Line).GetLabourTime},
	{heading: "rework", always: true, hours: (*costingv1.PayrollWeek_Line).GetReworkTime},
	{heading: "on no piece", always: true, hours: (*costingv1.PayrollWeek_Line).GetIndirectTime},
	{heading: "paid breaks", hours: (*costingv1.PayrollWeek_Line).GetPaidBreakTime},
	{heading: "rounding", hours: (*costingv1.PayrollWeek_Line).GetRoundingTime},
	{heading: "late", always: true, hours: (*costingv1.PayrollWeek_Line).GetLateTime},
	{heading: "hours", always: true, hours: (*costingv1.PayrollWeek_Line).GetTime},
	{heading: "overtime", hours: (*costingv1.PayrollWeek_Line).GetOvertime},
	{heading: "regular rate", alone: true, money: regularWithOvertime},
	{heading: "premium", money: (*costingv1.PayrollWeek_Line).GetPremium},
	{heading: "late pay", money: (*costingv1.PayrollWeek_Line).GetLatePay},
	{heading: "pay", always: true, money: (*costingv1.PayrollWeek_Line).GetPay},
	{heading: "burden", money: (*costingv1.PayrollWeek_Line).GetBurden},
}

// regularWithOvertime is the regular rate of those who have overtime to be paid by it.
func regularWithOvertime(l *costingv1.PayrollWeek_Line) *moneyv1.Money {
	if l.GetOvertime().AsDuration() == 0 {
		return nil
	}
	return l.GetRegularRate()
}

// payColumns are those that have something to say of a week.
func payColumns(w *costingv1.PayrollWeek, c money.Currency) []payColumn {
	return slices.DeleteFunc(slices.Clone(allPayColumns), func(column payColumn) bool {
		return !column.always && !slices.ContainsFunc(w.GetLines(), func(l *costingv1.PayrollWeek_Line) bool { return column.says(l, c) })
	})
}

func (p payColumn) says(l *costingv1.PayrollWeek_Line, c money.Currency) bool {
	if p.hours != nil {
		return p.hours(l).AsDuration() != 0
	}
	return amountOf(p.money(l), c) != 0
}

// of is what the column says of one person.
func (p payColumn) of(l *costingv1.PayrollWeek_Line) string {
	if p.hours != nil {
		return report.Hours(p.hours(l))
	}
	return report.Money(p.money(l))
}

// total is what it says of all.
func (p payColumn) total(w *costingv1.PayrollWeek, c money.Currency) string {
	var hours time.Duration
	var pay money.Amount
	for _, l := range w.GetLines() {
		if p.hours != nil {
			hours += p.hours(l).AsDuration()
		} else {
			pay += amountOf(p.money(l), c)
		}
	}
	switch {
	case p.alone:
		return ""
	case p.hours != nil:
		return report.Length(hours)
	}
	return c.Format(pay)
}
