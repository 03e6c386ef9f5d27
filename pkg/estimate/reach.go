package estimate

import (
	"math"
	"slices"
)

// What it takes to have tried a price. Common practice.
const (
	triedDays  = 7    // that it stood, if nobody took it sooner
	triedOften = 10   // stretches that asked as much or more
	triedShare = 0.05 // of all stretches, that asked as much or more
)

// aboveUsual is how far above what a tenth of such pieces bring more than a shop may ask to see whether
// somebody pays it. Common practice.
const aboveUsual = 1.05

// Reach is the log ratio of asked ÷ likely price up to which spells tell how pieces sell: so much or more was
// asked in ten of them and in one of twenty at least, in each for a week or until it was sold. What comes of
// more is only the same curve drawn on. Not above 0: nothing above the likely price was tried.
func Reach(spells []Spell) float64 {
	tried := make([]float64, 0, len(spells))
	for _, s := range spells {
		if s.Sold || s.To-s.From >= triedDays {
			tried = append(tried, bounded(s.LogRatio))
		}
	}
	need := max(triedOften, int(math.Ceil(triedShare*float64(len(tried)))))
	if len(tried) < need {
		return 0
	}
	slices.Sort(tried)
	return tried[len(tried)-need]
}

// MostToAsk is the highest price (minor units) of which anybody can say what comes of it: a little above the price
// that a tenth of such pieces exceed, or what was tried with pieces that sell alike, whichever is more.
func (f PriceForecast) MostToAsk(tried []Spell) float64 {
	usual := math.Exp(f.Mu+z(0.9)*f.Sigma) * aboveUsual
	return min(max(usual, f.Median()*math.Exp(Reach(tried))), maxPrice)
}
