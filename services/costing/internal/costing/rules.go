package costing

import (
	_ "embed"
	"errors"
	"fmt"
	"maps"
	"slices"
	"sync"
	"time"

	"tackfree/pkg/ledger"
	"tackfree/pkg/money"
)

//go:embed rules.yaml
var standard []byte

// Rules are how the shop books: its accounts, a rule for each kind of thing that happens, and the
// clock by which its days and weeks begin.
type Rules struct {
	*ledger.Chart
	Zone *time.Location // nil: UTC
	Text string         // as they are written
}

// In are the same rules by the clock of a zone.
func (r *Rules) In(zone *time.Location) *Rules { return &Rules{r.Chart, zone, r.Text} }

// Own reports whether they are the shop's own, not those that come with the program.
func (r *Rules) Own() bool { return r.Text != string(standard) }

func (r *Rules) zone() *time.Location {
	if r.Zone == nil {
		return time.UTC
	}
	return r.Zone
}

// needs are the rules that the books cannot do without, and their amounts.
var needs = map[string][]string{
	"piece_bought": {"price"},
	"labour":       {"pay"}, "labour_again": {"pay"}, "labour_on_no_piece": {"pay"},
	"burden": {"burden"}, "burden_again": {"burden"}, "burden_on_no_piece": {"burden"},
	"burden_as_overhead": {"burden"},
	"paid_break":         {"pay"}, "clock_rounded": {"pay"},
	"premium": {"premium"}, "premium_again": {"premium"}, "premium_on_no_piece": {"premium"}, "premium_as_overhead": {"premium"},
	"overhead": {"share"}, "overhead_again": {"share"},
	"overhead_spent": {"cost"}, "month_closed": {"applied", "actual", "indirect"},
	"material_bought": {"cost"}, "material_used": {"cost"}, "material_used_again": {"cost"},
	"material_wasted": {"cost"}, "material_missing": {"cost"},
	"outside_work": {"bill"}, "outside_work_again": {"bill"},
	"sold":            {"price", "tax", "fee"},
	"stands_finished": {"begun", "again"}, "stands_sold": {"begun", "again"}, "stands_lost": {"begun", "again"},
}

// ReadRules reads account rules and refuses, by their names, those that do not balance, that are
// missing, and that put a piece's cost where it could not move on from.
func ReadRules(text []byte) (*Rules, error) {
	chart, err := ledger.Parse(text)
	if err != nil {
		return nil, err
	}
	r := &Rules{Chart: chart, Text: string(text)}
	var all []error
	for _, name := range slices.Sorted(maps.Keys(needs)) {
		rule := chart.Rule(name)
		if rule == nil || !slices.Equal(rule.Amounts, needs[name]) {
			all = append(all, fmt.Errorf("account rule %q is missing or does not take the amounts %v", name, needs[name]))
		}
	}
	for _, name := range chart.Rules() {
		all = append(all, r.home(name))
	}
	all = append(all, r.closes())
	return r, errors.Join(all...)
}

// home refuses a rule whose cost of a piece would not be found when the piece moves on.
func (r *Rules) home(name string) error {
	for _, l := range r.Rule(name).Accounts() {
		bucket := Bucket(l.Sheet)
		if want := homeOf(bucket); !bucket.known() || want != "" && l.Account != want {
			return fmt.Errorf("account rule %q books sheet line %q on %s; the lines are %v, costs stand in %s and %s", name, l.Sheet, l.Account, buckets, WorkInProcess, Again)
		}
	}
	return nil
}

// carried are the rules that book on an account which a month that is closed takes.
var carried = []struct {
	account Account
	rules   []string
}{{OverheadApplied, []string{"overhead", "overhead_again"}}, {OverheadSpent, []string{"overhead_spent"}}, {IndirectLabour, []string{"labour_on_no_piece"}}}

// closes refuses rules by which a month that is closed would not find what it has to take, or not
// take it.
func (r *Rules) closes() error {
	for _, c := range carried {
		for _, name := range append(c.rules, "month_closed") {
			rule := r.Rule(name)
			if rule != nil && !slices.ContainsFunc(rule.Accounts(), func(l ledger.Line) bool { return l.Account == c.account }) {
				return fmt.Errorf("account rule %q does not book on %s, which is closed with each month", name, c.account)
			}
		}
	}
	return nil
}

// Standard are the rules that come with the program.
var Standard = sync.OnceValue(func() *Rules {
	r, err := ReadRules(standard)
	if err != nil {
		panic(err) // it is compiled in
	}
	return r
})

// StandardText is how these rules are written, for a bookkeeper to begin with.
func StandardText() []byte { return slices.Clone(standard) }

// lines books amounts by a rule, as lines that are about something.
func (r *Rules) lines(rule string, about Line, amounts ...money.Amount) []Line {
	posted := r.Rule(rule).Lines(amounts...)
	out := make([]Line, len(posted))
	for i, l := range posted {
		out[i] = about
		out[i].Account, out[i].Bucket, out[i].Amount = l.Account, Bucket(l.Sheet), l.Amount
	}
	return out
}
