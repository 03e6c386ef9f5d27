package price

import (
	"math"
	"strings"

	salesv1 "tackfree/proto/tackfree/sales/v1"
	"tackfree/services/gateway/internal/axis"
	"tackfree/services/gateway/internal/words"
)

// The sheet of the bar of a factor.
const (
	barWide = 200
	barEdge = 4
)

// made is what a price is made of: each trait times the usual price, as bars on one rule on which as much
// more lies as far to the right as as much less to the left.
type made struct {
	Rows []effect
	One  int // where a factor of one is
}

type effect struct {
	Trait, Word, Factor, Low, High string
	Sales                          int
	X, Wide, At                    int
}

func madeOf(v *words.Voice, all []*salesv1.Basis_Effect) (m made) {
	if len(all) == 0 {
		return m
	}
	values := []int64{0}
	for _, e := range all {
		values = append(values, logOf(e.Low), logOf(e.Factor), logOf(e.High))
	}
	s := axis.Over(barEdge, barWide-barEdge, values...)
	m.One = s.At(0)
	for _, e := range all {
		low, high := s.At(logOf(e.Low)), s.At(logOf(e.High))
		m.Rows = append(m.Rows, effect{Trait: v.T("price.trait." + traitWord(e)), Word: wordText(v, e), Factor: "× " + v.Decimal(e.Factor, 2), Low: v.Decimal(e.Low, 2), High: v.Decimal(e.High, 2),
			Sales: int(e.Sales), X: low, Wide: max(high-low, 2), At: s.At(logOf(e.Factor))})
	}
	return m
}

// logOf is the logarithm of a factor in thousandths.
func logOf(factor float64) int64 {
	if factor <= 0 {
		return 0
	}
	return int64(math.Round(math.Log(factor) * 1000))
}

func traitWord(e *salesv1.Basis_Effect) string {
	return strings.ToLower(strings.TrimPrefix(e.Trait.String(), "TRAIT_"))
}

// wordText says what a trait is of this piece; what the shop itself has named stays so.
func wordText(v *words.Voice, e *salesv1.Basis_Effect) string {
	slug := strings.NewReplacer(" ", "_", "-", "_").Replace(e.Word)
	switch {
	case e.Word == "":
		return v.T("none")
	case e.Trait == salesv1.Basis_Effect_TRAIT_KIND:
		return v.Word("piece", e.Word)
	case e.Trait == salesv1.Basis_Effect_TRAIT_LOOK:
		return v.Word("buying.look", slug)
	case e.Trait == salesv1.Basis_Effect_TRAIT_CHANNEL:
		return e.Word
	}
	return v.Word("price."+traitWord(e), slug)
}

// basis is what a forecast leans on.
type basis struct {
	Says     []string
	TooFew   bool
	Examples []*salesv1.Basis_Example
}

func basisOf(v *words.Voice, f *salesv1.SaleForecast) basis {
	b := f.GetBasis()
	says := []string{
		v.N("price.basis.sales", int(b.GetSales()), v.N("price.basis.kind", int(b.GetSalesOfKind()))),
		v.N("price.basis.listings", int(b.GetListings())),
		v.T("price.basis.belief", v.Percent(b.GetBelief())),
	}
	if s := b.GetSaid(); s != nil {
		says = append(says, saidText(v, s))
	}
	return basis{TooFew: b.GetTooFew(), Examples: b.GetExamples(), Says: append(says, v.T("price.basis.elastic", v.Decimal(f.GetElasticity(), 1)))}
}

// saidText says what is believed, and since when: now, since it was seen, or in the terms of selling.
func saidText(v *words.Voice, s *salesv1.Basis_Said) string {
	low, high := v.Money(s.GetGuess().GetLow()), v.Money(s.GetGuess().GetHigh())
	switch s.When {
	case salesv1.Basis_Said_WHEN_SEEN:
		return v.T("price.said.seen", low, high, v.Day(s.SeenTime))
	case salesv1.Basis_Said_WHEN_TERMS:
		return v.T("price.said.terms", low, high)
	}
	return v.T("price.said.asking", low, high)
}
