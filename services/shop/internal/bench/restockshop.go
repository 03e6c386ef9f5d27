package bench

import (
	"math"
	"math/rand/v2"

	"tackfree/pkg/stock"
)

// product is one that a shop uses: sold in one size, delivered in about so many days.
type product struct {
	price  float64 // of one unit, in minor units
	size   float64
	stated float64
}

// want is what will be wanted of a product day by day, and how long each delivery will take.
type want struct {
	product
	used  []stock.Used // by day
	leads []int        // by the day of the order
	days  int
}

const warmUp = restockWeeks * 7

// newWant draws the use of a product: small takings that nobody plans, gamma on some days, and
// larger ones that plans reserve ten to 25 days before. Deliveries take a lognormal time, a
// quarter off what is stated.
func newWant(seed, n uint64) want {
	r := rand.New(rand.NewPCG(seed, n))
	w := want{days: 2 * warmUp, product: product{price: 800 + 6000*r.Float64(), size: []float64{0.946, 1, 3.785}[r.IntN(3)], stated: float64(3 + r.IntN(8))}}
	often, taking := 0.1+0.4*r.Float64(), 0.05+0.15*r.Float64()
	planned, need := 1/(4+10*r.Float64()), 0.4+1.2*r.Float64()
	for day := range w.days {
		if r.Float64() < often {
			w.used = append(w.used, stock.Used{Day: day, Amount: taking * (r.ExpFloat64() + r.ExpFloat64()) / 2})
		}
		if r.Float64() < planned {
			w.used = append(w.used, stock.Used{Day: day, Amount: need * (0.5 + r.Float64()), Ahead: float64(10 + r.IntN(16))})
		}
		sigma := math.Sqrt(math.Log(1 + 0.25*0.25))
		w.leads = append(w.leads, max(1, int(math.Round(w.stated*math.Exp(sigma*r.NormFloat64()-sigma*sigma/2)))))
	}
	return w
}

// order is on its way.
type order struct {
	placed, due int
	amount      float64
}

// shelf is what there is of a product, what is owed and what is on its way.
type shelf struct {
	onHand, owed float64
	orders       []order
	took         []float64 // days, by each delivery that came
}

// live plays the days through with a way to buy; those of the second half count.
func (w want) live(buy buyer) (r Restock, err error) {
	s, tied := shelf{onHand: 3 * w.size}, 0.0
	for day := range w.days {
		s.deliver(day)
		out := s.use(w.used, day)
		if day >= warmUp {
			r.Stockouts += out
			tied += s.onHand * w.price / warmUp
		}
		amount, err := w.buy(buy, day, s)
		if err != nil {
			return r, err
		}
		if amount > 0 {
			s.orders = append(s.orders, order{day, day + w.leads[day], math.Ceil(amount/w.size) * w.size})
		}
	}
	r.TiedUp = int64(math.Round(tied))
	return r, nil
}

// deliver takes in what is due, and gives what is owed as soon as there is enough.
func (s *shelf) deliver(day int) {
	var open []order
	for _, o := range s.orders {
		if o.due > day {
			open = append(open, o)
			continue
		}
		s.onHand += o.amount
		s.took = append(s.took, float64(o.due-o.placed))
	}
	s.orders = open
	if s.owed <= s.onHand {
		s.onHand, s.owed = s.onHand-s.owed, 0
	}
}

// use takes what is wanted on a day, and counts how often it is not there; that is owed.
func (s *shelf) use(used []stock.Used, day int) (out int) {
	for _, u := range used {
		switch {
		case u.Day != day:
		case u.Amount <= s.onHand:
			s.onHand -= u.Amount
		default:
			s.owed += u.Amount
			out++
		}
	}
	return out
}

// buy asks how much to order, of what is known on the day: of what is wanted later only what
// has been reserved by then.
func (w want) buy(buy buyer, day int, s shelf) (float64, error) {
	lead, err := stock.Learn(w.stated, s.took)
	if err != nil {
		return 0, err
	}
	k := known{product: w.product, day: day + 1, owed: s.owed, state: stock.State{OnHand: s.onHand, Lead: lead}}
	for _, o := range s.orders {
		k.state.Arrivals = append(k.state.Arrivals, stock.Arrival{Day: max(1, float64(o.placed-day)+lead.Mean), Amount: o.amount})
	}
	for _, u := range w.used {
		switch ahead := float64(u.Day - day); {
		case ahead <= 0:
			k.used = append(k.used, u)
		case u.Ahead >= ahead:
			k.state.Needs = append(k.state.Needs, stock.Need{Day: ahead, Amount: u.Amount})
		}
	}
	return buy(k)
}
