package intake

import (
	"fmt"
	"math"
	"math/big"

	"tackfree/pkg/buying"
	"tackfree/pkg/fault"
	"tackfree/pkg/money"
)

// Question is all that advice on a prospect is worked out from.
type Question struct {
	Sighting Sighting
	Terms    BuyingTerms // with the target and the chance that are wanted
	GoneBy   GoneBy
	Work     Work
	Market   Market
	Needs    []Need
}

// Advise says what to pay, and why. Fault: OUT_OF_RANGE.
func (q Question) Advise() (Advice, error) {
	material, unpriced := costOf(q.Needs)
	found, err := buying.Advise(q.prospect(material), buying.Goal{PerHour: float64(q.Terms.Target), Chance: q.Terms.Chance})
	if err != nil {
		return Advice{}, asked(err)
	}
	a := Advice{
		Verdict: verdicts[found.Verdict], MostToPay: rounded(found.MostToPay), Target: q.Terms.Target, Chance: q.Terms.Chance,
		ChanceAtAsking: found.ChanceAtAsking, ChanceOfLoss: found.ChanceOfLoss, ChanceAsGift: found.ChanceAsGift,
		SalePrice: moneyRange(found.SalePrice), Hours: NumberRange(found.Hours), Material: moneyRange(found.Material),
		DaysToSell: NumberRange{q.Market.told(0.1), q.Market.told(0.5), q.Market.told(0.9)}, DaysOfWork: q.Work.LeastDays,
		Profit: moneyRange(found.Profit), PerHour: moneyRange(found.PerHour), Costs: q.costs(found.Costs), Basis: q.basis(unpriced), Hazards: q.Work.Hazards,
	}
	for _, v := range found.Twentieths {
		a.Twentieths = append(a.Twentieths, rounded(v))
	}
	for _, d := range found.Drivers {
		a.Drivers = append(a.Drivers, Driver{What: drivers[d.What], MostIfLow: rounded(d.IfLow), MostIfHigh: rounded(d.IfHigh), GiftIfLow: d.GiftIfLow, GiftIfHigh: d.GiftIfHigh, Share: d.Share})
	}
	a.Conditions = q.conditions(a, found)
	return a, nil
}

// prospect is the question in the figures of package buying. The floor is taken from the day on which
// the piece comes until it is sold.
func (q Question) prospect(material buying.Spread) buying.Prospect {
	s, t, m := q.Sighting, q.Terms, q.Market
	return buying.Prospect{
		Price: m.price(), FeeShare: m.FeePercent / 100, Hours: q.Work.hours(), FixedHours: t.fetching(s.DistanceKM), Material: material,
		Fixed: float64(s.Extra + t.travel(s.DistanceKM)), Days: func(u float64) float64 { return float64(q.Work.LeastDays) + m.daysToSell(u) },
		HoldingPerDay: float64(m.HoldingPerDay), Unsold: m.unsold(), Salvage: float64(m.Salvage), LabourPerHour: float64(t.Labour), Asking: float64(s.Asking),
	}
}

// adviceFields are where in a question somebody says what package buying calls by these names.
var adviceFields = map[string]string{"chance": "chance", "target per hour": "target_per_hour", "asking price": "sighting.asking_price", "fixed cost": "sighting.extra_cost"}

// asked says where in the question something is out of range, or nowhere where others said it.
func asked(err error) error {
	f := fault.Of(err)
	if field := adviceFields[f.Fields[0].Path]; field != "" {
		return f.At(field)
	}
	return fault.New(f.Kind, f.Reason, "%s", f.Text)
}

var verdicts = map[buying.Verdict]Verdict{buying.Yes: Yes, buying.OnlyIf: OnlyIf, buying.No: No}

var drivers = map[buying.What]string{buying.SalePrice: "sale_price", buying.Hours: "hours", buying.Material: "material", buying.Days: "days"}

// conditions are what must hold: of money where what is asked is too much; of work and knowledge unless
// it is not to be had at all, of which is said alone what would make a gift of it worth taking.
func (q Question) conditions(a Advice, found buying.Advice) (all []PurchaseCondition) {
	if a.Verdict != Yes {
		all = levers(a, found)
	}
	if a.Verdict == No {
		return all
	}
	if q.Sighting.mayHoldLead() {
		all = append(all, PurchaseCondition{Kind: LeadTested})
	}
	if q.Market.TooFew {
		all = append(all, PurchaseCondition{Kind: PriceLookedUp})
	}
	return all
}

// levers are what makes it a yes, each by itself. Rounded against the buyer, so that who keeps to them does
// reach the target; a millionth of a minor unit is floating point's and no money.
func levers(a Advice, found buying.Advice) (all []PurchaseCondition) {
	if a.Verdict == OnlyIf {
		all = append(all, PurchaseCondition{Kind: PayAtMost, Money: rounded(math.Floor(found.MostToPay + 1e-6))})
	}
	if found.SellsFor != nil {
		all = append(all, PurchaseCondition{Kind: SellsFor, Money: rounded(math.Ceil(*found.SellsFor - 1e-6))})
	}
	if found.HoursAtMost != nil {
		all = append(all, PurchaseCondition{Kind: HoursAtMost, Number: *found.HoursAtMost})
	}
	if found.PerHourAtMost != nil {
		all = append(all, PurchaseCondition{Kind: PerHourAtMost, Money: rounded(math.Floor(*found.PerHourAtMost + 1e-6))})
	}
	return all
}

// costs are what is taken off the price; what costs nothing is left out. What is certain is exact.
func (q Question) costs(c buying.Costs) (all []Cost) {
	for _, cost := range []Cost{
		{"labour", rounded(c.Labour)}, {"material", rounded(c.Material)}, {"extra", q.Sighting.Extra}, {"travel", q.Terms.travel(q.Sighting.DistanceKM)},
		{"fee", rounded(c.Fee)}, {"floor", rounded(c.Floor)}, {"unsold", rounded(c.Late)}, {"target", rounded(c.Target)},
	} {
		if cost.Amount != 0 {
			all = append(all, cost)
		}
	}
	return all
}

func (q Question) basis(unpriced []string) Basis {
	m := q.Market
	return Basis{Sales: m.Sales, SalesOfKind: m.OfKind, Belief: m.Belief, TooFew: m.TooFew, HoursUsual: q.Work.usual(),
		OwnPieces: int32(q.GoneBy.OwnPieces), PartsGiven: q.GoneBy.Given, Unpriced: unpriced, Likes: m.Likes, FloorSaidOf: m.FloorSaidOf}
}

func moneyRange(r buying.Range) MoneyRange {
	return MoneyRange{Low: rounded(r.Low), Likely: rounded(r.Likely), High: rounded(r.High)}
}

// rounded is a forecast in whole minor units, a half to the even one.
func rounded(v float64) money.Amount {
	r := new(big.Rat).SetFloat64(v)
	if r == nil {
		panic(fmt.Sprintf("a forecast of %v", v)) // package buying refuses what would lead here
	}
	return money.Round(r)
}
