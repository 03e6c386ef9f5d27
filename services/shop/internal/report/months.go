package report

import (
	"fmt"
	"io"
	"strings"

	costingv1 "tackfree/proto/tackfree/costing/v1"
)

// Months prints how months stand.
func Months(w io.Writer, months []*costingv1.Month) error {
	t := &Table{Headings: []string{"month", "state", " carried", " spent", " on no piece", " too little", " late", " profit"}}
	for _, m := range months {
		t.Add(monthsOf(m), monthState(m), Money(m.GetApplied()), Money(m.GetActual()), Money(m.GetIndirectLabour()), Money(m.GetUnderApplied()), Money(m.GetLate()), Money(m.GetProfit()))
	}
	if err := t.Print(w); err != nil {
		return err
	}
	_, err := fmt.Fprint(w, "\ncarried, spent: overhead of pieces and overhead that was paid. too little: what pieces carried too little of, below zero too much.\n")
	return err
}

// monthState says whether a month is closed, and how.
func monthState(m *costingv1.Month) string {
	if m.GetCloseTime() == nil {
		if taken := m.GetReopenings(); len(taken) > 0 {
			last := taken[len(taken)-1]
			return fmt.Sprintf("open, its close taken back by %s: %s", last.GetReopenedBy(), last.GetReason())
		}
		return "open"
	}
	text := "closed"
	if m.GetSettlement() == costingv1.Month_SETTLEMENT_PRORATED {
		text += ", prorated"
	}
	if m.GetWithIndirectLabour() {
		text += ", with labour on no piece"
	}
	return text + " by " + m.GetClosedBy()
}

// monthsOf names a month, or those that the first close counts.
func monthsOf(m *costingv1.Month) string {
	if m.GetSinceDate() != nil {
		return month(m.GetSinceDate()) + " to " + month(m.GetFirstDate())
	}
	return month(m.GetFirstDate())
}

// Closed says what a close has settled, and how it is taken back.
func Closed(w io.Writer, m *costingv1.Month) error {
	if m.GetSinceDate() != nil {
		if _, err := fmt.Fprintf(w, "\nThis first close takes in all since %s.", month(m.GetSinceDate())); err != nil {
			return err
		}
	}
	_, err := fmt.Fprintf(w, "\n%s\nTo take the close back: shop cost month reopen %s --reason WHY\n", settled(m), month(m.GetFirstDate()))
	return err
}

// settled says what became of the difference.
func settled(m *costingv1.Month) string {
	if zero(m.GetUnderApplied()) {
		return "Pieces carried just what was spent; nothing was left to settle."
	}
	amount, much := strings.CutPrefix(Money(m.GetUnderApplied()), "-")
	word, to := "too little", "cost of goods sold"
	if much {
		word = "too much"
	}
	if m.GetSettlement() == costingv1.Month_SETTLEMENT_PRORATED {
		to = "the pieces, by what each carried"
	}
	return fmt.Sprintf("Pieces carried %s %s; it went to %s.", amount, word, to)
}

// Reopened says that a close was taken back.
func Reopened(w io.Writer, m *costingv1.Month) error {
	_, err := fmt.Fprintf(w, "\n%[1]s is open again, and what its close had settled is reversed. To close it: shop cost month close %[1]s\n", month(m.GetFirstDate()))
	return err
}

func month(d interface {
	GetYear() int32
	GetMonth() int32
}) string {
	return fmt.Sprintf("%04d-%02d", d.GetYear(), d.GetMonth())
}
