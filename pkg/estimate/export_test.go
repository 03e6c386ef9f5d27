package estimate

import "math"

// SettledBetween is the variance between kinds and their effects, with chance given, nothing
// believed and no sale cut.
func SettledBetween(sales []PastSale, chance float64) (between float64, effects map[string]float64, err error) {
	p := newPrices(len(sales))
	p.chance, p.weight = chance, 1e-9
	rows, err := p.read(sales)
	if err != nil {
		return 0, nil, err
	}
	p.share()
	centre(rows)
	p.mean = newPair(len(p.kinds.trait), len(p.rest.trait))
	s := p.weigh(rows, math.Inf(1))
	for range 50 {
		p.settle(s)
	}
	effects = map[string]float64{}
	for word, at := range p.at[TraitKind] {
		effects[word] = p.mean.kinds[at]
	}
	return p.between[TraitKind], effects, nil
}
