package materials

import (
	"math"
	"slices"
	"strconv"
	"time"

	"github.com/shopspring/decimal"

	"tackfree/pkg/stock"
)

// calendar counts days from today on in the shop's zone.
type calendar struct {
	now  time.Time
	zone *time.Location
}

func (c calendar) today() time.Time { return dayOf(c.now, c.zone) }

// dayOf is the midnight in UTC of the calendar day of t, so that days have 24 hours.
func dayOf(t time.Time, zone *time.Location) time.Time {
	y, m, d := t.In(zone).Date()
	return time.Date(y, m, d, 0, 0, 0, 0, time.UTC)
}

// in is how many days from today on t is.
func (c calendar) in(t time.Time) float64 {
	return dayOf(t, c.zone).Sub(c.today()).Hours() / 24
}

// day is the calendar day after so many days.
func (c calendar) day(in float64) time.Time { return c.today().AddDate(0, 0, int(math.Floor(in))) }

// state is what policies look at. What is overdue is taken to be as late again as it is already,
// and not to come today. Common practice.
func (c calendar) state(s Supply) stock.State {
	state := stock.State{OnHand: s.Fresh.InexactFloat64(), Arrivals: slices.Clone(s.Spared)}
	for at, n := range s.Needs {
		state.Needs = append(state.Needs, stock.Need{Day: max(0, c.in(n.Wanted(c.now))), Amount: n.Reserved.InexactFloat64(), Stage: strconv.Itoa(at)})
	}
	for _, o := range s.Coming {
		day := c.in(o.Expected)
		if day < 0 {
			day = max(1, -day)
		}
		state.Arrivals = append(state.Arrivals, stock.Arrival{Day: day, Amount: o.Quantity.InexactFloat64()})
	}
	return state
}

// useBeside is the use a day that nobody knew of as long before as a delivery takes, and a
// little longer.
func (s Supply) useBeside(lead stock.Spread) stock.Spread {
	return stock.UseOf(s.days(stock.Unforeseen(s.Used, s.Days, lead.Mean+lead.SD)))
}

// days makes the days at least as many as an average is of.
func (s Supply) days(each []float64) []float64 {
	if len(each) == 0 || len(each) >= youngest {
		return each
	}
	return append(each, make([]float64, youngest-len(each))...)
}

// usedADay is what was used of it a day on average, planned or not.
func (s Supply) usedADay() float64 {
	used := 0.0
	for _, u := range s.Used {
		used += u.Amount
	}
	return used / float64(max(s.Days, youngest))
}

// usedUp is how much is used while it keeps; endless where nobody said how long that is, for then
// what it costs to hold is the only limit.
func (s Supply) usedUp(state stock.State) float64 {
	if s.Keeps == 0 {
		return endless
	}
	keeps := float64(s.Keeps)
	planned := state.Use.Mean * keeps
	for _, n := range state.Needs {
		if n.Day <= keeps {
			planned += n.Amount
		}
	}
	return max(planned, s.usedADay()*keeps)
}

// worth is what a unit of what is on hand has cost, in minor units.
func (s Supply) worth() float64 {
	if !s.Product.OnHand.IsPositive() {
		return 0
	}
	return float64(s.Product.Value) / s.Product.OnHand.InexactFloat64()
}

// halt names the stage that stands still, which its place among the needs tells.
func (c calendar) halt(s Supply, h stock.Halt) *Halt {
	at, err := strconv.Atoi(h.Stage)
	if err != nil {
		panic(err) // state wrote it
	}
	return &Halt{OpenNeed: s.Needs[at], Day: c.day(h.Day), Lacks: roundUp(h.Lacks)}
}

// cover is how many days what is on hand lasts by itself: none, where there is nothing.
func cover(s stock.State) int {
	if s.OnHand <= 0 {
		return 0
	}
	for day := range Lasting {
		left := s.OnHand - s.Use.Mean*float64(day+1)
		for _, n := range s.Needs {
			if n.Day <= float64(day) {
				left -= n.Amount
			}
		}
		if left < 0 {
			return day
		}
	}
	return Lasting
}

func sum[T any](all []T, of func(T) decimal.Decimal) (total decimal.Decimal) {
	for _, one := range all {
		total = total.Add(of(one))
	}
	return total
}

// roundUp makes an exact amount of a forecast, of as many places as a sentence shows.
func roundUp(v float64) decimal.Decimal { return decimal.NewFromFloat(v).RoundCeil(places) }
