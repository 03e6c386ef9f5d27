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
	t.Parallel()
	f := withMonths(t)
	f.gives(t, line("cost month close 2026-03"), &costingv1.CloseMonthRequest{Month: march(1), Settlement: costingv1.Month_SETTLEMENT_COST_OF_GOODS_SOLD})
	f.gives(t, line("cost month close 2026-03 --to prorated --with-indirect"), &costingv1.CloseMonthRequest{Month: march(1),
		Settlement: costingv1.Month_SETTLEMENT_PRORATED, WithIndirectLabour: true})
	f.gives(t, line("cost month close 2026-03 --with-earlier"), &costingv1.CloseMonthRequest{Month: march(1), Settlement: costingv1.Month_SETTLEMENT_COST_OF_GOODS_SOLD, WithEarlier: true})
	row := "closed, prorated, with labour on no piece by Ana 200.00 210.00 5.00 15.00 0.00 44.00\n"
	f.says(t, line("cost month close 2026-03"), "2026-03 "+row, "Pieces carried 15.00 too little; it went to the pieces, by what each carried.\n",
		"shop cost month reopen 2026-03 --reason WHY\n")
	f.says(t, line("cost month list"), "2026-03 "+row, "open 10.00 0.00 0.00 -10.00 -20.00 -20.00\n")
	f.refuses(t, line("cost month close March"), "is not a month such as 2026-03")
}

// A close says what it took in and settled; one that was taken back is told of, and how to close again.
func TestMonth_ReopenAndClose(t *testing.T) {
	t.Parallel()
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

func TestAccounts(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	f.desk.rules = &costingv1.GetAccountRulesResponse{Yaml: "accounts:\n", Accounts: []*costingv1.GetAccountRulesResponse_Account{
		{Account: "revenue", Number: "4000", Title: "Sales", Kind: "income"}, {Account: "cash_clearing", Title: "Cash clearing", Kind: "asset"}},
		Rules: []*costingv1.GetAccountRulesResponse_Rule{{Rule: "sold", Says: "A piece is sold.", Debits: []*costingv1.GetAccountRulesResponse_Line{{Account: "cash_clearing", Amount: "price + tax"}},
			Credits: []*costingv1.GetAccountRulesResponse_Line{{Account: "revenue", Amount: "price", Sheet: "revenue"}}}}}
	f.says(t, line("cost accounts"), "These come with the program.\n", "A purchase counts on the day on which its piece is taken in", "4000 Sales income revenue\n", "\nsold: A piece is sold.\n", " debit Cash clearing: price + tax\n", " credit Sales: price (revenue of the cost sheet)\n")
	f.desk.rules.Own = true
	f.says(t, line("cost accounts"), "These are the shop's own.\n")
	if out := f.says(t, line("cost accounts --yaml")); out != "accounts:\n" {
		t.Errorf("--yaml prints %q", out)
	}
}
