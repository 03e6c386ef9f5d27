package advice

import (
	"fmt"
	"math"

	"tackfree/pkg/estimate"
	"tackfree/pkg/fault"
	"tackfree/pkg/money"
)

// Guess is what somebody believes that a piece brings, without tax: eight times in ten between the
// two.
type Guess struct{ Low, High money.Amount }

// sure is the spread of the logarithm that even the surest guess has: a twentieth. Common practice.
const sure = 0.05

// Check refuses what is no range of prices, at a field: GUESS_UPSIDE_DOWN.
func (g Guess) Check(field string) error {
	switch {
	case g.Low <= 0:
		return fault.New(fault.Invalid, "GUESS_UPSIDE_DOWN", "The low price must be above zero; say what such a piece brings at the least.").At(field + ".low")
	case g.High < g.Low:
		return fault.New(fault.Invalid, "GUESS_UPSIDE_DOWN", "The low price is above the high one; check whether the two were mixed up.").At(field + ".low")
	}
	return nil
}

// belief is the guess as a log-normal price. It has been checked.
func (g Guess) belief() (*estimate.Belief, error) {
	if g.Low == g.High {
		return &estimate.Belief{Mu: math.Log(float64(g.Low)), Sigma: sure}, nil
	}
	b, err := estimate.BeliefBetween(float64(g.Low), float64(g.High))
	b.Sigma = max(b.Sigma, sure)
	return &b, err
}

// Belief is what the shop believes of a kind, until its own sales tell better.
type Belief struct {
	Key  string // the kind, folded
	Kind string
	Guess
	// By when half of them are sold; 0: the usual.
	DaysLikely int32
}

// Terms are what the owner believes and wants of selling, as it was said; nil: nobody said.
type Terms struct {
	Beliefs []Belief
	// What a day of floor costs, by the size of the piece.
	HoldingSmall, HoldingMedium, HoldingLarge *money.Amount
	FeePercent                                float64 // that a channel keeps of a price; 0 to 60
	// No markdown sooner than so many days after the one before; 1 to 365.
	DaysBetween *int32
	// Markdowns at most; 0 to 12.
	MostMarkdowns *int32
	// Days after which it goes for what it brings; 1 to 730.
	Horizon *int32
	// What it brings then, of the likely price; 0 to 100.
	SalvagePercent *float64
	Version        int64
}

// What is usual where the owner says nothing. Common practice.
const (
	usualDaysBetween    = 14
	usualMostMarkdowns  = 3
	usualHorizon        = 180
	usualSalvagePercent = 40
)

// Check refuses terms: GUESS_UPSIDE_DOWN, KIND_TWICE.
func (t Terms) Check() error {
	seen := map[string]bool{}
	for n, b := range t.Beliefs {
		if err := b.Check(fmt.Sprintf("terms.beliefs[%d].price", n)); err != nil {
			return err
		}
		if seen[b.Key] {
			return fault.New(fault.Invalid, "KIND_TWICE", "%s is said twice; say once what it brings.", b.Kind).At(fmt.Sprintf("terms.beliefs[%d].kind", n))
		}
		seen[b.Key] = true
	}
	return nil
}
