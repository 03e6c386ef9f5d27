package costing

import "tackfree/pkg/ledger"

// demand is what the books must find in a rule, whatever else a bookkeeper makes of it: its amounts,
// and what it puts, in the words of the rules, in each line of a cost sheet, on the accounts that
// the books look for, and on the others by their kinds. In a line, on an account or on others of a kind
// that is not named it puts nothing.
type demand struct {
	amounts  []string
	sheets   map[Bucket]string
	accounts map[Account]string
	others   []others
}

// others are what a rule puts on accounts of some kinds that the books do not look for.
type others struct {
	kinds  []ledger.Kind
	amount string
}

func on(amount string, kinds ...ledger.Kind) others { return others{kinds, amount} }

// paid is whoever pays: out of what is owned, or by owing it.
func paid(amount string) others { return on("-"+amount, ledger.Asset, ledger.Liability) }

// lost is what is gone and no work on a piece.
func lost(amount string) others { return on(amount, ledger.Expense, ledger.CostSold) }

// spent demands that an amount is a cost of a piece, and stands against an account or whoever pays.
func spent(amount string, bucket Bucket, against Account) demand {
	d := demand{amounts: []string{amount}, sheets: map[Bucket]string{bucket: amount}, accounts: map[Account]string{homeOf(bucket): amount}}
	if against == "" {
		d.others = []others{paid(amount)}
	} else {
		d.accounts[against] = "-" + amount
	}
	return d
}

// shops demands that an amount goes to an account of the shop's own.
func shops(amount string, to, against Account) demand {
	return demand{amounts: []string{amount}, accounts: map[Account]string{to: amount, against: "-" + amount}}
}

// allCost is what a piece cost, of which again was done again.
const allCost = "begun + again"

// stands demands that all cost leaves what is in process, for other accounts.
func stands(to ...others) demand {
	return demand{amounts: []string{"begun", "again"}, accounts: map[Account]string{WorkInProcess: "-begun", Again: "-again"}, others: to}
}

// standsOn demands that all cost leaves what is in process, for an account that the books look for.
func standsOn(to Account) demand {
	d := stands()
	d.accounts[to] = allCost
	return d
}

// demands are the rules that the books cannot do without, and all by which they book.
var demands = map[string]demand{
	"piece_bought": spent("price", Acquisition, ""),
	"labour":       spent("pay", Labour, WagesPayable), "labour_again": spent("pay", Rework, WagesPayable),
	"labour_on_no_piece": shops("pay", IndirectLabour, WagesPayable),
	"burden":             spent("burden", OnPay, BurdenPayable), "burden_again": spent("burden", Rework, BurdenPayable),
	"burden_on_no_piece": shops("burden", IndirectLabour, BurdenPayable), "burden_as_overhead": shops("burden", OverheadSpent, BurdenPayable),
	"paid_break": shops("pay", IndirectLabour, WagesPayable), "clock_rounded": shops("pay", IndirectLabour, WagesPayable),
	"premium": spent("premium", Premium, WagesPayable), "premium_again": spent("premium", Rework, WagesPayable),
	"premium_on_no_piece": shops("premium", IndirectLabour, WagesPayable), "premium_as_overhead": shops("premium", OverheadSpent, WagesPayable),
	"overhead": spent("share", Overhead, OverheadApplied), "overhead_again": spent("share", Rework, OverheadApplied),
	"overhead_spent": {amounts: []string{"cost"}, accounts: map[Account]string{OverheadSpent: "cost"}, others: []others{paid("cost")}},
	"month_closed": {amounts: []string{"applied", "actual", "indirect"},
		accounts: map[Account]string{OverheadApplied: "applied", OverheadSpent: "-actual", IndirectLabour: "-indirect"},
		others:   []others{on("actual + indirect - applied", ledger.CostSold)}},
	"material_bought": {amounts: []string{"cost"}, accounts: map[Account]string{MaterialsOnHand: "cost"}, others: []others{paid("cost")}},
	"material_used":   spent("cost", Material, MaterialsOnHand), "material_used_again": spent("cost", Rework, MaterialsOnHand),
	"material_wasted":  shops("cost", OverheadSpent, MaterialsOnHand),
	"material_missing": {amounts: []string{"cost"}, accounts: map[Account]string{MaterialsOnHand: "-cost"}, others: []others{lost("cost")}},
	"outside_work":     spent("bill", Outside, ""), "outside_work_again": spent("bill", Rework, ""),
	"sold": {amounts: []string{"price", "tax", "fee"}, sheets: map[Bucket]string{Earned: "-price", Tax: "-tax", Fees: "fee"},
		others: []others{on("-price", ledger.Income), on("-tax", ledger.Liability), lost("fee"), on("price + tax - fee", ledger.Asset)}},
	"deposit_received": {amounts: []string{"deposit"}, others: []others{on("-deposit", ledger.Liability), on("deposit", ledger.Asset)}},
	"deposit_returned": {amounts: []string{"deposit"}, others: []others{on("deposit", ledger.Liability), on("-deposit", ledger.Asset)}},
	"deposit_used":     {amounts: []string{"deposit"}, others: []others{on("deposit", ledger.Liability), on("-deposit", ledger.Asset)}},
	"deposit_kept":     {amounts: []string{"deposit"}, others: []others{on("deposit", ledger.Liability), on("-deposit", ledger.Income)}},
	"on_account":       {amounts: []string{"due"}, accounts: map[Account]string{Receivable: "due"}, others: []others{paid("due")}},
	"payment_received": {amounts: []string{"paid"}, accounts: map[Account]string{Receivable: "-paid"}, others: []others{on("paid", ledger.Asset)}},
	"cash_rounding":    {amounts: []string{"difference"}, others: []others{on("difference", ledger.Asset), lost("-difference")}},
	"stands_finished":  standsOn(FinishedGoods), "stands_sold": stands(on(allCost, ledger.CostSold)), "stands_lost": stands(lost(allCost)),
}

// sought are the accounts that the books look for, and what each must be.
var sought = map[Account]ledger.Kind{WorkInProcess: ledger.Asset, Again: ledger.Asset, FinishedGoods: ledger.Asset, MaterialsOnHand: ledger.Asset,
	CashClearing: ledger.Asset, Receivable: ledger.Asset, WagesPayable: ledger.Liability, BurdenPayable: ledger.Liability,
	OverheadApplied: ledger.Expense, OverheadSpent: ledger.Expense, IndirectLabour: ledger.Expense}
