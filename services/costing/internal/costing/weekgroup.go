package costing

import (
	"slices"
	"time"

	"tackfree/pkg/apportion"
	"tackfree/pkg/id"
	"tackfree/pkg/labour"
	"tackfree/pkg/money"
)

// Reopen notes that the weeks to which a stretch matters have to be settled anew, if the shop has a
// rule for them; terms are all that are known.
func (b *Book) Reopen(s Stretch, t *Terms, c Cause) {
	if len(t.payRules) == 0 {
		return
	}
	b.terms = t
	s.mattersTo(b.rules.zone(), func(w Week) {
		p := PersonWeek{s.Person, w.Monday}
		if _, ruled := t.PayRule(w); ruled && c.after(b.weeks[p]) {
			b.weeks[p] = c
		}
	})
}

// Weeks lists the workweeks that have to be settled anew, in one order always.
func (b *Book) Weeks() []PersonWeek {
	all := make([]PersonWeek, 0, len(b.weeks))
	for p := range b.weeks {
		all = append(all, p)
	}
	slices.SortFunc(all, comparePersonWeeks)
	return all
}

// Window is the time from which to which somebody's labour has to be known to settle weeks.
type Window struct {
	Person   id.ID
	From, To time.Time
}

// Needs is what labour has to be known for the weeks that have to be settled anew.
func (b *Book) Needs() (all []Window) {
	for _, p := range b.Weeks() {
		w := WeekOf(p.Monday, b.rules.zone())
		from, to := w.From.Add(-labour.MaxBreak), w.To.Add(labour.MaxBreak)
		if n := len(all); n > 0 && all[n-1].Person == p.Person {
			all[n-1].To = to
			continue
		}
		all = append(all, Window{p.Person, from, to})
	}
	return all
}

// SettleWeeks says what the ledger should have of each week that has to be settled anew, and why, by
// group: before is the labour that was booked earlier, as Needs asks for it.
func (b *Book) SettleWeeks(before []Stretch) (want map[id.ID][]Dated, causes map[id.ID]Cause) {
	labour := map[PersonWeek][]Stretch{}
	for _, s := range slices.Concat(before, b.Stretches) {
		s.mattersTo(b.rules.zone(), func(w Week) {
			p := PersonWeek{s.Person, w.Monday}
			if _, open := b.weeks[p]; open {
				labour[p] = append(labour[p], s)
			}
		})
	}
	want, causes = map[id.ID][]Dated{}, map[id.ID]Cause{}
	b.Tangled = map[PersonWeek]time.Time{}
	for _, p := range b.Weeks() {
		g := p.Group().ID
		d := b.terms.due(p, b.rules.zone(), labour[p])
		want[g], causes[g], b.Tangled[p] = b.rules.week(p, d), b.weeks[p], d.tangle.at
	}
	return want, causes
}

// week is what the ledger should have of a workweek beside its stretches.
func (r *Rules) week(p PersonWeek, d Due) (out []Dated) {
	book := func(at time.Time, rule string, about Line, amount money.Amount) {
		if amount == 0 {
			return
		}
		for _, l := range r.lines(rule, about, amount) {
			out = append(out, Dated{at, l})
		}
	}
	person := Line{Person: p.Person}
	for i, burden := range d.besideBurdens() {
		m := d.Beside[i]
		at, rule := earlier(m.At, d.until), "paid_break"
		if m.Rounding {
			rule = "clock_rounded"
		}
		book(at, rule, person, m.Pay)
		book(at, "burden_on_no_piece", person, burden)
	}
	for i, burden := range d.burdens() {
		share := d.Shares[i]
		premium, onIt, about := "premium_as_overhead", "burden_as_overhead", person
		if !d.toOverhead {
			about = d.jobs[share.Job]
			premium, onIt = ruleFor("premium", about), ruleFor("burden", about)
		}
		book(d.last[share.Part], premium, about, share.Premium)
		book(d.last[share.Part], onIt, about, burden)
	}
	return out
}

// besideBurdens are the burden on what is paid for breaks and rounding, of each its own; it is rounded
// once, and each gets what it brings the sum to beyond those before it.
func (d Due) besideBurdens() []money.Amount {
	out := make([]money.Amount, len(d.Beside))
	var pay, so money.Amount
	for i, m := range d.Beside {
		pay += m.Pay
		come := d.burdenOn(pay)
		out[i], so = come-so, come
	}
	return out
}

// burdens splits the burden on the premium over its shares, by hours as the premium is.
func (d Due) burdens() []money.Amount {
	weights := make([]int64, len(d.Shares))
	for i, s := range d.Shares {
		weights[i] = int64(s.Worked)
	}
	return apportion.Split(d.PremiumBurden, weights)
}
