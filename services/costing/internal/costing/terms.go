package costing

import (
	"cmp"
	"slices"
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/money"
)

// Burden is what employing somebody costs on top of their pay, from a day on: employer's taxes,
// insurance.
type Burden struct {
	ID         id.ID
	Person     id.ID     // id.Nil: everybody for whom none of their own is known
	Day        time.Time // the first calendar day it holds
	From       time.Time // that day's beginning in the shop's zone
	Share      int64     // of pay, in millionths: 76,500 is 7.65 %
	Ends       bool      // the person has none of their own any more: that of everybody counts again
	Actor      string
	RecordedAt time.Time
}

// millionths is the whole of which a burden is a share.
const millionths = 1_000_000

// Basis is what an overhead rate is per hour of.
type Basis string

// The bases of overhead.
const (
	LabourHour  Basis = "labour_hour"
	MachineHour Basis = "machine_hour"
)

// OverheadRate is what an hour on a piece carries of the shop's overhead, from a day on.
type OverheadRate struct {
	ID         id.ID
	Department string   // empty: whatever is of no department
	StageKinds []string // that are the department's
	Basis      Basis
	PerHour    money.Amount // 0: the department has none of its own from then on
	Day        time.Time
	From       time.Time
	Actor      string
	RecordedAt time.Time
}

// Term is something that is recorded beside the events and changes what a stretch costs: exactly
// one of the three.
type Term struct {
	ID         id.ID
	RecordedAt time.Time
	Rate       *Rate
	Burden     *Burden
	Overhead   *OverheadRate
}

// From is the instant from which the term counts.
func (t Term) From() time.Time {
	switch {
	case t.Rate != nil:
		return t.Rate.From
	case t.Burden != nil:
		return t.Burden.From
	}
	return t.Overhead.From
}

// Person is whom alone the term is about; id.Nil: everybody.
func (t Term) Person() id.ID {
	switch {
	case t.Rate != nil:
		return t.Rate.Person
	case t.Burden != nil:
		return t.Burden.Person
	}
	return id.Nil
}

// Terms are all terms of some people and of the shop, in the order they were recorded.
type Terms struct {
	Rates Rates
	shop  []Term
	own   map[id.ID][]Term
	all   map[id.ID][]Term     // of a person: own and the shop's; made when asked for
	plans map[planKey]*pricing // likewise

	payRules []PayRule // by when they begin
}

// planKey is a person and how many of their terms are known.
type planKey struct {
	person id.ID
	known  int
}

// NewTerms gathers terms.
func NewTerms(rates []Rate, burdens []Burden, overheads []OverheadRate) *Terms {
	t := &Terms{Rates: NewRates(rates), own: map[id.ID][]Term{}, all: map[id.ID][]Term{}, plans: map[planKey]*pricing{}}
	for i := range rates {
		t.own[rates[i].Person] = append(t.own[rates[i].Person], Term{ID: rates[i].ID, RecordedAt: rates[i].RecordedAt, Rate: &rates[i]})
	}
	for i := range burdens {
		term := Term{ID: burdens[i].ID, RecordedAt: burdens[i].RecordedAt, Burden: &burdens[i]}
		if p := burdens[i].Person; p != id.Nil {
			t.own[p] = append(t.own[p], term)
		} else {
			t.shop = append(t.shop, term)
		}
	}
	for i := range overheads {
		t.shop = append(t.shop, Term{ID: overheads[i].ID, RecordedAt: overheads[i].RecordedAt, Overhead: &overheads[i]})
	}
	return t
}

// Of lists the terms that are about a person, in the order they were recorded.
func (t *Terms) Of(person id.ID) []Term {
	if all, made := t.all[person]; made {
		return all
	}
	all := slices.Concat(t.shop, t.own[person])
	slices.SortFunc(all, func(a, b Term) int {
		return cmp.Or(a.RecordedAt.Compare(b.RecordedAt), id.Compare(a.ID, b.ID))
	})
	t.all[person] = all
	return all
}

// KnownAt counts the person's terms that were recorded no later than an instant.
func (t *Terms) KnownAt(person id.ID, at time.Time) int {
	n := 0
	for _, term := range t.Of(person) {
		if term.RecordedAt.After(at) {
			break
		}
		n++
	}
	return n
}

// pricing gives how the first n of the person's terms price their time.
func (t *Terms) pricing(person id.ID, n int) *pricing {
	key := planKey{person, n}
	p := t.plans[key]
	if p == nil {
		p = newPricing(t.Of(person)[:n])
		t.plans[key] = p
	}
	return p
}
