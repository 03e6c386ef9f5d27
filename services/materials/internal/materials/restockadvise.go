package materials

import (
	"cmp"
	"math"
	"slices"
	"time"

	"github.com/shopspring/decimal"

	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/pkg/stock"
)

const (
	// unstatedLead is how long a delivery takes where nobody said, in days. Common practice: a week.
	unstatedLead = 7
	// youngest is of how many days at least the use is an average: the first week of a new product
	// says little. Common practice: four weeks.
	youngest = 28
	// endless is more than any shop uses of anything.
	endless = 1e9
)

// Advise tells whether to order a product, how much of which package, by when and why. It is
// bought where it costs least by the unit, unless a stage would stand still that another supplier
// could still save. Days are those of the shop's zone.
func (p RestockPolicy) Advise(s Supply, now time.Time, zone *time.Location) (a Advice, err error) {
	c := calendar{now: now, zone: zone}
	a = s.advice()
	state := c.state(s)
	// Whether a stage stands still depends on what is used beside it, and that on the time of a
	// delivery: what was planned sooner than that could have been bought. The fastest tells most.
	sellers, err := sellersOf(s.Offers)
	if err != nil {
		return a, err
	}
	a.Lead = sellers[0].lead
	state.Use = s.useBeside(a.Lead)
	halt, still := state.StandsStill()
	sellers = inTime(sellers, halt, still)
	chosen := cheapest(sellers)
	looked, err := p.look(&state, s, chosen)
	if err != nil {
		return a, err
	}
	if looked.Now && len(s.Offers) > 0 {
		if a.Buy, looked, chosen, err = p.buy(&state, s, sellers, chosen, looked); err != nil {
			return a, err
		}
	}
	a.Lead, a.UseADay, a.Cover = chosen.lead, state.Use.Mean, cover(state)
	a.settle(looked, c)
	if halt, still = state.StandsStill(); still {
		a.Halt = c.halt(s, halt)
	}
	a.Why = a.why(c)
	return a, nil
}

// advice begins the advice on a product.
func (s Supply) advice() Advice {
	return Advice{Supply: s, Reserved: sum(s.Needs, func(n OpenNeed) decimal.Decimal { return n.Reserved }),
		OnOrder: sum(s.Coming, func(o Coming) decimal.Decimal { return o.Quantity })}
}

// settle takes over whether something has to be done, and by when.
func (a *Advice) settle(looked stock.Advice, c calendar) {
	a.Now = looked.Now
	if !math.IsInf(looked.By, 1) {
		a.By, a.Late = c.day(looked.By), looked.By < 0
	}
}

// seller is a supplier with the offers of one product.
type seller struct {
	id     id.ID
	offers []Offered
	lead   stock.Spread
	price  float64 // of one unit, where it is cheapest, in minor units
}

// sellersOf are the suppliers of some offers, the fastest first; one who is not known where there
// are none.
func sellersOf(offers []Offered) (all []seller, err error) {
	for _, o := range offers {
		n := slices.IndexFunc(all, func(s seller) bool { return s.id == o.Supplier })
		if n < 0 {
			lead, err := stock.Learn(float64(o.LeadDays), o.Took)
			if err != nil {
				return nil, err
			}
			n, all = len(all), append(all, seller{id: o.Supplier, lead: lead, price: math.Inf(1)})
		}
		all[n].offers = append(all[n].offers, o)
		all[n].price = min(all[n].price, o.unitPrice())
	}
	if len(all) == 0 {
		lead, err := stock.Learn(unstatedLead, nil)
		return []seller{{lead: lead}}, err
	}
	slices.SortStableFunc(all, func(a, b seller) int { return cmp.Compare(a.lead.Mean, b.lead.Mean) })
	return all, nil
}

// unitPrice is what a unit costs at least, in minor units.
func (o Offered) unitPrice() float64 {
	least := math.Inf(1)
	for _, b := range o.Breaks {
		least = min(least, float64(b.Price)/o.Content.InexactFloat64())
	}
	return least
}

// inTime are those of the sellers, the fastest first, who could still save the stage that stands
// still, or else the fastest alone.
func inTime(sellers []seller, halt stock.Halt, still bool) []seller {
	if !still {
		return sellers
	}
	n := 1
	for n < len(sellers) && sellers[n].lead.Mean <= halt.Day {
		n++
	}
	return sellers[:n]
}

func cheapest(sellers []seller) seller {
	return slices.MinFunc(sellers, func(a, b seller) int { return cmp.Compare(a.price, b.price) })
}

// look asks whether to order from a seller, and makes the state that of buying there.
func (p RestockPolicy) look(state *stock.State, s Supply, from seller) (stock.Advice, error) {
	state.Lead, state.Use = from.lead, s.useBeside(from.lead)
	price := from.price
	if math.IsInf(price, 1) || len(from.offers) == 0 {
		price = s.worth()
	}
	return p.Look(*state, price)
}

// buy chooses among the packages of the sellers. Where that leads to another seller than was
// looked at, it is looked at again with that one's time of delivery.
func (p RestockPolicy) buy(state *stock.State, s Supply, sellers []seller, looked seller, advice stock.Advice) (*Purchase, stock.Advice, seller, error) {
	var offers []Offered
	for _, sell := range sellers {
		offers = append(offers, sell.offers...)
	}
	bought, err := p.choose(*state, s, advice.Amount, offers)
	if err != nil || bought.Supplier == looked.id {
		return bought, advice, looked, err
	}
	other := sellers[slices.IndexFunc(sellers, func(sell seller) bool { return sell.id == bought.Supplier })]
	again, err := p.look(state, s, other)
	if err != nil || !again.Now {
		return nil, again, other, err
	}
	bought, err = p.choose(*state, s, again.Amount, other.offers)
	return bought, again, other, err
}

// choose finds the package and the number of it.
func (p RestockPolicy) choose(state stock.State, s Supply, amount float64, offers []Offered) (*Purchase, error) {
	packs := make([]stock.Package, len(offers))
	for n, o := range offers {
		packs[n] = stock.Package{Label: o.Package, Content: o.Content.InexactFloat64(), Breaks: o.Breaks}
	}
	most := s.usedUp(state)
	c, err := p.Choose(fresh(state, amount, most, packs), most, s.usedADay()*Lasting, packs)
	if err != nil {
		return nil, err
	}
	return &Purchase{Offered: offers[c.Package], Count: c.Count, Cost: c.Cost, Price: c.Cost / money.Amount(c.Count)}, nil
}

// fresh is an amount, or else as much as whole packages hold that are used up while they keep; but
// as much as a stage lacks at least.
func fresh(state stock.State, amount, most float64, packs []stock.Package) float64 {
	whole := 0.0
	for _, pack := range packs {
		whole = max(whole, math.Floor(most/pack.Content)*pack.Content)
	}
	if whole == 0 || whole >= amount {
		return amount
	}
	halt, _ := state.StandsStill()
	return max(whole, halt.Lacks)
}
