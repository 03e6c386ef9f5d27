package cli

import (
	"testing"

	"google.golang.org/genproto/googleapis/type/date"

	costingv1 "tackfree/proto/tackfree/costing/v1"
)

func withMonths(t *testing.T) *fake {
	t.Helper()
	f := newFake(t)
	f.desk.months = []*costingv1.Month{
		{FirstDate: march(1), CloseTime: stamp(t, "2026-04-02T14:00:00Z"), ClosedBy: "Ana", Settlement: costingv1.Month_SETTLEMENT_PRORATED, WithIndirectLabour: true,
			Applied: usd(200_00), Actual: usd(210_00), IndirectLabour: usd(5_00), UnderApplied: usd(15_00), Late: usd(0), Profit: usd(44_00)},
		{FirstDate: march(1), Applied: usd(10_00), Actual: usd(0), IndirectLabour: usd(0), UnderApplied: usd(-10_00), Late: usd(-20_00), Profit: usd(-20_00)}}
	f.desk.months[1].FirstDate.Month = 4
	return f
}

func TestMonth_CloseAndList(t *testing.T) {
	f := withMonths(t)
	f.gives(t, line("cost month close 2026-03"), &costingv1.CloseMonthRequest{Month: march(1), Settlement: costingv1.Month_SETTLEMENT_COST_OF_GOODS_SOLD})
	f.gives(t, line("cost month close 2026-03 --to prorated --with-indirect"), &costingv1.CloseMonthRequest{Month: march(1),
		Settlement: costingv1.Month_SETTLEMENT_PRORATED, WithIndirectLabour: true})
	row := "closed, prorated, with labour on no piece by Ana 200.00 210.00 5.00 15.00 0.00 44.00\n"
	f.says(t, line("cost month close 2026-03"), "2026-03 "+row, "Pieces carried 15.00 too little; it went to the pieces, by what each carried.\n",
		"shop cost month reopen 2026-03 --reason WHY\n")
	f.says(t, line("cost month list"), "2026-03 "+row, "open 10.00 0.00 0.00 -10.00 -20.00 -20.00\n")
	f.refuses(t, line("cost month close March"), "is not a month such as 2026-03")
}

// A close says what it took in and settled; one that was taken back is told of, and how to close again.
func TestMonth_ReopenAndClose(t *testing.T) {
	f := withMonths(t)
	march, april := f.desk.months[0], f.desk.months[1]
	march.Settlement, march.SinceDate = costingv1.Month_SETTLEMENT_COST_OF_GOODS_SOLD, &date.Date{Year: 2025, Month: 11, Day: 1}
	f.says(t, line("cost month close 2026-03"), "2025-11 to 2026-03 closed,", "This first close takes in all since 2025-11.\n", "Pieces carried 15.00 too little; it went to cost of goods sold.\n")
	march.UnderApplied = usd(-2_00)
	f.says(t, line("cost month close 2026-03"), "Pieces carried 2.00 too much;")
	march.UnderApplied = usd(0)
	f.says(t, line("cost month close 2026-03"), "nothing was left to settle.\n")
	april.Reopenings = []*costingv1.Month_Reopening{{ReopenedBy: "Ana", Reason: "a bill was missing"}}
	f.gives(t, line("cost month reopen 2026-04 --reason 'a bill was missing'"), &costingv1.ReopenMonthRequest{Month: april.FirstDate, Reason: "a bill was missing"})
	f.says(t, line("cost month reopen 2026-04 --reason 'a bill was missing'"), "2026-04 open, its close taken back by Ana: a bill was missing 10.00",
		"2026-04 is open again, and what its close had settled is reversed. To close it: shop cost month close 2026-04\n")
	f.refuses(t, line("cost month reopen April --reason x"), "is not a month such as 2026-03")
}

func statementLine(number, title string, amount int64) *costingv1.StatementSection_Line {
	return &costingv1.StatementSection_Line{Number: number, Title: title, Amount: usd(amount)}
}

func TestStatements(t *testing.T) {
	f := newFake(t)
	at := stamp(t, "2026-04-01T05:00:00Z")
	f.desk.trial = &costingv1.GetTrialBalanceResponse{Time: at, Debit: usd(90_00), Credit: usd(90_00), Rows: []*costingv1.GetTrialBalanceResponse_Row{
		{Number: "1000", Title: "Cash clearing", Debit: usd(90_00)}, {Title: "Revenue", Credit: usd(90_00)}}}
	f.says(t, line("cost trial-balance --at '2026-04-01 00:00'"), "What happened before 2026-04-01 00:00:00 CDT.\n", "1000 Cash clearing 90.00\n", " Revenue 90.00\n", " all 90.00 90.00\n")
	if got := f.asks[len(f.asks)-1].(*costingv1.GetTrialBalanceRequest); !got.Time.AsTime().Equal(at.AsTime()) {
		t.Errorf("asked for %v", got)
	}
	f.desk.sheet = &costingv1.GetBalanceSheetResponse{Time: at, Earned: usd(88_00),
		Assets:      &costingv1.StatementSection{Lines: []*costingv1.StatementSection_Line{statementLine("1000", "Cash clearing", 90_00)}, Total: usd(90_00)},
		Liabilities: &costingv1.StatementSection{Lines: []*costingv1.StatementSection_Line{statementLine("", "Wages payable", 2_00)}, Total: usd(2_00)}}
	f.asksFor(t, line("cost balance-sheet --at 2026-04-01"), &costingv1.GetBalanceSheetRequest{Time: at})
	f.asksFor(t, line("cost trial-balance --at 2026-04-01"), &costingv1.GetTrialBalanceRequest{Time: at})
	f.refuses(t, line("cost balance-sheet --at April"), "is not a time such as")
	f.says(t, line("cost balance-sheet"), " owned 90.00\n", " Wages payable 2.00\n", "earned so far: owned less owed 88.00\n", "Payments are booked in the shop's own general ledger and not here, so what is owed is all that was booked since the beginning.\n")
	f.desk.profit = &costingv1.GetProfitAndLossResponse{FromMonth: march(1), ToMonth: march(1), GrossProfit: usd(60_00), Profit: usd(58_00), Late: usd(-3_00),
		Income:      &costingv1.StatementSection{Lines: []*costingv1.StatementSection_Line{statementLine("", "Revenue", 90_00)}, Total: usd(90_00)},
		CostOfSales: &costingv1.StatementSection{Total: usd(30_00)}, Expenses: &costingv1.StatementSection{Total: usd(2_00)}}
	f.says(t, line("cost profit-and-loss --from 2026-03 --to 2026-03"), "2026-03 to 2026-03, open: it still changes.\n", " Revenue 90.00\n", " gross profit 60.00\n", " profit 58.00\n", "of it late, of closed months -3.00\n")
	f.desk.profit.Closed, f.desk.profit.Late = true, usd(0)
	f.says(t, line("cost profit-and-loss --from 2026-03"), "2026-03 to 2026-03, closed.\n", " profit 58.00\n")
	f.refuses(t, line("cost profit-and-loss --from 2026-13"), "is not a month such as 2026-03")
}

func TestAccounts(t *testing.T) {
	f := newFake(t)
	f.desk.rules = &costingv1.GetAccountRulesResponse{Yaml: "accounts:\n", Accounts: []*costingv1.GetAccountRulesResponse_Account{
		{Account: "revenue", Number: "4000", Title: "Sales", Kind: "income"}, {Account: "cash_clearing", Title: "Cash clearing", Kind: "asset"}},
		Rules: []*costingv1.GetAccountRulesResponse_Rule{{Rule: "sold", Says: "A piece is sold.", Debits: []*costingv1.GetAccountRulesResponse_Line{{Account: "cash_clearing", Amount: "price + tax"}},
			Credits: []*costingv1.GetAccountRulesResponse_Line{{Account: "revenue", Amount: "price", Sheet: "revenue"}}}}}
	f.says(t, line("cost accounts"), "These come with the program.\n", "4000 Sales income revenue\n", "\nsold: A piece is sold.\n", " debit Cash clearing: price + tax\n", " credit Sales: price (revenue of the cost sheet)\n")
	f.desk.rules.Own = true
	f.says(t, line("cost accounts"), "These are the shop's own.\n")
	if out := f.says(t, line("cost accounts --yaml")); out != "accounts:\n" {
		t.Errorf("--yaml prints %q", out)
	}
}
