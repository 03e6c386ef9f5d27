package costing

import (
	_ "embed"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"
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

	taken []string // the rules that the text lacks, and that are the program's
}

// In are the same rules by the clock of a zone.
func (r *Rules) In(zone *time.Location) *Rules { return &Rules{r.Chart, zone, r.Text, r.taken} }

// Own reports whether they are the shop's own, not those that come with the program.
func (r *Rules) Own() bool { return r.Text != string(standard) }

func (r *Rules) zone() *time.Location {
	if r.Zone == nil {
		return time.UTC
	}
	return r.Zone
}

// younger are the rules that were not there from the beginning. The shop's own file may be older than they are: it then books by those that
// come with the program, on the accounts that these name.
var younger = []string{"deposit_received", "deposit_returned", "deposit_used", "deposit_kept", "on_account", "payment_received", "cash_rounding"}

// program are the accounts and rules that come with the program, as they are written.
var program = sync.OnceValues(func() (*ledger.Chart, error) { return ledger.Parse(standard) })

// ReadRules reads account rules and refuses, by their names, those that do not balance, that are
// missing but for the younger ones, that nothing is booked by, and by which the books would not find again what they booked.
func ReadRules(text []byte) (*Rules, error) {
	chart, err := ledger.Parse(text)
	if err != nil {
		return nil, err
	}
	from, err := program()
	if err != nil {
		return nil, err
	}
	r := &Rules{Chart: chart, Text: string(text), taken: chart.Complete(from, younger...)}
	return r, errors.Join(r.unknownRules(), r.unknownLines(), r.meets())
}

// unknownRules refuses rules that nothing is booked by: whoever wrote them believes that it is.
func (r *Rules) unknownRules() error {
	var all []error
	for _, name := range r.Rules() {
		if _, known := demands[name]; !known {
			all = append(all, fmt.Errorf("account rule %q: nothing is booked by a rule of that name; leave it away, the rules are %s",
				name, strings.Join(nearest(name, slices.Sorted(maps.Keys(demands))), ", ")))
		}
	}
	return errors.Join(all...)
}

// unknownLines refuses rules that count in a line which no cost sheet has.
func (r *Rules) unknownLines() error {
	var all []error
	for _, name := range r.Rules() {
		for _, l := range r.Rule(name).Accounts() {
			if !Bucket(l.Sheet).known() {
				all = append(all, fmt.Errorf("account rule %q counts in sheet line %q; the lines are %s", name, l.Sheet, said(buckets[1:])))
			}
		}
	}
	return errors.Join(all...)
}

func said(lines []Bucket) string {
	words := make([]string, len(lines))
	for i, line := range lines {
		words[i] = string(line)
	}
	return strings.Join(words, ", ")
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
