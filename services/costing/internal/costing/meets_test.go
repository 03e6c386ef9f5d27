package costing_test

import (
	"fmt"
	"maps"
	"slices"
	"strings"
	"testing"

	"go.yaml.in/yaml/v3"

	"tackfree/services/costing/internal/costing"
)

// sheetOfRules are account rules taken apart, for a bookkeeper who writes lines of them otherwise.
type sheetOfRules struct {
	Accounts []map[string]string `yaml:"accounts"`
	Rules    map[string]*struct {
		Says    string              `yaml:"says"`
		Amounts []string            `yaml:"amounts"`
		Debit   []map[string]string `yaml:"debit"`
		Credit  []map[string]string `yaml:"credit"`
	} `yaml:"rules"`
}

// apart takes the program's rules apart and adds an account of each kind, named by it.
func apart(t *testing.T) *sheetOfRules {
	t.Helper()
	var s sheetOfRules
	if err := yaml.Unmarshal(costing.StandardText(), &s); err != nil {
		t.Fatal(err)
	}
	for _, kind := range everyKind {
		s.Accounts = append(s.Accounts, map[string]string{"name": kind, "title": "Some " + kind, "kind": kind})
	}
	return &s
}

var everyKind = []string{"asset", "liability", "income", "cost of sales", "expense"}

func (s *sheetOfRules) kind(account string) string {
	at := slices.IndexFunc(s.Accounts, func(a map[string]string) bool { return a["name"] == account })
	return s.Accounts[at]["kind"]
}

func (s *sheetOfRules) read(t *testing.T) error {
	t.Helper()
	text, err := yaml.Marshal(s)
	if err != nil {
		t.Fatal(err)
	}
	_, err = costing.ReadRules(text)
	return err
}

// What a piece cost is on the account from which it moves on with the piece. A sheet line that stands
// elsewhere would stay there for ever when the piece is given up, and what is in process go below nothing.
func TestReadRules_CostStandsWhereItMovesOnFrom(t *testing.T) {
	costs := 0
	for name := range apart(t).Rules {
		s := apart(t)
		for _, l := range s.Rules[name].Debit {
			if home := l["account"]; l["sheet"] != "" && (home == "work_in_process" || home == "rework") {
				costs++
				memo := map[string]string{"account": "asset", "amount": l["amount"], "sheet": l["sheet"]}
				s.Rules[name].Debit = append(s.Rules[name].Debit, memo)
				s.Rules[name].Credit = append(s.Rules[name].Credit, map[string]string{"account": "asset", "amount": l["amount"]})
				want := fmt.Sprintf("account rule %q counts in line %q of the cost sheet what it books on account asset; that line must be on account %s, from which the cost moves on", name, l["sheet"], home)
				delete(l, "sheet")
				if err := s.read(t); err == nil || !strings.Contains(err.Error(), want) {
					t.Errorf("ReadRules = %v, want an error that says %s", err, want)
				}
			}
		}
	}
	if costs < 12 {
		t.Errorf("only %d rules are of a cost", costs)
	}
}

// Wherever a rule books, a statement shows it as what it is: no price as something owned, no loss as
// cash, no tax as earned. These lines are put on an account of each kind; a line that is not here is one
// that the books look for, and another account is refused even where it is of the same kind.
func TestReadRules_KindsOfAccounts(t *testing.T) {
	const paid, lost = "asset, liability", "cost of sales, expense"
	taken := map[string]string{
		"piece_bought on cash_clearing": paid, "material_bought on cash_clearing": paid, "overhead_spent on cash_clearing": paid,
		"outside_work on accounts_payable": paid, "outside_work_again on accounts_payable": paid,
		"material_missing on inventory_adjustments": lost, "month_closed on cost_of_goods_sold": "cost of sales",
		"sold on cash_clearing": "asset", "sold on revenue": "income", "sold on tax_payable": "liability", "sold on channel_fees": lost,
		"stands_sold on cost_of_goods_sold": "cost of sales", "stands_lost on scrap_loss": lost,
		"deposit_received on cash_clearing": "asset", "deposit_received on client_deposits": "liability", "deposit_returned on cash_clearing": "asset",
		"deposit_returned on client_deposits": "liability", "deposit_used on cash_clearing": "asset", "deposit_used on client_deposits": "liability",
		"deposit_kept on client_deposits": "liability", "deposit_kept on deposits_kept": "income",
		"on_account on cash_clearing": paid, "payment_received on cash_clearing": "asset", "cash_rounding on cash_clearing": "asset", "cash_rounding on cash_rounding": lost,
	}
	s := apart(t)
	for _, name := range slices.Sorted(maps.Keys(s.Rules)) {
		for _, line := range slices.Concat(s.Rules[name].Debit, s.Rules[name].Credit) {
			was := line["account"]
			try, where := everyKind, name+" on "+was
			if taken[where] == "" {
				try = []string{s.kind(was)}
			}
			var kinds []string
			for _, kind := range try {
				line["account"] = kind
				err := s.read(t)
				if err == nil {
					kinds = append(kinds, kind)
				} else if !strings.Contains(err.Error(), fmt.Sprintf("account rule %q ", name)) {
					t.Errorf("%s with a line on kind %s: %v, want the rule named", name, kind, err)
				}
			}
			line["account"] = was
			slices.Sort(kinds)
			if got := strings.Join(kinds, ", "); got != taken[where] {
				t.Errorf("%s can as well be on %q, want %q", where, got, taken[where])
			}
		}
	}
}

// What is refused says what to do, in the bookkeeper's words.
func TestReadRules_SaysWhichKind(t *testing.T) {
	for want, change := range map[string]func(*sheetOfRules){
		`"sold" must book price as a credit on an account of kind income; it books nothing there`: func(s *sheetOfRules) {
			s.Rules["sold"].Credit[0]["account"] = "cash_clearing"
		},
		`"stands_lost" must book begun + again as a debit on an account of kind expense or cost of sales; it books nothing there`: func(s *sheetOfRules) {
			s.Rules["stands_lost"].Debit[0]["account"] = "cash_clearing"
		},
		`"month_closed" must book actual + indirect - applied as a debit on an account of kind cost of sales`: func(s *sheetOfRules) {
			s.Rules["month_closed"].Debit[1]["account"] = "channel_fees"
		},
		`"labour" must not book anything on another account of kind liability; it books pay as a debit there`: func(s *sheetOfRules) {
			s.Rules["labour"].Debit = append(s.Rules["labour"].Debit, map[string]string{"account": "liability", "amount": "pay"})
			s.Rules["labour"].Credit = append(s.Rules["labour"].Credit, map[string]string{"account": "asset", "amount": "pay"})
		},
	} {
		s := apart(t)
		change(s)
		if err := s.read(t); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("ReadRules = %v, want an error that says %s", err, want)
		}
	}
}

// A rule of a name that the program does not book by would never book anything: it is refused, and
// the nearest of those that there are comes first.
func TestReadRules_RefusesRulesThatNothingIsBookedBy(t *testing.T) {
	for name, want := range map[string]string{"deposit_taken": "the rules are ", "material_wastd": "the rules are material_wasted, ", "stand_sold": "the rules are stands_sold, "} {
		s := apart(t)
		s.Rules[name] = s.Rules["material_bought"]
		err := s.read(t)
		if err == nil || !strings.Contains(err.Error(), fmt.Sprintf("account rule %q: nothing is booked by a rule of that name", name)) || !strings.Contains(err.Error(), want) {
			t.Errorf("ReadRules = %v, want %s refused and %s", err, name, want)
			continue
		}
		for rule := range apart(t).Rules {
			if !strings.Contains(err.Error(), rule) {
				t.Errorf("it does not say that there is %s: %v", rule, err)
			}
		}
	}
}
