package advice

import (
	"cmp"
	"math"
	"slices"
	"time"

	"tackfree/pkg/estimate"
	"tackfree/pkg/money"
)

// Basis is what a forecast goes by.
type Basis struct {
	Sales, OfKind int // that were learned from; of a set, those alike as one
	Listings      int // of which the days were learned
	Belief        float64
	Said          *Said // what is believed; nil: nothing
	TooFew        bool
	Effects       []Effect
	Examples      []Example
}

// Effect is how a trait moves the price: times Factor, eight times in ten between Low and High.
type Effect struct {
	Trait             estimate.Trait
	Word              string
	Factor, Low, High float64
	Sales             int
}

// Example is a sale that tells of such a piece.
type Example struct {
	Piece
	Price  money.Amount
	SoldAt time.Time
	Days   int // from its listing; 0 where it was never listed
	Same   int // traits that are the same, of those known of both
}

// mostExamples is how many are told.
const mostExamples = 5

func (m *Model) basis(t estimate.Traits, p estimate.PriceForecast, said *Said) Basis {
	b := Basis{Sales: p.Sales, OfKind: p.OfKind, Listings: m.listings, Belief: p.Believed, Said: said, TooFew: p.OfKind < few, Examples: m.examples(t)}
	for _, e := range p.Effects {
		spread := math.Exp(tail * math.Sqrt(e.Variance))
		factor := math.Exp(e.Mean)
		b.Effects = append(b.Effects, Effect{e.Trait, e.Word, factor, factor / spread, factor * spread, e.Sales})
	}
	return b
}

// examples are the sales most alike: of the same kind before others, then by how many traits are the
// same, and of those the latest.
func (m *Model) examples(t estimate.Traits) (out []Example) {
	var best []alike
	for n := range m.taught {
		a := alike{&m.taught[n], m.taught[n].traits[estimate.TraitKind] == t[estimate.TraitKind], same(t, m.taught[n].traits)}
		at, _ := slices.BinarySearchFunc(best, a, alike.compare)
		if at < mostExamples {
			best = slices.Insert(best, at, a)[:min(mostExamples, len(best)+1)]
		}
	}
	for _, a := range best {
		out = append(out, Example{Piece: a.Piece, Price: a.price, SoldAt: a.soldAt, Days: a.stood(), Same: a.same})
	}
	return out
}

// alike is a sale by how much it tells of another piece.
type alike struct {
	*taught
	kind bool // it is the same
	same int
}

// compare puts the one that tells more first. Of two of one set the later tag comes first.
func (a alike) compare(b alike) int {
	if a.kind != b.kind {
		if a.kind {
			return -1
		}
		return 1
	}
	return cmp.Or(b.same-a.same, b.soldAt.Compare(a.soldAt), cmp.Compare(b.Tag, a.Tag))
}

// same counts the traits that are the same, of those known of both.
func same(a, b estimate.Traits) (n int) {
	for i := range a {
		if a[i] != "" && a[i] == b[i] {
			n++
		}
	}
	return n
}

// stood is on which day of its listing it was sold, 1 being the first; 0 where it was never listed.
func (s taught) stood() int {
	if s.listedAt.IsZero() {
		return 0
	}
	return 1 + wholeDays(s.listedAt, s.soldAt)
}
