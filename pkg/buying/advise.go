package buying

import (
	"cmp"
	"math"
	"slices"
)

// Advise says what to pay for a prospect. The same question always has the same answer, in a few
// milliseconds. Fault: OUT_OF_RANGE, which names what is.
func Advise(p Prospect, g Goal) (Advice, error) {
	if err := p.check(g); err != nil {
		return Advice{}, err
	}
	d, err := p.draw(g)
	if err != nil {
		return Advice{}, err
	}
	a := Advice{SalePrice: d.at[SalePrice], Hours: d.at[Hours], Material: d.at[Material], Days: d.at[Days], Costs: d.costs(p, g)}
	d.outcomes(&a, p, g)
	if a.Verdict = a.verdict(g); a.Verdict == No {
		p.Asking = 0 // what is asked no longer matters
		a.PerHourAtMost = d.perHourAtMost(g)
	}
	d.sensitivity(&a, p, g)
	return a, nil
}

func (a Advice) verdict(g Goal) Verdict {
	switch {
	case a.ChanceAtAsking >= g.Chance:
		return Yes
	case a.MostToPay <= 0:
		return No
	}
	return OnlyIf
}

// outcomes says how it may end, and so what may be paid.
func (d draws) outcomes(a *Advice, p Prospect, g Goal) {
	profit, perHour := make([]float64, points), make([]float64, points)
	losses, hits := 0, 0
	for i, left := range d.left {
		over := left - p.Asking
		profit[i] = over + g.PerHour*d.hours[i]
		perHour[i] = g.PerHour + over/d.hours[i]
		if profit[i] < 0 {
			losses++
		}
		if over >= 0 {
			hits++
		}
	}
	slices.Sort(profit)
	slices.Sort(perHour)
	a.MostToPay = reached(slices.Clone(d.left), g.Chance)
	a.ChanceAtAsking, a.ChanceOfLoss, a.ChanceAsGift = float64(hits)/points, float64(losses)/points, reaches(d.left)
	a.Profit, a.PerHour = spread(profit), spread(perHour)
	for i := range a.Twentieths {
		a.Twentieths[i] = under(perHour, float64(i)/20)
	}
}

// sensitivity says what decides, and on what conditions what is asked may be paid.
func (d draws) sensitivity(a *Advice, p Prospect, g Goal) {
	worth, all := p.worth(g), 0.0
	for what := range numWhat {
		_, variance := meanAndVariance(d.terms[what])
		all += variance
		driver := Driver{What: what, Share: variance}
		driver.IfLow, driver.GiftIfLow = d.known(what, d.at[what].Low, p, g)
		driver.IfHigh, driver.GiftIfHigh = d.known(what, d.at[what].High, p, g)
		if driver.swing() > 0 {
			a.Drivers = append(a.Drivers, driver)
		}
	}
	a.SellsFor = d.pricedAt(p, g)
	if worth[Hours] != 0 {
		if most := (p.Asking - reached(d.without(Hours, p.Salvage), g.Chance)) / worth[Hours]; most > p.FixedHours {
			a.HoursAtMost = &most
		}
	}
	for i := range a.Drivers {
		a.Drivers[i].Share /= all
	}
	slices.SortStableFunc(a.Drivers, func(x, y Driver) int { return cmp.Compare(y.swing(), x.swing()) })
}

// perHourAtMost is what each hour of a gift leaves, as surely as is wanted; nil: nothing.
func (d draws) perHourAtMost(g Goal) *float64 {
	perHour := make([]float64, points)
	for i, left := range d.left {
		perHour[i] = g.PerHour + left/d.hours[i]
	}
	if most := reached(perHour, g.Chance); most > 0 {
		return &most
	}
	return nil
}

func (d Driver) swing() float64 { return math.Abs(d.IfHigh - d.IfLow) }

// costs are the means over the draws, so that with the mean of what is left they come to the mean
// of the price. Of what goes late the channel keeps nothing more.
func (d draws) costs(p Prospect, g Goal) (c Costs) {
	hours, _ := meanAndVariance(d.hours)
	material, _ := meanAndVariance(d.terms[Material])
	floor, _ := meanAndVariance(d.floor)
	c = Costs{Labour: hours * p.LabourPerHour, Material: -material, Fixed: p.Fixed, Floor: floor, Target: hours * g.PerHour}
	for i, net := range d.terms[SalePrice] {
		price := net / (1 - p.FeeShare)
		if d.late[i] {
			c.Late += (price - p.Salvage) / points
			continue
		}
		c.Fee += (price - net) / points
	}
	return c
}
