package estimate

import "math"

// A price further out than huberBend standard deviations counts as if it stood there, so that a
// slip of the pen or a gift does not set prices. huberShare is the variance of a standard normal
// that is cut so, by which that of chance is made up ("proposal 2"). P. J. Huber, Annals of
// Mathematical Statistics 35 (1964) 73-101; cited from memory.
const (
	huberBend  = 2.0
	huberShare = 0.920537 // 2Φ(k) − 1 − 2kφ(k) + 2k²(1 − Φ(k)) for k = 2
)

const (
	reweighings = 12   // of the sales by how far out they are, at most
	rounds      = 20   // of the variances under one weighing, at most
	settled     = 3e-3 // relative change of a variance that is not worth another round
)

// fit finds the variances and, with them, the effects. The sales are summed up once for each
// weighing; all else costs the same however many they are.
func (p *Prices) fit(rows []priced) {
	median := centre(rows)
	p.mean = newPair(len(p.kinds.trait), len(p.rest.trait))
	s := p.weigh(rows, math.Inf(1))
	for range reweighings {
		p.settle(s)
		s = p.weigh(rows, huberBend)
		if p.learnChance(s) < settled {
			break
		}
	}
	p.settle(s)
	p.mean.rest[0] += median
}

// weighed is the sales in sums, under one weighing.
type weighed struct {
	normal blocks // of the weights, by two columns
	right  pair   // of the weights times y, by column
	chance evidence
	hidden [NumTraits]evidence // of the words that were not noted
}

// evidence is what tells a variance: a sum of squares, and of how many.
type evidence struct{ squares, told float64 }

func (e *evidence) add(square, told float64) { e.squares, e.told = e.squares+square, e.told+told }

// weigh sums the sales up. One counts the less the further out it is, and the more of its traits
// are not known, for these add to its chance.
func (p *Prices) weigh(rows []priced, bend float64) weighed {
	kinds, rest := len(p.kinds.trait), len(p.rest.trait)
	s := weighed{normal: newBlocks(kinds, rest), right: newPair(kinds, rest)}
	for i := range rows {
		r := &rows[i]
		all := p.chance + p.unknown(r.missing)
		off := math.Abs(r.y-p.predict(r)) / math.Sqrt(all)
		cut := min(off, bend)
		s.explain(p, r.missing, all, cut*cut/huberShare)
		weight := p.chance / all
		if off > bend {
			weight *= bend / off
		}
		s.add(r, weight)
	}
	return s
}

func (p *Prices) predict(r *priced) (y float64) {
	if r.kind != notNoted {
		y = p.mean.kinds[r.kind]
	}
	for _, at := range r.rest[:r.n] {
		y += p.mean.rest[at]
	}
	return y
}

func (s *weighed) add(r *priced, weight float64) {
	columns := r.rest[:r.n]
	for _, a := range columns {
		s.right.rest[a] += weight * r.y
		row := s.normal.rest.row(a)
		for _, b := range columns {
			row[b] += weight
		}
	}
	if r.kind == notNoted {
		return
	}
	s.right.kinds[r.kind] += weight * r.y
	s.normal.kinds[r.kind] += weight
	cross := s.normal.row(r.kind)
	for _, a := range columns {
		cross[a] += weight
	}
}

// explain splits what a sale is off, squared and in units of the variance of it all, between
// chance and the words that were not noted: each by its share of that variance.
func (s *weighed) explain(p *Prices, missing uint, all, square float64) {
	share := p.chance / all
	s.chance.add(p.chance*share*square, share)
	for trait := range s.hidden {
		if missing>>trait&1 == 1 {
			share := p.between[trait] * p.variety[trait] / all
			s.hidden[trait].add(p.between[trait]*share*square, share)
		}
	}
}

// unknown is the variance that traits which were not noted add.
func (p *Prices) unknown(missing uint) (variance float64) {
	for trait, v := range p.between {
		if missing>>trait&1 == 1 {
			variance += v * p.variety[trait]
		}
	}
	return variance
}

// settle finds the variances between words under one weighing.
func (p *Prices) settle(s weighed) {
	for range rounds {
		p.solve(s)
		if p.learnBetween(s) < settled {
			break
		}
	}
	p.solve(s)
}

// solve finds the effects under the variances at hand: the normal equations, with each effect
// drawn to 0 by its trait's variance. The level is not drawn.
func (p *Prices) solve(s weighed) {
	a := newBlocks(len(s.normal.kinds), s.normal.rest.n)
	for k, w := range s.normal.kinds {
		a.kinds[k] = w/p.chance + 1/p.between[TraitKind]
	}
	for i, w := range s.normal.cross {
		a.cross[i] = w / p.chance
	}
	for i, w := range s.normal.rest.v {
		a.rest.v[i] = w / p.chance
	}
	for i := 1; i < a.rest.n; i++ {
		a.rest.row(i)[i] += 1 / p.between[p.rest.trait[i]]
	}
	p.cov = a.inverse()
	p.mean = p.cov.times(s.right)
	for _, side := range [][]float64{p.mean.kinds, p.mean.rest} {
		for i := range side {
			side[i] /= p.chance
		}
	}
}

// learnBetween makes each trait's variance what its effects say, as far as the sales tell its
// words apart, and what is believed; it gives the largest relative change. D. J. C. MacKay,
// Neural Computation 4 (1992) 415-447, whose fixed points are those of restricted maximum
// likelihood; cited from memory.
func (p *Prices) learnBetween(s weighed) (change float64) {
	told := p.told()
	free := p.free(told)
	for trait := range s.hidden {
		s.hidden[trait].told *= free
	}
	for k, share := range told.kinds {
		s.hidden[TraitKind].add(p.mean.kinds[k]*p.mean.kinds[k], share)
	}
	for i := 1; i < len(told.rest); i++ {
		s.hidden[p.rest.trait[i]].add(p.mean.rest[i]*p.mean.rest[i], told.rest[i])
	}
	for trait, before := range p.between {
		e := s.hidden[trait]
		p.between[trait] = (p.weight*traitVariance[trait] + e.squares) / (p.weight + e.told)
		change = max(change, math.Abs(p.between[trait]/before-1))
	}
	return change
}

// learnChance is learnBetween for chance.
func (p *Prices) learnChance(s weighed) (change float64) {
	before := p.chance
	p.chance = (p.weight*p.usual + s.chance.squares) / (p.weight + p.free(p.told())*s.chance.told)
	return math.Abs(p.chance/before - 1)
}

// told is how far the sales tell each column, 0 to 1; the rest is what was believed of it. They
// tell all of the level.
func (p *Prices) told() pair {
	told := p.cov.diagonal()
	for k, v := range told.kinds {
		told.kinds[k] = 1 - v/p.between[TraitKind]
	}
	told.rest[0] = 1
	for i := 1; i < len(told.rest); i++ {
		told.rest[i] = 1 - told.rest[i]/p.between[p.rest.trait[i]]
	}
	return told
}

// free is the share of the sales that the columns do not use up.
func (p *Prices) free(told pair) float64 {
	used := 0.0
	for _, side := range [][]float64{told.kinds, told.rest} {
		for _, share := range side {
			used += share
		}
	}
	return max(0, 1-used/float64(p.sales))
}
