package costing_test

import (
	"bytes"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"tackfree/pkg/money"
	"tackfree/services/costing/internal/costing"
)

// The books begin only by rules that balance, that are all there, and by which what a piece costs
// is found again when it moves on; what is wrong is named.
func TestReadRules_Refuses(t *testing.T) {
	for name, c := range map[string]struct{ old, by, want string }{
		"OutOfBalance":     {"debit: [{account: indirect_labour, amount: pay}]\n", "debit: [{account: indirect_labour, amount: pay + pay}]\n", `"labour_on_no_piece": it does not balance`},
		"Missing":          {"  outside_work_again:", "  outside_work_some_day:", `"outside_work_again" is missing`},
		"OtherAmounts":     {"amounts: [price, tax, fee]", "amounts: [price, tax, fee, tip]", `"sold" is missing or does not take these amounts: price, tax, fee`},
		"UnknownAccount":   {"{account: channel_fees, amount: fee, sheet: fees}", "{account: commissions, amount: fee, sheet: fees}", `there is no account "commissions"`},
		"CostGetsLost":     {"{account: work_in_process, amount: bill, sheet: outside}", "{account: overhead_actual, amount: bill, sheet: outside}", `"outside_work" counts in line "outside" of the cost sheet what it books on account overhead_actual; that line must be on account work_in_process`},
		"AlsoOverhead":     {"{account: work_in_process, amount: bill, sheet: outside}", "{account: work_in_process, amount: bill, sheet: outside}, {account: overhead_actual, amount: bill}, {account: accounts_payable, amount: bill - bill - bill}", `"outside_work" must not book anything on account overhead_actual; it books bill as a debit there`},
		"NoCost":           {"{account: work_in_process, amount: pay, sheet: labour}", "{account: work_in_process, amount: pay}", `"labour" must count pay as a debit in line "labour" of the cost sheet; it counts nothing there`},
		"AnotherLine":      {"{account: work_in_process, amount: pay, sheet: labour}", "{account: work_in_process, amount: pay, sheet: material}", `"labour" must count pay as a debit in line "labour"`},
		"NothingEarned":    {"{account: revenue, amount: price, sheet: revenue}", "{account: revenue, amount: price}", `"sold" must count price as a credit in line "revenue" of the cost sheet; it counts nothing there`},
		"PaidAtOnce":       {"credit: [{account: wages_payable, amount: pay}]", "credit: [{account: cash_clearing, amount: pay}]", `"labour" must book pay as a credit on account wages_payable; it books nothing there`},
		"StaysInProcess":   {"debit: [{account: cost_of_goods_sold, amount: begun + again}]\n    credit: [{account: work_in_process, amount: begun}, {account: rework, amount: again}]", "debit: [{account: cost_of_goods_sold, amount: begun + again}]\n    credit: [{account: finished_goods, amount: begun + again}]", `"stands_sold" must not book anything on account finished_goods; it books begun + again as a credit there`},
		"NotTakenAtClose":  {"- {account: indirect_labour, amount: indirect}", "- {account: overhead_actual, amount: indirect}", `"month_closed" must book indirect as a credit on account indirect_labour; it books nothing there`},
		"ProcessIsExpense": {"{name: work_in_process, title: Work in process, kind: asset}", "{name: work_in_process, title: Work in process, kind: expense}", `account "work_in_process" is missing or of another kind than asset`},
		"UnknownSheet":     {"sheet: acquisition", "sheet: purchase", `"piece_bought" counts in sheet line "purchase"`},
		"UnknownKind":      {"kind: income", "kind: earnings", `account "revenue" is of kind "earnings"`},
		"UnknownWord":      {"    says: A piece that was bought for stock is taken in.", "    means: A piece that was bought for stock is taken in.", "cannot be read"},
		"NoSum":            {"amount: price + tax - fee", "amount: price plus tax", `"sold": "price plus tax" is not a sum of its amounts`},
		"NothingAtAll":     {string(costing.StandardText()), "accounts: []\n", `"labour" is missing`},
		"AccountIsTwice":   {"{name: rework,", "{name: finished_goods,", `account "finished_goods" is there twice`},
		"TwoLinesOffByIt":  {"credit: [{account: work_in_process, amount: begun}, {account: rework, amount: again}]", "credit: [{account: work_in_process, amount: begun}]", "does not balance: again is debited 1 times and credited 0 times"},
	} {
		t.Run(name, func(t *testing.T) {
			text := bytes.Replace(costing.StandardText(), []byte(c.old), []byte(c.by), 1)
			if bytes.Equal(text, costing.StandardText()) {
				t.Fatalf("the rules have no %q", c.old)
			}
			if _, err := costing.ReadRules(text); err == nil || !strings.Contains(err.Error(), c.want) {
				t.Errorf("ReadRules = %v, want an error that says %s", err, c.want)
			}
		})
	}
}

// Whatever the amounts are, below zero too, what a rule books adds up to nothing.
func TestRules_Balance(t *testing.T) {
	r := costing.Standard()
	rapid.Check(t, func(t *rapid.T) {
		rule := r.Rule(rapid.SampledFrom(r.Rules()).Draw(t, "rule"))
		amounts := make([]money.Amount, len(rule.Amounts))
		for i := range amounts {
			amounts[i] = money.Amount(rapid.Int64Range(-int64(money.Max), int64(money.Max)).Draw(t, rule.Amounts[i]))
		}
		var sum money.Amount
		for _, l := range rule.Lines(amounts...) {
			sum += l.Amount
		}
		if sum != 0 {
			t.Fatalf("%s of %v comes to %d", rule.Name, amounts, sum)
		}
	})
}

// A bookkeeper may number and call accounts otherwise, and put what is theirs elsewhere.
func TestReadRules_TheShopsOwn(t *testing.T) {
	text := strings.NewReplacer(
		`{name: cash_clearing, title: Cash clearing, kind: asset}`, `{name: cash_clearing, number: "1000", title: Till and bank, kind: asset}`,
		`  - {name: revenue,`, "  - {name: card_fees, title: Card fees, kind: expense}\n  - {name: revenue,",
		`{account: channel_fees, amount: fee, sheet: fees}`, `{account: card_fees, amount: fee, sheet: fees}`).Replace(string(costing.StandardText()))
	r, err := costing.ReadRules([]byte(text))
	if err != nil {
		t.Fatal(err)
	}
	if e := r.Entry("cash_clearing"); e.Number != "1000" || e.Title != "Till and bank" {
		t.Errorf("cash clearing = %+v", e)
	}
	b, piece := costing.NewBook(r), fact(nell).Piece
	b.Sell(fact(piece), 100_00, 0, 7_00)
	if got := balance(b, "card_fees"); got != 7_00 || b.Of(piece).Fees != 7_00 {
		t.Errorf("card fees = %d, on the sheet %d, want 700", got, b.Of(piece).Fees)
	}
}
