package materials

import (
	"math"
	"slices"
	"time"

	"github.com/shopspring/decimal"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/stock"
)

// Mixing is what to mix.
type Mixing struct {
	Mixture
	Quantity decimal.Decimal
}

// mixLead is how many days before it is wanted something is mixed that keeps that long, so that
// there is time for it. Common practice: the day before.
const mixLead = 1

// AdviseAll gives advice on products, in their order. What is mixed in the shop and sold by nobody
// is to be mixed and not ordered: what is wanted of it beyond what is there is wanted of its parts,
// which are so bought in time.
func (p RestockPolicy) AdviseAll(supplies []Supply, mixtures Mixtures, now time.Time, zone *time.Location) ([]Advice, error) {
	c := calendar{now: now, zone: zone}
	at := make(map[id.ID]*Supply, len(supplies))
	for n := range supplies {
		at[supplies[n].Product.ID] = &supplies[n]
	}
	passed := map[id.ID]bool{}
	for _, makes := range mixtures.topDown() {
		if s := at[makes]; s != nil && len(s.Offers) == 0 {
			mixture := mixtures[makes]
			s.Mixture, passed[makes] = &mixture, true
			s.passOn(at, passed, c)
		}
	}
	all := make([]Advice, len(supplies))
	for n, s := range supplies {
		var err error
		all[n], err = p.advise(s, c)
		if f := fault.Of(err); f != nil {
			// One product with absurd figures keeps nobody from the advice on the others.
			all[n], err = Advice{Supply: s, Why: f.Text}, nil
		}
		if err != nil {
			return nil, err
		}
	}
	return all, nil
}

func (p RestockPolicy) advise(s Supply, c calendar) (Advice, error) {
	if s.Mixture != nil {
		return p.adviseMix(s, c)
	}
	return p.Advise(s, c.now, c.zone)
}

// passOn makes what is wanted of a mix what is wanted of its parts: what stages need beyond what
// is there, and what was used of it. What of it is there spares its parts for as long as it lasts.
// What already was passed on gets nothing more, as where recipes go round in a circle.
func (s *Supply) passOn(at map[id.ID]*Supply, passed map[id.ID]bool, c calendar) {
	lacking, left := s.lacking(c)
	spared := s.sparing(left)
	for _, part := range s.Mixture.Parts {
		to := at[part.Product]
		if to == nil || passed[part.Product] {
			continue
		}
		for _, n := range lacking {
			n.Product, n.Title, n.Reserved = part.Product, n.Title+", with "+s.Product.Name, n.Reserved.Mul(part.Each).RoundCeil(places)
			to.Needs = append(to.Needs, n)
		}
		each := part.Each.InexactFloat64()
		for _, u := range s.Used {
			if u.Day += to.Days - s.Days; u.Day >= 0 {
				to.Used = append(to.Used, stock.Used{Day: u.Day, Amount: u.Amount * each, Ahead: u.Ahead})
			}
		}
		for _, a := range spared {
			to.Spared = append(to.Spared, stock.Arrival{Day: a.Day, Amount: a.Amount * each})
		}
	}
}

// lacking is what stages need beyond what is there or on its way, the soonest first, and what is
// left of that. What keeps for some days is there for the stages of these days.
func (s *Supply) lacking(c calendar) (lacking []OpenNeed, left decimal.Decimal) {
	left = s.Fresh.Add(sum(s.Coming, func(o Coming) decimal.Decimal { return o.Quantity }))
	needs := slices.Clone(s.Needs)
	slices.SortStableFunc(needs, func(a, b OpenNeed) int { return a.Wanted(c.now).Compare(b.Wanted(c.now)) })
	for _, n := range needs {
		if keeps := s.Mixture.Keeps; keeps == 0 || n.Wanted(c.now).Before(c.now.Add(keeps)) {
			there := decimal.Min(left, n.Reserved)
			left, n.Reserved = left.Sub(there), n.Reserved.Sub(there)
		}
		if n.Reserved.IsPositive() {
			lacking = append(lacking, n)
		}
	}
	return lacking, left
}

// sparing is what need not be mixed on each of the days for which an amount lasts, by what is
// used beside plans.
func (s *Supply) sparing(left decimal.Decimal) (spared []stock.Arrival) {
	use, rest := s.useBeside(s.mixLead()).Mean, left.InexactFloat64()
	for day := 1; use > 0 && rest > 0 && day <= Lasting && float64(day) <= s.keepsDays(); day++ {
		spared = append(spared, stock.Arrival{Day: float64(day), Amount: min(use, rest)})
		rest -= use
	}
	return spared
}

// keepsDays is how many days it keeps once it is mixed; infinite: nobody said.
func (s *Supply) keepsDays() float64 {
	if s.Mixture.Keeps == 0 {
		return math.Inf(1)
	}
	return s.Mixture.Keeps.Hours() / 24
}

// stays reports whether it keeps long enough to be mixed before it is wanted.
func (s *Supply) stays() bool { return s.keepsDays() >= 2*mixLead }

func (s *Supply) mixLead() stock.Spread {
	if s.stays() {
		return stock.Spread{Mean: mixLead}
	}
	return stock.Spread{}
}

// adviseMix tells whether to mix a product, how much and by when. What does not keep is mixed for
// the stages of its day, and not for use that nobody planned. No stage stands still for want of a
// mix, but for want of what goes into it.
func (p RestockPolicy) adviseMix(s Supply, c calendar) (a Advice, err error) {
	a = s.advice()
	state := c.state(s)
	state.Lead = s.mixLead()
	state.Use = s.useBeside(state.Lead)
	a.Lead, a.UseADay, a.Cover = state.Lead, state.Use.Mean, cover(state)
	if !s.stays() {
		state.Use = stock.Spread{}
	}
	p.Review = min(p.Review, mixLead) // whoever mixes looks each day
	looked, err := p.Look(state, s.worth())
	if err != nil {
		return a, err
	}
	if amount := min(looked.Amount, s.usedWhile(state)); amount > 0 {
		a.Mix = &Mixing{Mixture: *s.Mixture, Quantity: roundUp(amount)}
	} else if looked.Now {
		looked = stock.Advice{By: math.Inf(1)} // what is there is all that is used before it is too old
	}
	a.settle(looked, c)
	a.Why = a.why(c)
	return a, nil
}

// usedWhile is how much of a mix is used while it keeps, from today on, beyond what is there.
func (s *Supply) usedWhile(state stock.State) float64 {
	keeps := s.keepsDays()
	if math.IsInf(keeps, 1) {
		return endless
	}
	used := state.Use.Mean * keeps
	for _, n := range state.Needs {
		if n.Day <= keeps {
			used += n.Amount
		}
	}
	return max(0, used-state.OnHand)
}
