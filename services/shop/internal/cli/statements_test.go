package cli

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	moneyv1 "google.golang.org/genproto/googleapis/type/money"

	costingv1 "tackfree/proto/tackfree/costing/v1"
)

func statementLine(number, account, title string, amount int64, months ...int64) *costingv1.StatementSection_Line {
	l := &costingv1.StatementSection_Line{Number: number, Account: account, Title: title, Amount: usd(amount)}
	l.AmountsByMonth = dollars(months...)
	return l
}

func dollars(amounts ...int64) (out []*moneyv1.Money) {
	for _, amount := range amounts {
		out = append(out, usd(amount))
	}
	return out
}

func withStatements(t *testing.T) *fake {
	t.Helper()
	f := newFake(t)
	at := stamp(t, "2026-04-01T05:00:00Z")
	f.desk.trial = &costingv1.GetTrialBalanceResponse{Time: at, Debit: usd(90_00), Credit: usd(90_00), Rows: []*costingv1.GetTrialBalanceResponse_Row{
		{Account: "cash_clearing", Number: "1000", Title: "Cash clearing", Debit: usd(90_00)}, {Account: "revenue", Title: "=Revenue", Credit: usd(90_00)}}}
	f.desk.sheet = &costingv1.GetBalanceSheetResponse{Time: at, Earned: usd(88_00),
		Assets:      &costingv1.StatementSection{Lines: []*costingv1.StatementSection_Line{statementLine("1000", "cash_clearing", "Cash clearing", 90_00)}, Total: usd(90_00)},
		Liabilities: &costingv1.StatementSection{Lines: []*costingv1.StatementSection_Line{statementLine("", "wages_payable", "Wages payable", 2_00)}, Total: usd(2_00)}}
	f.desk.profit = &costingv1.GetProfitAndLossResponse{FromMonth: march(1), ToMonth: march(1), GrossProfit: usd(60_00), Profit: usd(58_00), Late: usd(-3_00),
		Income:      &costingv1.StatementSection{Lines: []*costingv1.StatementSection_Line{statementLine("", "revenue", "Revenue", 90_00)}, Total: usd(90_00)},
		CostOfSales: &costingv1.StatementSection{Total: usd(30_00)}, Expenses: &costingv1.StatementSection{Total: usd(2_00)}}
	return f
}

func TestStatements(t *testing.T) {
	t.Parallel()
	f := withStatements(t)
	at := f.desk.trial.Time
	f.says(t, line("cost trial-balance --at '2026-04-01 00:00'"), "What happened before 2026-04-01 00:00:00 CDT.\n", "1000 Cash clearing 90.00\n", " =Revenue 90.00\n", " all 90.00 90.00\n")
	if got := f.asks[len(f.asks)-1].(*costingv1.GetTrialBalanceRequest); !got.Time.AsTime().Equal(at.AsTime()) {
		t.Errorf("asked for %v", got)
	}
	f.asksFor(t, line("cost balance-sheet --at 2026-04-01"), &costingv1.GetBalanceSheetRequest{Time: at})
	f.asksFor(t, line("cost trial-balance --at 2026-04-01"), &costingv1.GetTrialBalanceRequest{Time: at})
	f.refuses(t, line("cost balance-sheet --at April"), "is not a time such as")
	f.says(t, line("cost balance-sheet"), " owned 90.00\n", " Wages payable 2.00\n", "earned so far: owned less owed 88.00\n", "Payments are booked in the shop's own general ledger and not here, so what is owed is all that was booked since the beginning.\n")
	f.says(t, line("cost profit-and-loss --from 2026-03 --to 2026-03"), "2026-03 to 2026-03, open: it still changes.\n", " Revenue 90.00\n", " gross profit 60.00\n", " profit 58.00\n", "of it late, of months closed before -3.00\n")
	f.desk.profit.Closed = true
	f.says(t, line("cost profit-and-loss --from 2026-03"), "2026-03 to 2026-03, closed.\n", " profit 58.00\n", "of it late, of months closed before -3.00\n")
	f.desk.profit.Late = usd(0)
	if out := f.says(t, line("cost profit-and-loss --from 2026-03")); strings.Contains(out, "late") {
		t.Errorf("nothing is late, and it says:\n%s", out)
	}
	f.refuses(t, line("cost profit-and-loss --from 2026-13"), "is not a month such as 2026-03")
	f.refuses(t, line("cost profit-and-loss --from 2026-03 --by week"), "--by must be one of")
}

// A statement that is for the beginning of the day, and not for the hour that was asked for, says so above and below.
func TestStatements_ByDayInAClosedMonth(t *testing.T) {
	t.Parallel()
	f := withStatements(t)
	for _, command := range []string{"trial-balance", "balance-sheet"} {
		f.says(t, line("cost "+command+" --at '2026-04-01 11:30'"), "What happened before 2026-04-01 00:00:00 CDT, the beginning of the day: what happened later on that day is not in it.\n",
			"You asked for 2026-04-01 11:30:00 CDT. That is in a closed month, which is kept by the day")
		if out := f.says(t, line("cost "+command+" --at 2026-04-01")); strings.Contains(out, "You asked") || strings.Contains(out, "the beginning of the day") {
			t.Errorf("%s is for the hour that was asked for, and says:\n%s", command, out)
		}
	}
}

// Two months side by side, and of a profit and loss their sum.
func TestStatements_ByMonth(t *testing.T) {
	t.Parallel()
	f := withStatements(t)
	april := march(1)
	april.Month = 4
	p := f.desk.profit
	p.ToMonth, p.Income.Lines, p.Income.TotalsByMonth = april, []*costingv1.StatementSection_Line{statementLine("4000", "revenue", "Revenue", 90_00, 60_00, 30_00)}, dollars(60_00, 30_00)
	p.CostOfSales.TotalsByMonth, p.Expenses.TotalsByMonth = dollars(20_00, 10_00), dollars(2_00, 0)
	p.Expenses.Lines = []*costingv1.StatementSection_Line{statementLine("", "overhead_applied", "Overhead applied", 0, -4_00, 4_00)}
	p.Months = []*costingv1.GetProfitAndLossResponse_Month{{FirstDate: march(1), GrossProfit: usd(40_00), Profit: usd(38_00), Late: usd(0), Closed: true},
		{FirstDate: april, GrossProfit: usd(20_00), Profit: usd(20_00), Late: usd(-3_00)}}
	f.says(t, line("cost profit-and-loss --from 2026-03 --to 2026-04 --by month"), "number account 2026-03 2026-04 (open) sum\n", "4000 Revenue 60.00 30.00 90.00\n", " income 60.00 30.00 90.00\n", "Overhead applied -4.00 4.00 0.00\n",
		" gross profit 40.00 20.00 60.00\n", " profit 38.00 20.00 58.00\n", " of it late, of months closed before 0.00 -3.00 -3.00\n")
	f.asksFor(t, line("cost profit-and-loss --from 2026-03 --to 2026-04 --by month"), &costingv1.GetProfitAndLossRequest{FromMonth: march(1), ToMonth: april, ByMonth: true})

	b := f.desk.sheet
	b.Assets.Lines, b.Assets.TotalsByMonth = []*costingv1.StatementSection_Line{statementLine("1000", "cash_clearing", "Cash clearing", 90_00, 70_00, 90_00)}, dollars(70_00, 90_00)
	b.Liabilities.Lines, b.Liabilities.TotalsByMonth = nil, dollars(0, 2_00)
	b.Months = []*costingv1.GetBalanceSheetResponse_Month{{FirstDate: march(1), Earned: usd(70_00)}, {FirstDate: april, Earned: usd(88_00)}}
	f.says(t, line("cost balance-sheet --from 2026-03 --to 2026-04 --by month"), "number account 2026-03 2026-04\n", "1000 Cash clearing 70.00 90.00\n", " owed 0.00 2.00\n", " earned so far: owned less owed 70.00 88.00\n")
	f.asksFor(t, line("cost balance-sheet --from 2026-03 --to 2026-04 --by month"), &costingv1.GetBalanceSheetRequest{FromMonth: march(1), ToMonth: april})
	f.refuses(t, line("cost balance-sheet --from 2026-03 --to 2026-04"), "say --from MONTH --to MONTH --by month")
	f.refuses(t, line("cost balance-sheet --to 2026-04 --by month"), "say --from MONTH --to MONTH --by month")
	f.refuses(t, line("cost balance-sheet --at 2026-04-01 --from 2026-03 --by month"), "say one of the two")

	csv := func(args string, want ...[]string) {
		t.Helper()
		if diff := cmp.Diff(want, rowsOf(t, f.says(t, line(args)))); diff != "" {
			t.Errorf("shop %s (-want +got):\n%s", args, diff)
		}
	}
	csv("cost profit-and-loss --from 2026-03 --to 2026-04 --by month --csv", []string{"from_month", "to_month", "section", "account", "account_title", "2026-03", "2026-04", "amount", "currency"},
		[]string{"2026-03", "2026-04", "income", "4000", "Revenue", "60.00", "30.00", "90.00", "USD"}, []string{"2026-03", "2026-04", "expenses", "overhead_applied", "Overhead applied", "-4.00", "4.00", "0.00", "USD"})
	csv("cost balance-sheet --from 2026-03 --to 2026-04 --by month --csv", []string{"section", "account", "account_title", "2026-03", "2026-04", "currency"},
		[]string{"assets", "1000", "Cash clearing", "70.00", "90.00", "USD"}, []string{"earned", "earned", "Earned so far", "70.00", "88.00", "USD"})
}

// Statements for a spreadsheet have an account by its number, or by its name where it has none, and no sums; what is
// earned is a row of the balance sheet, so that it balances.
func TestStatements_CSV(t *testing.T) {
	t.Parallel()
	f := withStatements(t)
	csv := func(args string, want ...[]string) {
		t.Helper()
		if diff := cmp.Diff(want, rowsOf(t, f.says(t, line(args)))); diff != "" {
			t.Errorf("shop %s (-want +got):\n%s", args, diff)
		}
	}
	const at = "2026-04-01T05:00:00Z"
	csv("cost trial-balance --csv", []string{"before", "account", "account_title", "debit", "credit", "currency"},
		[]string{at, "1000", "Cash clearing", "90.00", "", "USD"}, []string{at, "revenue", "'=Revenue", "", "90.00", "USD"})
	csv("cost balance-sheet --csv", []string{"before", "section", "account", "account_title", "amount", "currency"}, []string{at, "assets", "1000", "Cash clearing", "90.00", "USD"},
		[]string{at, "liabilities", "wages_payable", "Wages payable", "2.00", "USD"}, []string{at, "earned", "earned", "Earned so far", "88.00", "USD"})
	csv("cost profit-and-loss --from 2026-03 --csv", []string{"from_month", "to_month", "section", "account", "account_title", "amount", "currency"},
		[]string{"2026-03", "2026-03", "income", "revenue", "Revenue", "90.00", "USD"})
	f.desk.months = withMonths(t).desk.months
	csv("cost month list --csv", []string{"month", "since", "closed", "closed_by", "settlement", "with_indirect_labour", "applied", "actual", "indirect_labour", "under_applied", "late", "profit", "currency"},
		[]string{"2026-03", "", "2026-04-02T14:00:00Z", "Ana", "prorated", "true", "200.00", "210.00", "5.00", "15.00", "0.00", "44.00", "USD"},
		[]string{"2026-04", "", "", "", "", "false", "10.00", "0.00", "0.00", "-10.00", "-20.00", "-20.00", "USD"})
	f.refuses(t, line("cost trial-balance --csv --json"), "two forms")
	f.refuses(t, line("cost balance-sheet --csv --json"), "two forms")
}
