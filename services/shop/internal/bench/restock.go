package bench

import (
	"math"

	"tackfree/pkg/stock"
)

const (
	restockWeeks    = 26
	restockProducts = 40
	restockShops    = 3   // each by a seed of its own
	restockMemory   = 180 // days of past use that both look at
	orderCost       = 800 // of one order, in minor units. Common practice: a quarter of an hour's work
	holding         = 0.25
	// Of a threshold as textbooks have it, and of the policy, which can afford more.
	thresholdService, policyService = 0.95, 0.995
)

// Restock is what a way to buy came to in half a year.
type Restock struct {
	Stockouts int   `json:"stockouts"` // times that something was wanted and was not there
	TiedUp    int64 `json:"tied_up"`   // what was on hand, on average, in minor units
}

// Restocks are both ways, of the same shops.
type Restocks struct {
	Threshold Restock `json:"threshold"`
	Policy    Restock `json:"policy"`
}

// RunRestock lets shops buy for half a year by a threshold alone and by the policy of package
// stock, after half a year from which both know their use. Demand and the times of delivery are
// the same for both; they are drawn, for no shop's books are at hand.
func RunRestock() (r Restocks, err error) {
	for seed := range uint64(restockShops) {
		for n := range uint64(restockProducts) {
			w := newWant(seed, n)
			for _, side := range []struct {
				buy buyer
				sum *Restock
			}{{threshold, &r.Threshold}, {policy, &r.Policy}} {
				got, err := w.live(side.buy)
				if err != nil {
					return r, err
				}
				side.sum.Stockouts += got.Stockouts
				side.sum.TiedUp += got.TiedUp
			}
		}
	}
	return r, nil
}

// buyer says how much to order on a day, of what is known then.
type buyer func(k known) (float64, error)

// known is what a shop knows of a product on a day.
type known struct {
	product
	day   int
	owed  float64 // what was wanted and has not been there
	state stock.State
	used  []stock.Used
}

// threshold orders by EOQ when what is on hand and on order falls below the reorder point of
// all use, whatever plans say.
func threshold(k known) (float64, error) {
	use := stock.UseOf(lately(stock.Unforeseen(k.used, k.day, math.Inf(1))))
	point, err := stock.ReorderPoint(use, k.state.Lead, thresholdService)
	if err != nil {
		return 0, err
	}
	have := k.state.OnHand - k.owed
	for _, a := range k.state.Arrivals {
		have += a.Amount
	}
	if have >= point {
		return 0, nil
	}
	q, err := stock.EOQ(use.Mean*365, orderCost, holding*k.price)
	return max(q, point-have), err
}

// policy holds stock for what nobody planned in time, and buys what is planned when it is due.
func policy(k known) (float64, error) {
	k.state.Use = stock.UseOf(lately(stock.Unforeseen(k.used, k.day, 1.25*k.stated)))
	k.state.Needs = append(k.state.Needs, stock.Need{Amount: k.owed})
	p := stock.Policy{Service: policyService, Review: 1, OrderCost: orderCost, Holding: holding}
	a, err := p.Look(k.state, k.price)
	if err != nil || !a.Now {
		return 0, err
	}
	return a.Amount, nil
}

func lately(days []float64) []float64 { return days[max(0, len(days)-restockMemory):] }
