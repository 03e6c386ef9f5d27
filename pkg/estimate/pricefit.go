package estimate

import (
	"math"
	"slices"

	"tackfree/pkg/dimension"
)

// The variances of ln price that are believed before there are sales: how far the words of a
// trait differ, and chance. Common practice: kinds differ by a factor of about 1.8, sizes by
// 1.35, the rest by a tenth to a fifth, and the same piece by about a third from one buyer to
// the next. They weigh as much as beliefWeight words, and beliefWeight sales.
var traitVariance = [NumTraits]float64{TraitKind: 0.35, TraitSize: 0.09, TraitCondition: 0.04, TraitLook: 0.03, TraitChannel: 0.02, TraitSeason: 0.01}

const priceVariance = 0.09

// Prices is what a shop's own sales tell of prices:
//
//	ln(price) = level + one effect for each trait's word + chance
//
// The effects of a trait's words are drawn from a normal around 0, so that a word that was sold
// seldom stays near it (partial pooling); its variance and that of chance are found from the
// sales by restricted maximum likelihood and mixed with what is believed beforehand. Sources:
// C. R. Henderson, Biometrics 31 (1975) 423-447, for the equations; D. A. Harville, Journal of
// the American Statistical Association 72 (1977) 320-338, for the variances; both cited from
// memory. It may be used by several goroutines at once.
type Prices struct {
	sales       int
	at          [NumTraits]map[string]int // the column of a word, on its trait's side
	kinds, rest side                      // the first column of the rest is the level
	variety     [NumTraits]float64        // chance that two sales have different words; 0 where none is noted
	usual       float64                   // what is believed of chance
	between     [NumTraits]float64        // variance between the words of each trait
	chance      float64
	weight      float64 // of what is believed of the variances
	mean        pair
	cov         inverse // of these means
}

// side is some columns.
type side struct {
	trait  []Trait
	counts []int     // sales
	shares []float64 // of the sales that note the trait
}

func (s *side) grow(trait Trait) int {
	s.trait, s.counts, s.shares = append(s.trait, trait), append(s.counts, 0), append(s.shares, 0)
	return len(s.trait) - 1
}

func (p *Prices) side(trait Trait) *side {
	if trait == TraitKind {
		return &p.kinds
	}
	return &p.rest
}

func newPrices(sales int) *Prices {
	p := &Prices{sales: sales, between: traitVariance, chance: priceVariance, usual: priceVariance, weight: beliefWeight, mean: newPair(0, 1), cov: inverse{newBlocks(0, 1)}}
	p.rest.grow(NumTraits) // the level is of no trait
	return p
}

// FitPrices learns from past sales, in any order; there may be none. Fault: OUT_OF_RANGE.
func FitPrices(sales []PastSale) (*Prices, error) {
	p := newPrices(len(sales))
	rows, err := p.read(sales)
	if err != nil {
		return nil, err
	}
	p.share()
	p.chance = p.usual
	if len(sales) > 0 {
		p.fit(rows)
	}
	return p, nil
}

// priced is a sale as the model sees it: the logarithm of its price and its columns.
type priced struct {
	y       float64
	kind    int // notNoted where it was not noted
	rest    [NumTraits]int
	n       int  // of rest
	missing uint // a bit for each trait that is not known
}

func (p *Prices) read(sales []PastSale) ([]priced, error) {
	rows := make([]priced, len(sales))
	for i, s := range sales {
		if err := dimension.Within("price", s.Price, minPrice, maxPrice, ""); err != nil {
			return nil, err
		}
		r := &rows[i]
		r.y, r.kind, r.n = math.Log(s.Price), notNoted, 1
		for trait, word := range s.Traits {
			r.note(Trait(trait), p.count(Trait(trait), word))
		}
	}
	return rows, nil
}

// notNoted is the column of a word that is not known.
const notNoted = -1

// count is the column of a word, a new one the first time.
func (p *Prices) count(trait Trait, word string) int {
	if word == "" {
		return notNoted
	}
	at, known := p.at[trait][word]
	if !known {
		if p.at[trait] == nil {
			p.at[trait] = map[string]int{}
		}
		at = p.side(trait).grow(trait)
		p.at[trait][word] = at
	}
	p.side(trait).counts[at]++
	return at
}

func (r *priced) note(trait Trait, column int) {
	switch {
	case column == notNoted:
		r.missing |= 1 << trait
	case trait == TraitKind:
		r.kind = column
	default:
		r.rest[r.n] = column
		r.n++
	}
}

// share finds how often the words of each trait are sold. What a trait does that no sale notes cannot be told from
// chance, and is a part of it.
func (p *Prices) share() {
	for trait := range NumTraits {
		side, noted := p.side(trait), 0
		for at, n := range side.counts {
			if side.trait[at] == trait {
				noted += n
			}
		}
		if noted == 0 {
			p.usual += traitVariance[trait]
			continue
		}
		p.variety[trait] = 1
		for at, n := range side.counts {
			if side.trait[at] == trait {
				side.shares[at] = float64(n) / float64(noted)
				p.variety[trait] -= side.shares[at] * side.shares[at]
			}
		}
	}
}

// centre takes the median from all rows, so that sums of squares lose no digits, and gives it.
func centre(rows []priced) float64 {
	ys := make([]float64, len(rows))
	for i := range rows {
		ys[i] = rows[i].y
	}
	slices.Sort(ys)
	median := (ys[(len(ys)-1)/2] + ys[len(ys)/2]) / 2
	for i := range rows {
		rows[i].y -= median
	}
	return median
}
