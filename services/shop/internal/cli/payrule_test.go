package cli

import (
	"encoding/csv"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"google.golang.org/genproto/googleapis/type/date"
	"google.golang.org/protobuf/types/known/durationpb"

	costingv1 "tackfree/proto/tackfree/costing/v1"
)

func of(d time.Duration) *durationpb.Duration { return durationpb.New(d) }

func TestPayRule(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	monday := &date.Date{Year: 2026, Month: 3, Day: 2}
	f.gives(t, line("cost rule set --from 2026-03-02 --weekly-after 40h --daily-after 8h30m --percent 200 --paid-break 20m --round-to 15m --premium-to overhead --replace --pay-late"),
		&costingv1.SetPayRuleRequest{Replaces: true, PayLate: true, PayRule: &costingv1.PayRule{EffectiveDate: monday, WeeklyOvertimeAfter: of(40 * time.Hour),
			DailyOvertimeAfter: of(8*time.Hour + 30*time.Minute), OvertimePercent: 200, PaidBreak: of(20 * time.Minute), RoundTo: of(15 * time.Minute), PremiumToOverhead: true}})
	f.gives(t, line("cost rule set --from 2026-03-02 --paid-break 20m"), &costingv1.SetPayRuleRequest{PayRule: &costingv1.PayRule{EffectiveDate: monday, PaidBreak: of(20 * time.Minute)}})
	f.says(t, line("cost rule set --from 2026-03-02 --weekly-after 40h"), "From the week of 2026-03-02 on the shop pays 150 percent of the regular rate after 40:00 hours a week, the premium being of the pieces.\n")
	f.says(t, line("cost rule set --from 2026-03-02"), "the shop pays straight time for what is clocked.\n")
	f.refuses(t, line("cost rule set --from Monday"), `"Monday" is not a day`)
	f.refuses(t, line("cost rule set --from 2026-03-02 --weekly-after 40"), `"40" is not a length of time; say it as 40h or 1h30m`)
	f.refuses(t, line("cost rule set --from 2026-03-02 --percent 125"), "say --weekly-after or --daily-after too")
	f.refuses(t, line("cost rule set --from 2026-03-02 --paid-break 20m --premium-to overhead"), "say --weekly-after or --daily-after too")
	f.wages.rules = []*costingv1.PayRule{{EffectiveDate: monday, DailyOvertimeAfter: of(8 * time.Hour), OvertimePercent: 150, RoundTo: of(6 * time.Minute), PremiumToOverhead: true, Actor: "Odile"}}
	f.says(t, line("cost rule list"), "2026-03-02 150 percent of the regular rate after 8:00 hours a day, the premium being overhead; work to the nearest 0:06 Odile\n")
	f.says(t, line("cost rule list --json"), `"payRules": [`, `"overtimePercent": 150`)
	replaced, before := &costingv1.PayRule{EffectiveDate: monday, Actor: "Ana"}, &costingv1.PayRule{EffectiveDate: &date.Date{Year: 2026, Month: 2, Day: 23}, Actor: "Ana"}
	f.wages.rules = []*costingv1.PayRule{replaced, f.wages.rules[0], before}
	f.says(t, line("cost rule list"), "\n2026-02-23 straight time for what is clocked Ana\n2026-03-02 straight time for what is clocked Ana replaced\n2026-03-02 150 percent", "0:06 Odile\n")
}

func TestBurden(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	day := &date.Date{Year: 2026, Month: 3, Day: 4}
	f.gives(t, line("cost burden set 7.65 --from 2026-03-04"), &costingv1.SetBurdenRequest{Percent: "7.65", EffectiveDate: day})
	f.gives(t, line("cost burden set 0 --from 2026-03-04 --who nell --replace --pay-late"), &costingv1.SetBurdenRequest{Person: "people/n", Percent: "0", EffectiveDate: day, Replaces: true, PayLate: true})
	f.gives(t, line("cost burden set --from 2026-03-04 --who nell --shops-again"), &costingv1.SetBurdenRequest{Person: "people/n", EffectiveDate: day, Ends: true})
	f.says(t, line("cost burden set --from 2026-03-04 --who nell --shops-again"), "From 2026-03-04 on the pay of Nell costs as much more as that of everybody.\n")
	f.says(t, line("cost burden set 7.65 --from 2026-03-04"), "From 2026-03-04 on the pay of everybody who has none of their own costs 7.65 percent more.\n")
	f.says(t, line("cost burden set 9 --from 2026-03-04 --who nell"), "the pay of Nell costs 9 percent more.\n")
	f.refuses(t, line("cost burden set 9 --from 2026-03-04 --who nobody"), "nobody")
	f.wages.burdens = []*costingv1.Burden{{Percent: "7.65", EffectiveDate: day, Actor: "Odile"}, {Person: "people/n", Percent: "9", EffectiveDate: day, Actor: "Odile"}, {Person: "people/n", EffectiveDate: day, Ends: true, Actor: "Odile"}}
	f.says(t, line("cost burden list"), "everybody else 2026-03-04 7.65 Odile\n", "Nell 2026-03-04 9 Odile replaced\nNell 2026-03-04 the shop's again Odile\n")
}

func TestRate_Replace(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	f.gives(t, line("cost rate Nell --per-hour 20 --from 2026-03-04 --replace --pay-late"), &costingv1.SetPayRateRequest{Person: "people/n", PerHour: usd(20_00),
		EffectiveDate: &date.Date{Year: 2026, Month: 3, Day: 4}, Replaces: true, PayLate: true})
}

// ruledWeek is a week of somebody whose name a spreadsheet would compute, with overtime and rests.
func ruledWeek() *costingv1.PayrollWeek {
	none := of(0)
	return &costingv1.PayrollWeek{Week: &date.Date{Year: 2026, Month: 3, Day: 2}, LockTime: middayPlus(0), LockedBy: "Odile", Lines: []*costingv1.PayrollWeek_Line{
		{Person: "people/n", PersonName: "=HYPERLINK(\"x\"), Nell", LabourTime: of(44*time.Hour + 20*time.Minute), ReworkTime: of(time.Hour), IndirectTime: none,
			PaidBreakTime: of(15 * time.Minute), RoundingTime: of(-5 * time.Minute), LateTime: of(-time.Hour), Time: of(44*time.Hour + 30*time.Minute), Overtime: of(5*time.Hour + 30*time.Minute),
			RegularRate: usd(13_22), RegularRateFraction: "11900/9", PaidBreakPay: usd(3_31), RoundingPay: usd(-1_10), Premium: usd(36_36), LatePay: usd(-13_22), Pay: usd(624_68), Burden: usd(47_79)},
		{Person: "people/r", PersonName: "Ruth", LabourTime: of(time.Hour), ReworkTime: none, IndirectTime: none, PaidBreakTime: none, RoundingTime: none, LateTime: none,
			Time: of(time.Hour), Overtime: none, RegularRate: usd(18_00), RegularRateFraction: "1800", Pay: usd(18_00), Burden: usd(1_38)}}}
}

func TestPayroll_ByARule(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	f.wages.week = ruledWeek()
	f.says(t, line("cost payroll show 2026-03-04"),
		"who labour rework on no piece paid breaks rounding late hours overtime regular rate premium late pay pay burden\n",
		"Nell 44:20 1:00 – 0:15 -0:05 -1:00 44:30 5:30 13.22 36.36 -13.22 624.68 47.79\n", "Ruth 1:00 – – – – – 1:00 – – – – 18.00 1.38\n",
		"all 45:20 1:00 0:00 0:15 -0:05 -1:00 45:30 5:30 36.36 -13.22 642.68 49.17\n")
}

// A line for each person; hours and the regular rate as decimal numbers, and a name that is text to a spreadsheet.
func TestPayroll_Export(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	f.wages.week = ruledWeek()
	out := filepath.Join(t.TempDir(), "week.csv")
	f.says(t, append(line("cost payroll export 2026-03-04 --out"), out))
	file, err := os.ReadFile(out)
	if err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(strings.NewReader(string(file))).ReadAll()
	want := [][]string{
		{"week", "person", "name", "labour_hours", "rework_hours", "no_piece_hours", "paid_break_hours", "rounding_hours", "late_hours", "hours",
			"overtime_hours", "regular_rate", "straight_pay", "paid_break_pay", "rounding_pay", "premium", "late_pay", "pay", "burden", "currency", "closed"},
		{"2026-03-02", "people/n", `'=HYPERLINK("x"), Nell`, "44.3333", "1.0000", "0.0000", "0.2500", "-0.0833", "-1.0000", "44.5000",
			"5.5000", "13.222222", "599.33", "3.31", "-1.10", "36.36", "-13.22", "624.68", "47.79", "USD", "yes"},
		{"2026-03-02", "people/r", "Ruth", "1.0000", "0.0000", "0.0000", "0.0000", "0.0000", "0.0000", "1.0000",
			"0.0000", "18.000000", "18.00", "0.00", "0.00", "0.00", "0.00", "18.00", "1.38", "USD", "yes"},
	}
	if diff := cmp.Diff(want, rows); err != nil || diff != "" {
		t.Errorf("export, %v (-want +got):\n%s", err, diff)
	}
	if info, err := os.Stat(out); err != nil || info.Mode().Perm() != 0o600 {
		t.Errorf("the file is for all to read: %v, %v", info.Mode(), err)
	}
	f.wages.week = nil
	f.says(t, line("cost payroll export 2026-03-04"), "2026-03-02,,Nell,1.0000,0.0000,0.0000,0.0000,0.0000,-0.2500,0.7500,0.0000,,15.00,0.00,0.00,0.00,0.00,15.00,0.00,USD,no\n")
	f.refuses(t, line("cost payroll export now"), `"now" is not a day`)
}

func TestAsText(t *testing.T) {
	t.Parallel()
	for name, want := range map[string]string{"Nell": "Nell", "O'Hara": "O'Hara", "=1+1": "'=1+1", "+1": "'+1", "-1": "'-1", "@x": "'@x", " =1": "' =1", "\t=1": "'\t=1", "'=1": "''=1", "＝1": "'＝1"} {
		if got := asText(name); got != want {
			t.Errorf("asText(%q) = %q, want %q", name, got, want)
		}
	}
}
