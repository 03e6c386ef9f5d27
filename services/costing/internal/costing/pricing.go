package costing

import (
	"maps"
	"slices"
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/money"
)

// Price is what a stretch of labour costs, each part rounded by itself.
type Price struct {
	Pay      money.Amount
	Burden   money.Amount // on the pay
	Overhead money.Amount // applied by the labour hour
}

func (p Price) less(q Price) Price {
	return Price{p.Pay - q.Pay, p.Burden - q.Burden, p.Overhead - q.Overhead}
}

func (p Price) sum() money.Amount { return p.Pay + p.Burden + p.Overhead }

func (p Price) times(sign money.Amount) Price {
	return Price{sign * p.Pay, sign * p.Burden, sign * p.Overhead}
}

// step is a value that holds from an instant until the next step.
type step struct {
	from  time.Time
	value int64
	ends  bool // it has no value of its own: what holds for everybody counts again
}

// pricing prices somebody's time by some of their terms.
type pricing struct {
	pay       []step
	burden    []step // millionths
	overheads []OverheadRate
	by        map[string][]step // overhead by the labour hour, by stage kind; made when asked for
}

func newPricing(terms []Term) *pricing {
	p := &pricing{by: map[string][]step{}}
	var rates []Rate
	var own, shop []Burden
	for _, t := range terms {
		switch {
		case t.Rate != nil:
			rates = append(rates, *t.Rate)
		case t.Burden != nil && t.Burden.Person != id.Nil:
			own = append(own, *t.Burden)
		case t.Burden != nil:
			shop = append(shop, *t.Burden)
		default:
			p.overheads = append(p.overheads, *t.Overhead)
		}
	}
	p.pay = merged(steps(rates, func(r Rate) step { return step{from: r.From, value: int64(r.PerHour)} }))
	asStep := func(b Burden) step { return step{from: b.From, value: b.Share, ends: b.Ends} }
	p.burden = merged(over(steps(shop, asStep), steps(own, asStep)))
	return p
}

// merged leaves out steps at which nothing changes, so that a stretch is rounded where its price changes and
// nowhere else.
func merged(all []step) []step {
	return slices.CompactFunc(all, func(a, b step) bool { return a.value == b.value })
}

// steps orders what was recorded by when it begins; of two that begin together the one recorded
// later holds.
func steps[T any](recorded []T, as func(T) step) (out []step) {
	for _, r := range recorded {
		out = append(out, as(r))
	}
	slices.SortStableFunc(out, func(a, b step) int { return a.from.Compare(b.from) })
	kept := out[:0]
	for _, s := range out {
		if n := len(kept); n > 0 && kept[n-1].from.Equal(s.from) {
			kept[n-1] = s
			continue
		}
		kept = append(kept, s)
	}
	return kept
}

// over lays one's own steps over those of everybody: from each of them on only it counts, until the next of
// one's own, or everybody's again where one's own end.
func over(everybody, own []step) (out []step) {
	next := slices.Clone(everybody) // that of everybody which has not begun
	begun := func(at time.Time) (those []step) {
		for len(next) > 0 && next[0].from.Before(at) {
			those, next = append(those, next[0]), next[1:]
		}
		return those
	}
	shops := true
	for _, s := range own {
		if those := begun(s.from); shops {
			out = append(out, those...)
		}
		if shops = s.ends; shops {
			s = step{from: s.from, value: valueAt(everybody, s.from)}
		}
		out = append(out, s)
	}
	if shops {
		out = append(out, next...)
	}
	return out
}

// price is what time on a stage kind costs; an empty kind is of no piece and carries no overhead.
func (p *pricing) price(kind string, start, end time.Time) (price Price) {
	each(p.pay, start, end, func(perHour int64, from, until time.Time) {
		price.Pay += ForTime(money.Amount(perHour), until.Sub(from))
		each(p.burden, from, until, func(share int64, from, until time.Time) {
			price.Burden += money.MulDiv(money.Amount(perHour), until.Sub(from).Milliseconds()*share, millisPerHour*millionths)
		})
	})
	if kind != "" && len(p.overheads) > 0 {
		each(p.overhead(kind), start, end, func(perHour int64, from, until time.Time) {
			price.Overhead += ForTime(money.Amount(perHour), until.Sub(from))
		})
	}
	return price
}

// each calls fn for every part of a time on which one step holds. Time before the first is left out.
func each(steps []step, start, end time.Time, fn func(value int64, from, until time.Time)) {
	for i, s := range steps {
		until := end
		if i+1 < len(steps) && steps[i+1].from.Before(end) {
			until = steps[i+1].from
		}
		if from := later(start, s.from); until.After(from) {
			fn(s.value, from, until)
		}
	}
}

// overhead are the steps of what an hour of labour on a stage kind carries.
func (p *pricing) overhead(kind string) []step {
	if s, made := p.by[kind]; made {
		return s
	}
	s := OverheadSteps(p.overheads, kind, LabourHour)
	p.by[kind] = s
	return s
}

// OverheadSteps are what an hour on a stage kind carries by a basis, step by step: that of the
// department which has the kind, else that of whatever is of none.
func OverheadSteps(rates []OverheadRate, kind string, basis Basis) (out []step) {
	for _, at := range begins(rates) {
		s := step{from: at}
		if r, found := overheadAt(rates, kind, at); found && r.Basis == basis {
			s.value = int64(r.PerHour)
		}
		out = append(out, s)
	}
	return merged(out)
}

// overheadAt finds the rate that holds for a stage kind at an instant.
func overheadAt(rates []OverheadRate, kind string, at time.Time) (best OverheadRate, found bool) {
	newest := map[string]OverheadRate{} // of each department; rates are in the order they were recorded
	for _, r := range rates {
		if old, known := newest[r.Department]; !r.From.After(at) && (!known || !r.From.Before(old.From)) {
			newest[r.Department] = r
		}
	}
	for _, department := range slices.Sorted(maps.Keys(newest)) {
		if r := newest[department]; department != "" && r.PerHour != 0 && slices.Contains(r.StageKinds, kind) {
			return r, true
		}
	}
	best, found = newest[""]
	return best, found
}
