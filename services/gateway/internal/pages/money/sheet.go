package money

import (
	"encoding/csv"
	"fmt"
	"math/big"
	"net/http"
	"regexp"
	"time"

	moneyv1 "google.golang.org/genproto/googleapis/type/money"
	"google.golang.org/protobuf/types/known/durationpb"

	"tackfree/pkg/fault"
	amounts "tackfree/pkg/money"
	"tackfree/pkg/wire"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	"tackfree/services/gateway/internal/typed"
	"tackfree/services/gateway/internal/web"
	"tackfree/services/gateway/internal/words"
)

// refusal reports whether an error is an answer to whoever typed something: they see their form again.
// That a service is away, or broken, is no such answer.
func refusal(err error) bool {
	f := fault.Of(err)
	return f != nil && f.Kind != fault.Unavailable && f.Kind != fault.Internal && f.Kind != fault.Unauthenticated
}

// table begins a table for a spreadsheet under a file's name.
func table(w http.ResponseWriter, name string) *csv.Writer {
	h := w.Header()
	h.Set("Content-Type", "text/csv; charset=utf-8")
	h.Set("Content-Disposition", fmt.Sprintf("attachment; filename=%q", name))
	return csv.NewWriter(w)
}

// plainMoney writes an amount for machines; empty: there is none.
func plainMoney(v *words.Voice, m *moneyv1.Money) string {
	if m == nil {
		return ""
	}
	return v.Currency.Format(amounts.Amount(v.Minor(m)))
}

// plainHours writes hours as decimals, rounded to the fourth digit.
func plainHours(d *durationpb.Duration) string {
	return big.NewRat(int64(d.AsDuration()), int64(time.Hour)).FloatString(4)
}

// formula is how a cell begins that a spreadsheet computes instead of showing it.
var formula = regexp.MustCompile(`^[\s']*[=+\-@＝＋－＠]`)

// free keeps a spreadsheet from taking what people typed for a formula: with a quote before it, it is text.
func free(text string) string {
	if formula.MatchString(text) {
		return "'" + text
	}
	return text
}

var payHeads = []string{"week", "person", "name", "labour_hours", "rework_hours", "no_piece_hours", "paid_break_hours", "rounding_hours", "late_hours", "hours",
	"overtime_hours", "paid_break_pay", "rounding_pay", "premium", "late_pay", "pay", "burden", "currency", "locked"}

// payCSV is a week's payroll for a spreadsheet, a line for each person.
func payCSV(w http.ResponseWriter, a *web.Asked) error {
	day, err := weekOf(a, a.URL.Query().Get("week"))
	if err != nil {
		return err
	}
	r, err := a.Kit.Suite.Payroll.GetPayrollWeek(a.Context(), &costingv1.GetPayrollWeekRequest{Date: wire.ToDay(day)})
	if err != nil {
		return err
	}
	monday := typed.Day(r.PayrollWeek.GetWeek())
	t := table(w, "payroll-"+monday+".csv")
	rows := [][]string{payHeads}
	for _, l := range r.PayrollWeek.GetLines() {
		rows = append(rows, payCells(a.Voice, monday, l, r.PayrollWeek.LockTime != nil))
	}
	return t.WriteAll(rows)
}

func payCells(v *words.Voice, monday string, l *costingv1.PayrollWeek_Line, locked bool) []string {
	row := []string{monday, l.Person, free(l.PersonName)}
	for _, d := range []*durationpb.Duration{l.LabourTime, l.ReworkTime, l.IndirectTime, l.PaidBreakTime, l.RoundingTime, l.LateTime, l.Time, l.Overtime} {
		row = append(row, plainHours(d))
	}
	for _, m := range []*moneyv1.Money{l.PaidBreakPay, l.RoundingPay, l.Premium, l.LatePay, l.Pay, l.Burden} {
		row = append(row, plainMoney(v, m))
	}
	return append(row, v.Currency.Code, map[bool]string{true: "yes", false: "no"}[locked])
}
