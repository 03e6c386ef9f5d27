package estimate

// pair is numbers for the columns of the price model: those of kinds, and the rest, of which the
// first is the level.
type pair struct{ kinds, rest []float64 }

func newPair(kinds, rest int) pair { return pair{make([]float64, kinds), make([]float64, rest)} }

// of is the side on which a trait's words are.
func (v pair) of(trait Trait) []float64 {
	if trait == TraitKind {
		return v.kinds
	}
	return v.rest
}

func (v pair) dot(w pair) float64 { return dot(v.kinds, w.kinds) + dot(v.rest, w.rest) }

// blocks is a symmetric, positive definite matrix over a pair. A piece is of one kind, so kinds
// do not meet each other: however many there are, they cost little.
type blocks struct {
	kinds []float64 // the diagonal
	cross []float64 // kinds by rest, row by row
	rest  square
}

func newBlocks(kinds, rest int) blocks {
	return blocks{make([]float64, kinds), make([]float64, kinds*rest), newSquare(rest)}
}

func (b blocks) row(kind int) []float64 { return b.cross[kind*b.rest.n : (kind+1)*b.rest.n] }

// inverse is that of blocks: kinds holds 1 ÷ the diagonal, cross what each kind leans on the
// rest, and rest is the inverse of the rest's Schur complement.
type inverse struct{ blocks }

func (b blocks) inverse() inverse {
	in := inverse{newBlocks(len(b.kinds), b.rest.n)}
	complement := newSquare(b.rest.n)
	copy(complement.v, b.rest.v)
	for k, d := range b.kinds {
		in.kinds[k] = 1 / d
		lean, cross := in.row(k), b.row(k)
		for j, c := range cross {
			lean[j] = c / d
		}
		for i, c := range cross {
			into := complement.row(i)
			for j, l := range lean {
				into[j] -= c * l
			}
		}
	}
	in.rest = complement.inverse()
	return in
}

// reduced is the rest of a pair less what its kinds lean on it.
func (in inverse) reduced(v pair) []float64 {
	rest := append([]float64(nil), v.rest...)
	for k, x := range v.kinds {
		for j, l := range in.row(k) {
			rest[j] -= x * l
		}
	}
	return rest
}

// times is the inverse times a pair.
func (in inverse) times(v pair) pair {
	out := pair{make([]float64, len(v.kinds)), in.rest.times(in.reduced(v))}
	for k, x := range v.kinds {
		out.kinds[k] = x*in.kinds[k] - dot(in.row(k), out.rest)
	}
	return out
}

// quadratic is a pair, times the inverse, times the pair.
func (in inverse) quadratic(v pair) float64 {
	rest := in.reduced(v)
	sum := dot(rest, in.rest.times(rest))
	for k, x := range v.kinds {
		sum += x * x * in.kinds[k]
	}
	return sum
}

// diagonal is that of the inverse.
func (in inverse) diagonal() pair {
	d := newPair(len(in.kinds), in.rest.n)
	for k := range d.kinds {
		d.kinds[k] = in.kinds[k] + dot(in.row(k), in.rest.times(in.row(k)))
	}
	for i := range d.rest {
		d.rest[i] = in.rest.at(i, i)
	}
	return d
}
