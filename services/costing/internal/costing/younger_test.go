package costing_test

import (
	"maps"
	"slices"
	"strings"
	"testing"

	"go.yaml.in/yaml/v3"

	"tackfree/services/costing/internal/costing"
)

// older takes away what a file lacks that was written before deposits were booked.
func older(s *sheetOfRules, rules ...string) {
	maps.DeleteFunc(s.Rules, func(name string, _ *struct {
		Says    string              `yaml:"says"`
		Amounts []string            `yaml:"amounts"`
		Debit   []map[string]string `yaml:"debit"`
		Credit  []map[string]string `yaml:"credit"`
	}) bool {
		return slices.Contains(rules, name)
	})
	s.Accounts = slices.DeleteFunc(s.Accounts, func(a map[string]string) bool {
		return slices.Contains([]string{"client_deposits", "deposits_kept"}, a["name"])
	})
}

var depositRules = []string{"deposit_received", "deposit_returned", "deposit_used", "deposit_kept"}

// A shop's own rules from before there were rules for deposits are taken as they are, and what they lack is the program's: a shop
// goes on with a newer program.
func TestReadRules_OlderFile(t *testing.T) {
	s := apart(t)
	older(s, depositRules...)
	for _, a := range s.Accounts {
		if a["name"] == "cash_clearing" {
			a["title"] = "Till and bank"
		}
	}
	text, err := yaml.Marshal(s)
	if err != nil {
		t.Fatal(err)
	}
	r, err := costing.ReadRules(text)
	if err != nil {
		t.Fatalf("ReadRules of an older file: %v", err)
	}
	if r.Text != string(text) || r.Entry("client_deposits").Title != "Client deposits" || r.Entry("deposits_kept").Kind != "income" || r.Entry("cash_clearing").Title != "Till and bank" {
		t.Errorf("accounts = %+v", r.Entries)
	}
	b := costing.NewBook(r)
	b.Deposit(fact(nell), 50_00)
	b.SettleDeposit(fact(nell), 20_00, true)
	if owed, kept, cash := balance(b, "client_deposits"), balance(b, "deposits_kept"), balance(b, "cash_clearing"); owed != -30_00 || kept != -20_00 || cash != 50_00 {
		t.Errorf("owed %d, kept %d, cash %d; want -3000, -2000, 5000", owed, kept, cash)
	}
}

// What of the younger rules a file has is the shop's own; what is wrong with it, or with an account of the same name, is refused.
func TestReadRules_OlderFile_OwnAndWrong(t *testing.T) {
	s := apart(t)
	older(s, "deposit_received", "deposit_returned", "deposit_used")
	s.Accounts = append(s.Accounts, map[string]string{"name": "windfall", "title": "Windfalls", "kind": "income"}, map[string]string{"name": "client_deposits", "title": "Deposits", "kind": "liability"})
	s.Rules["deposit_kept"].Credit[0]["account"] = "windfall"
	if err := s.read(t); err != nil {
		t.Errorf("with a rule of its own: %v", err)
	}
	for i, a := range s.Accounts {
		if a["name"] == "client_deposits" {
			s.Accounts[i]["kind"] = "asset"
		}
	}
	if err := s.read(t); err == nil || !strings.Contains(err.Error(), `account rule "deposit_kept" must book deposit as a debit on an account of kind liability`) {
		t.Errorf("deposits as an asset: %v, want its own deposit_kept named", err)
	}
	s = apart(t)
	older(s, depositRules...)
	older(s, "sold")
	if err := s.read(t); err == nil || !strings.Contains(err.Error(), `account rule "sold" is missing`) {
		t.Errorf("without an old rule: %v, want it named", err)
	}
}

// The books of a deposit by hand (a liability until the piece is handed over, as IFRS 15, paragraph 106, has it; cited from memory): 100.00 given, 30.00 back, a sale of 240.00
// and 19.20 tax with 70.00 of it. Cash is what came in in all, nothing is owed, and revenue is the whole price.
func TestBook_Deposit(t *testing.T) {
	b, piece := costing.NewBook(costing.Standard()), fact(nell).Piece
	about := func(f costing.Fact) costing.Fact { f.Piece = piece; return f }
	b.Deposit(about(fact(nell)), 100_00)
	if got := balance(b, "client_deposits"); got != -100_00 || balance(b, "revenue") != 0 || b.Of(piece).Sums != (costing.Sums{}) {
		t.Errorf("given: owed %d, want 10000 and nothing earned", -got)
	}
	b.SettleDeposit(about(fact(nell)), 30_00, false)
	b.Sell(about(fact(piece)), 240_00, 19_20, 0)
	b.UseDeposit(about(fact(piece)), 70_00)
	want := map[costing.Account]int64{"client_deposits": 0, "cash_clearing": 259_20, "revenue": -240_00, "tax_payable": -19_20, "deposits_kept": 0}
	for account, sum := range want {
		if got := balance(b, account); int64(got) != sum {
			t.Errorf("%s = %d, want %d", account, got, sum)
		}
	}
	if s := b.Of(piece).Sums; s.Revenue != 240_00 || s.Tax != 19_20 {
		t.Errorf("on the sheet %+v", s)
	}
	if err := b.Check(); err != nil {
		t.Error(err)
	}
	r := costing.Standard()
	if got, want := says(b.Transactions[2]), r.Rule("sold").Says+" "+r.Rule("deposit_used").Says; got != want {
		t.Errorf("the sale says %q, want %q", got, want)
	}
	if got, want := says(b.Transactions[1]), r.Rule("deposit_returned").Says; got != want {
		t.Errorf("what goes back says %q, want %q", got, want)
	}
}
