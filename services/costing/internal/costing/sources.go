package costing

import (
	"cmp"
	"math"
	"slices"
	"time"

	"tackfree/pkg/estimate"
	"tackfree/pkg/money"
)

// Source is what came of the pieces that were bought from one source.
type Source struct {
	Of
	Bought, Unsold, Sold, GivenUp int32
	Paid                          money.Amount // for all that were bought
	Sums                                       // of what was sold
	Lost                          money.Amount // by what was given up
	// MedianDays is how many days after it came in half of the sold ones were sold; meaningless of none.
	MedianDays float64
	// PerHour is a forecast of what an hour earns, minor units, and never booked: by Student's t nineteen times in twenty from Low to
	// High, nil where fewer than two were sold. Pooled is the same drawn towards all sources; nil where no piece says anything.
	Low, High, Pooled *money.Amount

	sold  []Sheet
	ratio estimate.Ratio
}

// FewSold is from how many sold pieces on one more can no longer turn a comparison round. Common practice.
const FewSold = 5

// CompareSources says what came of pieces that were bought: what earned most for an hour first, as drawn towards all; and of
// all of them.
func CompareSources(bought []Sheet) ([]Source, Source, error) {
	parts := make([]portion[Source], len(bought))
	for i, s := range bought {
		parts[i] = portion[Source]{ofWord(s.Source), s.bought()}
	}
	sources, total := sumBy(parts, (*Source).add, func(e *Source, o Of) { e.Of = o })
	for i := range sources {
		sources[i].reckon()
	}
	total.reckon()
	err := pool(sources)
	slices.SortStableFunc(sources, func(a, b Source) int {
		return cmp.Compare(b.rank(), a.rank())
	})
	return sources, total, err
}

// bought is what the piece counts for: one that was sold and scrapped at once is sold, as in the ledger.
func (s Sheet) bought() Source {
	e := Source{Bought: 1, Paid: s.Acquisition}
	switch {
	case s.Sales == Sold:
		e.Sold, e.Sums, e.sold = 1, s.Sums, []Sheet{s}
	case s.Scrapped:
		e.GivenUp, e.Lost = 1, -s.Profit()
	default:
		e.Unsold = 1
	}
	return e
}

func (e *Source) add(f Source) {
	e.Bought += f.Bought
	e.Unsold += f.Unsold
	e.Sold += f.Sold
	e.GivenUp += f.GivenUp
	e.Paid += f.Paid
	e.plus(f.Sums)
	e.Lost += f.Lost
	e.sold = append(e.sold, f.sold...)
}

// reckon fills in what follows from the sold pieces.
func (e *Source) reckon() {
	profits, hours, days := make([]float64, len(e.sold)), make([]float64, len(e.sold)), make([]float64, len(e.sold))
	for i, s := range e.sold {
		profits[i], hours[i] = float64(s.Profit()), (s.LabourTime + s.ReworkTime).Hours()
		days[i] = s.SoldAt.Sub(s.CameAt).Hours() / 24
	}
	e.MedianDays = median(days)
	if e.LabourTime+e.ReworkTime < time.Minute {
		return
	}
	e.ratio, _ = estimate.RatioOf(profits, hours)
	if low, high, ok := e.ratio.Within95(); ok {
		e.Low, e.High = minor(low), minor(high)
	}
}

// median is the middle one, or the mean of the two in the middle; 0 of none.
func median(of []float64) float64 {
	if len(of) == 0 {
		return 0
	}
	slices.Sort(of)
	return (of[(len(of)-1)/2] + of[len(of)/2]) / 2
}

// minor rounds a forecast to minor units, halves away from zero; nil of what no amount can be.
func minor(forecast float64) *money.Amount {
	rounded := math.Round(forecast)
	if math.IsNaN(rounded) || math.Abs(rounded) > float64(money.Max) {
		return nil
	}
	a := money.Amount(rounded)
	return &a
}

// pool draws what an hour earns at each source towards all. What one piece says of it is taken to vary alike at all sources,
// by those of which several were sold.
func pool(sources []Source) error {
	var means []float64
	var counts, at []int
	squares, freedom := 0.0, 0.0
	for i, s := range sources {
		if s.ratio.Pieces == 0 {
			continue
		}
		means, counts, at = append(means, s.ratio.PerHour), append(counts, s.ratio.Pieces), append(at, i)
		squares += float64(s.ratio.Pieces-1) * s.ratio.Spread
		freedom += float64(s.ratio.Pieces - 1)
	}
	if freedom == 0 {
		return nil
	}
	drawn, err := estimate.Pool(means, counts, squares/freedom)
	for n, d := range drawn {
		sources[at[n]].Pooled = minor(d)
	}
	return err
}

// rank is by what sources are sorted; those that say nothing of an hour come last.
func (e Source) rank() float64 {
	switch {
	case e.Pooled != nil:
		return float64(*e.Pooled)
	case e.ratio.Pieces > 0:
		return e.ratio.PerHour
	}
	return math.Inf(-1)
}
