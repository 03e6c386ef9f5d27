package cli

import (
	"bytes"
	"encoding/csv"
	"math/big"
	"os"
	"regexp"
	"time"

	moneyv1 "google.golang.org/genproto/googleapis/type/money"
	"google.golang.org/protobuf/types/known/durationpb"

	"tackfree/pkg/money"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	"tackfree/services/shop/internal/client"
)

type exportWeekCmd struct {
	csvOutput
	Day string `arg:"" help:"Any day of the week, such as 2026-03-16."`
}

func (c *exportWeekCmd) Run(e *env) error {
	date, err := client.Day(c.Day)
	if err != nil {
		return err
	}
	return e.with(func(shop *client.Shop) error {
		terms, err := shop.Terms(e.ctx)
		if err != nil {
			return err
		}
		resp, err := shop.Payroll.GetPayrollWeek(e.ctx, &costingv1.GetPayrollWeekRequest{Date: date})
		if err != nil {
			return err
		}
		file, err := payTable(resp.PayrollWeek, terms.Currency)
		switch {
		case err != nil:
			return err
		case c.Out != "":
			return os.WriteFile(c.Out, file, 0o600) // what people earn is nobody else's business
		}
		return c.write(e, file)
	})
}

// payTable is a week's payroll, a line for each person. Hours are decimal, rounded to the fourth digit;
// money is in the shop's currency; what the regular rate has after its digits is rounded to the fourth more.
func payTable(w *costingv1.PayrollWeek, c money.Currency) ([]byte, error) {
	var out bytes.Buffer
	table := csv.NewWriter(&out)
	heads := []string{"week", "person", "name", "labour_hours", "rework_hours", "no_piece_hours", "paid_break_hours", "rounding_hours", "late_hours", "hours",
		"overtime_hours", "regular_rate", "straight_pay", "paid_break_pay", "rounding_pay", "premium", "late_pay", "pay", "burden", "currency", "closed"}
	if err := table.Write(heads); err != nil {
		return nil, err
	}
	closed := "no"
	if w.GetLockTime() != nil {
		closed = "yes"
	}
	for _, l := range w.GetLines() {
		m := func(m *moneyv1.Money) string { return c.Format(amountOf(m, c)) }
		straight := amountOf(l.Pay, c) - amountOf(l.PaidBreakPay, c) - amountOf(l.RoundingPay, c) - amountOf(l.Premium, c) - amountOf(l.LatePay, c)
		err := table.Write([]string{client.WriteDay(w.GetWeek()), l.Person, asText(l.PersonName),
			decimalHours(l.LabourTime), decimalHours(l.ReworkTime), decimalHours(l.IndirectTime), decimalHours(l.PaidBreakTime), decimalHours(l.RoundingTime),
			decimalHours(l.LateTime), decimalHours(l.Time), decimalHours(l.Overtime), regularRate(l, c),
			c.Format(straight), m(l.PaidBreakPay), m(l.RoundingPay), m(l.Premium), m(l.LatePay), m(l.Pay), m(l.Burden), c.Code, closed})
		if err != nil {
			return nil, err
		}
	}
	table.Flush()
	return out.Bytes(), table.Error()
}

func decimalHours(d *durationpb.Duration) string {
	return big.NewRat(int64(d.AsDuration()), int64(time.Hour)).FloatString(4)
}

// regularRate is empty where no time is paid.
func regularRate(l *costingv1.PayrollWeek_Line, c money.Currency) string {
	minor, there := new(big.Rat).SetString(l.GetRegularRateFraction())
	if !there {
		return ""
	}
	unit := new(big.Int).Exp(big.NewInt(10), big.NewInt(int64(c.Digits)), nil)
	return minor.Quo(minor, new(big.Rat).SetInt(unit)).FloatString(c.Digits + 4)
}

// formula is how a cell begins that a spreadsheet computes instead of showing it.
var formula = regexp.MustCompile(`^[\s']*[=+\-@＝＋－＠]`)

// asText keeps a spreadsheet from taking a name for a formula: with a quote before it, it is text.
func asText(name string) string {
	if formula.MatchString(name) {
		return "'" + name
	}
	return name
}
