package costing_test

import (
	"slices"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"tackfree/pkg/id"
	"tackfree/pkg/labour"
	"tackfree/pkg/money"
	"tackfree/services/costing/internal/costing"
)

// Each workweek stands alone (29 CFR 778.104). Of a night from Sunday, 22:00, to Monday, 2:00, either week has what
// its own hours cost: at 20.00, and from that Monday on at 30.00; and what the employer pays on them.
func TestPayroll_RaiseFromMonday(t *testing.T) {
	sunday, week := at(3, 15, 22, 0), weekOf(3, 9)
	long, midnight := at(1, 1, 0, 0), at(3, 16, 0, 0)
	twenty, thirty := rate(20_00, long, monday), rate(30_00, midnight, monday.Add(time.Hour))
	tenth, fifth := burden(id.Nil, 10*percent, long, monday), burden(id.Nil, 20*percent, midnight, monday.Add(time.Hour))
	two := 2 * time.Hour
	for name, c := range map[string]struct {
		rates       []costing.Rate
		burdens     []costing.Burden
		first, then costing.PayLine
	}{
		"Before":     {[]costing.Rate{twenty}, nil, costing.PayLine{Labour: two, Pay: 40_00}, costing.PayLine{Labour: two, Pay: 40_00}},
		"Raise":      {[]costing.Rate{twenty, thirty}, nil, costing.PayLine{Labour: two, Pay: 40_00}, costing.PayLine{Labour: two, Pay: 60_00}},
		"FirstRate":  {[]costing.Rate{thirty}, nil, costing.PayLine{Labour: two, Unrated: day(15)}, costing.PayLine{Labour: two, Pay: 60_00}},
		"Burden":     {[]costing.Rate{twenty}, []costing.Burden{tenth, fifth}, costing.PayLine{Labour: two, Pay: 40_00, Burden: 4_00}, costing.PayLine{Labour: two, Pay: 40_00, Burden: 8_00}},
		"FromMonday": {[]costing.Rate{twenty, thirty}, []costing.Burden{fifth}, costing.PayLine{Labour: two, Pay: 40_00}, costing.PayLine{Labour: two, Pay: 60_00, Burden: 12_00}},
	} {
		t.Run(name, func(t *testing.T) {
			d := &desk{rates: costing.NewRates(c.rates), burdens: c.burdens, stretches: []costing.Stretch{nells(sunday, 4*time.Hour)}}
			d.says(t, week, c.first)
			d.says(t, week.Next(newYork), c.then)
		})
	}
}

// A raise from Monday changes neither the week that was locked before it nor, late, the first that is open, and
// the overtime of either is paid by its own regular rate: of two weeks of 42 hours 40.00 and 60.00 are premium.
func TestPayroll_RaiseFromMonday_Locked(t *testing.T) {
	long := at(1, 1, 0, 0)
	d := &desk{rates: costing.NewRates([]costing.Rate{rate(20_00, long, monday)}), rules: []costing.PayRule{payRule(3, 9, timeAndAHalf)}}
	d.work(nells(at(3, 9, 0, 0), 38*time.Hour), nells(at(3, 15, 20, 0), 8*time.Hour), nells(at(3, 17, 0, 0), 38*time.Hour))
	asLocked := costing.PayLine{Labour: 42 * time.Hour, Overtime: 2 * time.Hour, Premium: 20_00, Pay: 860_00}
	d.says(t, weekOf(3, 9), asLocked)
	d.lock(weekOf(3, 9))
	d.rates[nell] = append(d.rates[nell], rate(30_00, at(3, 16, 0, 0), monday.Add(time.Hour)))
	d.says(t, weekOf(3, 9), asLocked)
	d.says(t, weekOf(3, 16), costing.PayLine{Labour: 42 * time.Hour, Overtime: 2 * time.Hour, Premium: 30_00, Pay: 1290_00})
}

// night draws shares of one stretch of Nell's over the end of the week of 9 March.
func night(t *rapid.T) []costing.Stretch {
	var lengths []time.Duration
	for _, ms := range rapid.SliceOfN(rapid.Int64Range(1, 5*3600_000), 1, 4).Draw(t, "shares") {
		lengths = append(lengths, time.Duration(ms)*time.Millisecond)
	}
	return shares(at(3, 16, 0, 0).Add(-time.Duration(rapid.Int64Range(1, 10*3600_000).Draw(t, "before midnight"))*time.Millisecond), lengths...)
}

// somePay draws a rate, and what the employer pays on it, that may begin on a day of March.
func somePay(t *rapid.T, first, last int) (costing.Rate, costing.Burden) {
	from := at(3, rapid.IntRange(first, last).Draw(t, "day"), 0, 0)
	return rate(money.Amount(rapid.SampledFrom([]int64{20_01, rapid.Int64Range(0, 99_99).Draw(t, "any")}).Draw(t, "per hour")), from, monday),
		burden(rapid.SampledFrom([]id.ID{id.Nil, nell}).Draw(t, "whose"), rapid.Int64Range(0, 300_000).Draw(t, "share"), from, monday)
}

// Whatever is paid from the next Monday on, or later, changes not a cent of a week, of a batch's night over its end
// neither; and both weeks have what the ledger has.
func TestPayroll_WeekStandsAlone(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := &desk{stretches: night(t), rules: []costing.PayRule{payRule(3, 9, labour.Rule{WeeklyAfter: time.Hour, Percent: 150, RoundTo: 6 * time.Minute})}}
		var rates []costing.Rate
		pay := func(first, last int) {
			r, b := somePay(t, first, last)
			rates, d.burdens = append(rates, r), append(d.burdens, b)
			d.rates = costing.NewRates(rates)
		}
		for range rapid.IntRange(0, 3).Draw(t, "before") {
			pay(1, 15)
		}
		before := d.payroll().Of(weekOf(3, 9))
		pay(16, 17)
		if diff := cmp.Diff(before, d.payroll().Of(weekOf(3, 9))); diff != "" {
			t.Fatalf("the week before (-then +now):\n%s", diff)
		}
		k := keepBooks(t)
		k.work(d.terms(), d.stretches...)
		var wages, burden money.Amount
		for _, l := range slices.Concat(d.payroll().Of(weekOf(3, 9)), d.payroll().Of(weekOf(3, 16))) {
			wages, burden = wages+l.Pay, burden+l.Burden
		}
		if owes, onTop := k.owes(costing.WagesPayable), k.owes(costing.BurdenPayable); owes != wages || onTop != burden {
			t.Fatalf("the weeks come to %d and %d on top, the ledger owes %d and %d", wages, burden, owes, onTop)
		}
	})
}
