package advice

import (
	"slices"

	"tackfree/pkg/money"
)

// InForce are terms as advice goes by them: with what is usual, or follows, where nobody said.
type InForce struct {
	Beliefs                                   []Belief
	HoldingSmall, HoldingMedium, HoldingLarge money.Amount
	FeePercent                                float64
	DaysBetween, MostMarkdowns, Horizon       int32
	SalvagePercent                            float64

	said [sizes]string // by size: of which size its floor was said
}

// InForce fills in what nobody said.
func (t Terms) InForce() InForce {
	f := InForce{Beliefs: t.Beliefs, FeePercent: t.FeePercent, DaysBetween: or(t.DaysBetween, usualDaysBetween), MostMarkdowns: or(t.MostMarkdowns, usualMostMarkdowns),
		Horizon: or(t.Horizon, usualHorizon), SalvagePercent: or(t.SalvagePercent, usualSalvagePercent)}
	said := [sizes]*money.Amount{t.HoldingSmall, t.HoldingMedium, t.HoldingLarge}
	for size, to := range [sizes]*money.Amount{&f.HoldingSmall, &f.HoldingMedium, &f.HoldingLarge} {
		if from, known := nearest(said, size); known {
			*to, f.said[size] = scaled(*said[from], from, size), sizeWords[from]
		}
	}
	return f
}

func or[T any](said *T, usual T) T {
	if said == nil {
		return usual
	}
	return *said
}

// The sizes, the smallest first.
const (
	small = iota
	medium
	large
	sizes
)

var sizeWords = [sizes]string{"small", "medium", "large"}

// sizeOf is the size of a word. One of which nobody said how large it is counts as medium.
func sizeOf(word string) int {
	if n := slices.Index(sizeWords[:], word); n >= 0 {
		return n
	}
	return medium
}

// nearest is the size of which something was said that is nearest to another, of two the larger.
func nearest(said [sizes]*money.Amount, to int) (size int, known bool) {
	for apart := range sizes {
		for _, size := range []int{to + apart, to - apart} {
			if size >= small && size < sizes && said[size] != nil {
				return size, true
			}
		}
	}
	return 0, false
}

// scaled is what a size's floor costs by what another's does: each size takes twice the floor of the one below,
// as a chair, a dresser and a wardrobe do. Common practice. A half goes to the even one.
func scaled(cost money.Amount, from, to int) money.Amount {
	if to < from {
		return money.MulDiv(cost, 1, 1<<(from-to))
	}
	return min(money.Max, cost<<(to-from))
}

// Holding is what a day of a piece's floor costs.
func (f InForce) Holding(size string) money.Amount {
	return [sizes]money.Amount{f.HoldingSmall, f.HoldingMedium, f.HoldingLarge}[sizeOf(size)]
}

// HoldingSaidOf is the size of which it was said what its floor costs, from which that of another follows; empty: it
// was said of this one, or of none.
func (f InForce) HoldingSaidOf(size string) string {
	if of := f.said[sizeOf(size)]; of != sizeWords[sizeOf(size)] {
		return of
	}
	return ""
}

// of finds what is believed of a kind.
func (f InForce) of(kind string) (Belief, bool) {
	for _, b := range f.Beliefs {
		if b.Key == kind {
			return b, true
		}
	}
	return Belief{}, false
}

// Terms are those that the model goes by.
func (m *Model) Terms() InForce { return m.terms }
