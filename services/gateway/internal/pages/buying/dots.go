package buying

import (
	"slices"

	moneyv1 "google.golang.org/genproto/googleapis/type/money"

	"tackfree/pkg/money"
	"tackfree/pkg/wire"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	"tackfree/services/gateway/internal/axis"
	"tackfree/services/gateway/internal/words"
)

// The sheet of the dots, in units of the drawing.
const (
	dotsWide = 320
	dotsEdge = 8
	column   = 13 // from one column of dots to the next
	radius   = 5
	dotsTop  = 16 // below the word of the target
	tallest  = 56 // of a heap; a taller one is pressed together
	ruleHigh = 18
)

// dots are twenty pieces like this one, each a dot at what it earns per hour: how many lie right of the
// target is how surely it is reached. (A quantile dot plot: M. Kay, T. Kola, J. Hullman, S. Munson, "When (ish)
// is My Bus?", CHI 2016: people read chances from counted dots better than from areas.)
type dots struct {
	High, Rule int
	Dots       []dot
	Target     axis.Mark
	Ticks      []axis.Mark
	Says       string // the same in a sentence
}

// dot is one of the twenty: it reaches the target, falls short, or loses money.
type dot struct {
	X, Y int
	Word string
}

// dotsOf lays the dots out by the twentieths of what an hour earns.
func dotsOf(v *words.Voice, ad *intakev1.Advice) dots {
	twentieths := minors(v, ad.GetProfitPerHourTwentieths())
	if len(twentieths) < 3 {
		return dots{}
	}
	target := v.Minor(ad.GetTargetPerHour())
	middles := middlesOf(twentieths)
	s := axis.Over(dotsEdge, dotsWide-dotsEdge, slices.Concat(twentieths[1:len(twentieths)-1], []int64{0, target})...)
	heaps := heapsOf(s, middles)
	highest := 1
	for _, h := range heaps {
		highest = max(highest, len(h))
	}
	step := min(2*radius+1, max(1, (tallest-2*radius)/max(1, highest-1)))
	it := dots{Rule: dotsTop + (highest-1)*step + 2*radius + 4}
	it.High = it.Rule + ruleHigh
	for x, heap := range heaps {
		for i, value := range heap {
			it.Dots = append(it.Dots, dot{x, it.Rule - 2 - radius - i*step, wordOf(value, target)})
		}
	}
	slices.SortFunc(it.Dots, func(a, b dot) int { return (a.X-b.X)*dotsWide + b.Y - a.Y })
	it.Target = axis.Label(s.At(target), v.T("buying.target"), dotsWide)
	for _, m := range s.Marks(4) {
		it.Ticks = append(it.Ticks, axis.Label(s.At(m), wholeUnits(v, m), dotsWide))
	}
	it.Says = dotsText(v, it.Dots)
	return it
}

// middlesOf is the middle of each of the stretches between what so many twentieths earn less than.
func middlesOf(twentieths []int64) (out []int64) {
	for i := 1; i < len(twentieths); i++ {
		out = append(out, (twentieths[i-1]+twentieths[i])/2)
	}
	return out
}

// heapsOf puts values into columns, by the middle of each, from the bottom up.
func heapsOf(s axis.Axis, values []int64) map[int][]int64 {
	heaps := map[int][]int64{}
	columns := (dotsWide - 2*dotsEdge) / column
	for _, value := range values {
		c := min((s.At(value)-dotsEdge)/column, columns-1)
		x := dotsEdge + c*column + column/2
		heaps[x] = append(heaps[x], value)
	}
	return heaps
}

func wordOf(value, target int64) string {
	switch {
	case value >= target:
		return "reaches"
	case value < 0:
		return "loses"
	}
	return "short"
}

func dotsText(v *words.Voice, all []dot) string {
	count := map[string]int{}
	for _, d := range all {
		count[d.Word]++
	}
	return v.T("buying.dots", count["reaches"], count["loses"])
}

// minors are amounts in minor units.
func minors(v *words.Voice, all []*moneyv1.Money) (out []int64) {
	for _, m := range all {
		out = append(out, v.Minor(m))
	}
	return out
}

// wholeUnits writes minor units as About does.
func wholeUnits(v *words.Voice, m int64) string {
	return v.About(wire.Shop{Currency: v.Currency}.ToMoney(money.Amount(m)))
}
