package costing_test

import (
	"maps"
	"slices"
	"strings"
	"testing"

	"go.yaml.in/yaml/v3"

	"tackfree/pkg/money"
	"tackfree/services/costing/internal/costing"
)

var creditRules = []string{"on_account", "payment_received", "cash_rounding"}

// own is a file of before there were rules for deposits, for what buyers owe and for the rounding of cash, with accounts of its own.
func own(t *testing.T, accounts ...map[string]string) *sheetOfRules {
	t.Helper()
	s := apart(t)
	older(s, slices.Concat(depositRules, creditRules)...)
	s.Accounts = slices.DeleteFunc(s.Accounts, func(a map[string]string) bool {
		return slices.Contains([]string{"accounts_receivable", "cash_rounding"}, a["name"])
	})
	s.Accounts = append(s.Accounts, accounts...)
	return s
}

func (s *sheetOfRules) rules(t *testing.T) *costing.Rules {
	t.Helper()
	text, err := yaml.Marshal(s)
	if err != nil {
		t.Fatal(err)
	}
	r, err := costing.ReadRules(text)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func account(name, kind string) map[string]string {
	return map[string]string{"name": name, "title": "Our " + name, "kind": kind}
}

// A shop that always booked its sales as owed, on an account of its own that the program has a name for only now, goes on with a newer
// program, and a sale is booked as before.
func TestReadRules_OlderFile_SoldOnAccount(t *testing.T) {
	s := own(t, account("accounts_receivable", "asset"))
	s.Rules["sold"].Debit[0]["account"] = "accounts_receivable"
	r := s.rules(t)
	b, piece := costing.NewBook(r), fact(nell).Piece
	b.Sell(fact(piece), 100_00, 0, 5_00)
	if got := balance(b, "accounts_receivable"); got != 95_00 || r.Entry("accounts_receivable").Title != "Our accounts_receivable" {
		t.Errorf("owed %d, want 9500", got)
	}
}

// An account of the shop's own keeps its name and its kind, whatever the program would put there; that of the program gets another name.
func TestReadRules_OlderFile_NamesOfOtherKinds(t *testing.T) {
	r := own(t, account("accounts_receivable", "liability"), account("cash_rounding", "income"), account("deposits_kept", "liability"), account("client_deposits", "asset")).rules(t)
	if r.Entry("cash_rounding").Kind != "income" || r.Entry("cash_rounding").Title != "Our cash_rounding" {
		t.Errorf("the shop's own account is %+v", r.Entry("cash_rounding"))
	}
	b, piece := costing.NewBook(r), fact(nell).Piece
	b.Deposit(fact(nell), 50_00)
	b.SettleDeposit(fact(nell), 20_00, true)
	b.Sell(fact(piece), 100_00, 0, 0)
	b.PayLater(fact(piece), 100_00)
	b.TakePayment(fact(piece), 40_00, 2)
	want := map[costing.Account]money.Amount{"client_deposits_2": -30_00, "deposits_kept_2": -20_00, "accounts_receivable_2": 60_00, "cash_rounding_2": -2,
		"revenue": -100_00, "cash_clearing": 50_00 + 40_02}
	if got := balances(b); !maps.Equal(got, want) {
		t.Errorf("the accounts are %v, want %v", got, want)
	}
	if err := b.Check(); err != nil {
		t.Error(err)
	}
}

// A file that has a rule of its own for what buyers owe names the account that the books look for, and it is an asset.
func TestReadRules_OlderFile_OwnRuleOnAccount(t *testing.T) {
	for want, change := range map[string]func(*sheetOfRules){
		`account "accounts_receivable" is missing or of another kind than asset`: func(s *sheetOfRules) { s.Accounts = append(s.Accounts, account("accounts_receivable", "liability")) },
		`"on_account" must book due as a debit on account accounts_receivable; it books nothing there`: func(s *sheetOfRules) {
			s.Rules["on_account"].Debit[0]["account"] = "asset"
		},
	} {
		s := own(t)
		s.Rules["on_account"] = apart(t).Rules["on_account"]
		change(s)
		if err := s.read(t); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("ReadRules = %v, want an error that says %s", err, want)
		}
	}
}
