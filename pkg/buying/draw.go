package buying

import (
	"math"

	"tackfree/pkg/dimension"
	"tackfree/pkg/estimate"
)

// draws are what may become of a prospect, equally likely.
type draws struct {
	left  []float64          // for the purchase when the target is reached
	terms [numWhat][]float64 // what of it hangs on each thing that is not known
	hours []float64          // fixed ones too
	floor []float64          // what its place costs until it goes
	late  []bool             // it is not sold in time, and goes for what it brings
	last  float64            // of the days
	at    [numWhat]Range     // the things themselves
}

// draw draws. Fault: OUT_OF_RANGE of the days, which only their function knows.
func (p Prospect) draw(g Goal) (draws, error) {
	byChance, err := p.daysByChance()
	if err != nil {
		return draws{}, err
	}
	d := draws{left: make([]float64, points), at: p.ranges(), last: byChance[points-1]}
	strata, worth := evenly(), p.worth(g)
	values := [numWhat]func(stratum int) float64{
		SalePrice: drawn(p.Price, 0), Hours: drawn(p.Hours, p.FixedHours), Material: p.Material.drawn(),
		Days: func(stratum int) float64 { return byChance[stratum] },
	}
	for what := range numWhat {
		at, term := make([]float64, points), make([]float64, points)
		for i, stratum := range strata[what] {
			at[i] = values[what](stratum)
			term[i] = worth[what] * at[i]
			d.left[i] += term[i]
		}
		d.terms[what] = term
		if what == Hours {
			d.hours = at
		}
	}
	d.goLate(p, strata[Days][:])
	for i := range d.left {
		d.left[i] -= p.Fixed
	}
	return d, nil
}

// goLate lets what is not sold in time go for its salvage. What that costs hangs on the days.
func (d *draws) goLate(p Prospect, strata []int) {
	d.floor, d.late = make([]float64, points), make([]bool, points)
	for i, stratum := range strata {
		d.floor[i] = -d.terms[Days][i]
		if d.late[i] = middle(stratum) > 1-p.Unsold; d.late[i] {
			lost := p.Salvage - d.terms[SalePrice][i]
			d.terms[Days][i] += lost
			d.left[i] += lost
		}
	}
}

// worth is what one more of each thing adds to what is left for the purchase.
func (p Prospect) worth(g Goal) [numWhat]float64 {
	return [numWhat]float64{SalePrice: 1 - p.FeeShare, Hours: -(p.LabourPerHour + g.PerHour), Material: -1, Days: -p.HoldingPerDay}
}

func drawn(l estimate.LogNormal, beside float64) func(int) float64 {
	normal := normal()
	return func(stratum int) float64 { return beside + math.Exp(l.Mu+l.Sigma*normal[stratum]) }
}

func (s Spread) drawn() func(int) float64 {
	if s.Mean == 0 {
		return func(int) float64 { return 0 }
	}
	return drawn(s.logNormal(), 0)
}

// daysByChance are the days at the middle of each stratum.
func (p Prospect) daysByChance() ([]float64, error) {
	all, before := make([]float64, points), 0.0
	if p.Days == nil {
		return all, nil
	}
	for i := range all {
		all[i] = p.Days(middle(i))
		if err := dimension.Within("days", all[i], before, mostTime, "d"); err != nil {
			return nil, err
		}
		before = all[i]
	}
	return all, nil
}

func (p Prospect) ranges() (all [numWhat]Range) {
	all[SalePrice], all[Hours] = rangeOf(p.Price, 0), rangeOf(p.Hours, p.FixedHours)
	if p.Material.Mean > 0 {
		all[Material] = rangeOf(p.Material.logNormal(), 0)
	}
	if p.Days != nil {
		all[Days] = Range{p.Days(0.1), p.Days(0.5), p.Days(0.9)}
	}
	return all
}

func rangeOf(l estimate.LogNormal, beside float64) Range {
	tenth := l.Sigma * z(0.9)
	return Range{beside + math.Exp(l.Mu-tenth), beside + math.Exp(l.Mu), beside + math.Exp(l.Mu+tenth)}
}

// without is what is left for the purchase but for what hangs on one thing; of the price, as if what
// goes late brought its salvage.
func (d draws) without(what What, salvage float64) []float64 {
	rest := make([]float64, len(d.left))
	for i := range rest {
		rest[i] = d.left[i] - d.terms[what][i]
		if what == SalePrice && d.late[i] {
			rest[i] = d.left[i] - salvage
		}
	}
	return rest
}

// known is the most to pay where one thing is known, and the chance of the target as a gift.
func (d draws) known(what What, at float64, p Prospect, g Goal) (most, gift float64) {
	rest, worth := d.without(what, p.Salvage), p.worth(g)[what]*at
	for i := range rest {
		switch {
		case what == SalePrice && d.late[i]:
			rest[i] += p.Salvage
		case what == Days && p.Unsold > 0 && at >= d.last:
			rest[i] += worth + p.Salvage - d.terms[SalePrice][i]
		default:
			rest[i] += worth
		}
	}
	gift = reaches(rest)
	return reached(rest, g.Chance), gift
}

// reaches is the share of outcomes that leave something, or just nothing.
func reaches(left []float64) float64 {
	hits := 0
	for _, v := range left {
		if v >= 0 {
			hits++
		}
	}
	return float64(hits) / float64(len(left))
}

// pricedAt is the price, known for sure, at which what is asked just reaches the target with a chance;
// nil: so many go late that none does.
func (d draws) pricedAt(p Prospect, g Goal) *float64 {
	rest := d.without(SalePrice, p.Salvage)
	var sold []float64
	enough := len(rest) - int((1-g.Chance)*float64(len(rest)))
	for i, left := range rest {
		switch {
		case !d.late[i]:
			sold = append(sold, left)
		case left+p.Salvage >= p.Asking:
			enough--
		}
	}
	if enough > len(sold) {
		return nil
	}
	price := 0.0
	if enough > 0 {
		price = max(0, (p.Asking-nth(sold, len(sold)-enough))/(1-p.FeeShare))
	}
	return &price
}

// reached is the most that outcomes are at least, with a chance. It puts them into another order.
func reached(outcomes []float64, chance float64) float64 {
	return nth(outcomes, int((1-chance)*float64(len(outcomes))))
}

// nth is what would stand at a place if all stood in rising order: C. A. R. Hoare, Algorithm 65:
// Find, Communications of the ACM 4 (1961).
func nth(all []float64, place int) float64 {
	for low, high := 0, len(all)-1; low < high; {
		pivot, i, j := all[low+(high-low)/2], low, high
		for i <= j {
			for all[i] < pivot {
				i++
			}
			for all[j] > pivot {
				j--
			}
			if i <= j {
				all[i], all[j] = all[j], all[i]
				i, j = i+1, j-1
			}
		}
		switch {
		case place <= j:
			high = j
		case place >= i:
			low = i
		default:
			return all[place]
		}
	}
	return all[place]
}

// under is what a share of outcomes in rising order stay under.
func under(rising []float64, share float64) float64 {
	return rising[min(int(share*float64(len(rising))), len(rising)-1)]
}

func spread(rising []float64) Range {
	return Range{under(rising, 0.1), under(rising, 0.5), under(rising, 0.9)}
}

func meanAndVariance(all []float64) (mean, variance float64) {
	n := float64(len(all))
	for _, v := range all {
		mean += v / n
	}
	for _, v := range all {
		variance += (v - mean) * (v - mean) / n
	}
	return mean, variance
}
