package intake

import (
	"math/big"

	"tackfree/pkg/fault"
	"tackfree/pkg/money"
)

// BuyingTerms are what an hour is to earn, and what buying costs. Version 0: the owner said nothing yet.
type BuyingTerms struct {
	Target          money.Amount // to be left of each hour when all is paid; 0: not said
	Chance          float64      // how surely, above 0 and below 1
	Labour          money.Amount // what an hour of labour costs
	PerKM           money.Amount // of travel
	KMPerHour       float64      // how fast the way is driven, above 0
	HandlingMinutes int32        // to look, load and unload
	Version         int64
}

// What goes where the owner says nothing. Common practice.
const (
	usualChance    = 0.8
	usualKMPerHour = 50
	// UsualHandling is how many minutes it takes to look, load and unload; none at all may be said.
	UsualHandling = 45
)

// Say makes terms the next version, with what is usual in the place of what they do not say.
func (t BuyingTerms) Say(to BuyingTerms) BuyingTerms {
	if to.Chance == 0 {
		to.Chance = usualChance
	}
	if to.KMPerHour == 0 {
		to.KMPerHour = usualKMPerHour
	}
	to.Version = t.Version + 1
	return to
}

// Aiming are the terms with a target and a chance that a question brings of its own; 0: as the terms
// say. Fault: TERMS_MISSING.
func (t BuyingTerms) Aiming(target money.Amount, chance float64) (BuyingTerms, error) {
	if target != 0 {
		t.Target = target
	}
	if chance != 0 {
		t.Chance = chance
	}
	if t.Target == 0 {
		return t, fault.New(fault.Precondition, "TERMS_MISSING",
			"Nobody said yet what an hour of labour is to earn; say it once in the terms of buying (the page What an hour is to earn under Buying, or: shop prospect terms --target 40), or name a target with this question.").At("target_per_hour")
	}
	return t, nil
}

// travel is what the way there and back costs, rounded once.
func (t BuyingTerms) travel(km float64) money.Amount {
	way := new(big.Rat).SetFloat64(2 * km)
	return money.Round(way.Mul(way, new(big.Rat).SetInt64(int64(t.PerKM))))
}

// fetching is how long it takes to drive there and back, to look and to load, hours.
func (t BuyingTerms) fetching(km float64) float64 {
	return 2*km/t.KMPerHour + float64(t.HandlingMinutes)/60
}
