package materials

import (
	"time"

	"github.com/shopspring/decimal"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/pkg/stock"
)

// RestockPolicy is how the shop buys.
type RestockPolicy struct {
	stock.Policy
	Version int64
}

// UsualRestock is the policy of a shop that has not chosen one. Common practice: nothing runs out
// in 95 of 100 deliveries, somebody looks once a day, an order costs a quarter of an hour's work
// (8.00), and to hold stock for a year a quarter of what it is worth.
var UsualRestock = RestockPolicy{Policy: stock.Policy{Service: 0.95, Review: 1, OrderCost: 800, Holding: 0.25}, Version: 1}

// Check refuses figures that no shop buys by. Fault at the field: OUT_OF_RANGE.
func (p RestockPolicy) Check() error {
	for _, c := range []struct {
		field     string
		v, lo, hi float64
	}{
		{"service_level", p.Service, 0.5, 0.9999}, {"days_between_looks", p.Review, 1.0 / 24, 366},
		{"order_cost", float64(p.OrderCost), 0, 1e9}, {"holding_share", p.Holding, 0.001, 10},
	} {
		if !(c.v >= c.lo && c.v <= c.hi) { // neither is true of NaN
			return fault.New(fault.Invalid, "OUT_OF_RANGE", "%s is %v; it has to be from %v to %v.", fault.The(c.field), c.v, c.lo, c.hi).At(c.field)
		}
	}
	return nil
}

// Coming is what is on order of a product and has not come yet, in its unit.
type Coming struct {
	Quantity decimal.Decimal
	Expected time.Time
}

// Offered is a package that a supplier sells a product in.
type Offered struct {
	Supplier     id.ID
	SupplierName string
	Package      string
	Content      decimal.Decimal // in the product's unit
	LeadDays     int             // as the supplier says
	Breaks       []stock.Break   // by rising number
	Took         []float64       // days from order to delivery: of this product, or else of all, from this supplier
}

// Supply is what is known of a product for advice on it. Amounts are in the product's unit.
type Supply struct {
	Product Product
	Fresh   decimal.Decimal // of what is on hand, what is neither expired nor closed
	Needs   []OpenNeed
	Coming  []Coming
	Used    []stock.Used // by day, in Days days up to now
	Days    int
	Offers  []Offered
	Keeps   int             // days; 0: nobody said
	Mixture *Mixture        // by which it is mixed; nil: it is bought
	Spared  []stock.Arrival // of it, by what is there already of what is mixed with it
}

// Halt is a stage that would stand still if nothing more were ordered.
type Halt struct {
	OpenNeed
	Day   time.Time // the soonest on which it could be wanted
	Lacks decimal.Decimal
}

// Purchase is what to order.
type Purchase struct {
	Offered
	Count int
	Price money.Amount // of each package
	Cost  money.Amount // of all
}

// Quantity is what is in all of the packages, in the product's unit.
func (b Purchase) Quantity() decimal.Decimal {
	return b.Content.Mul(decimal.NewFromInt(int64(b.Count)))
}

// PriceOf is what each of so many packages costs; false: the supplier does not say.
func (o Offered) PriceOf(packages int) (price money.Amount, known bool) {
	for _, b := range o.Breaks {
		if packages >= b.From {
			price, known = b.Price, true
		}
	}
	return price, known
}

// Advice is what to do about a product.
type Advice struct {
	Supply
	Reserved, OnOrder decimal.Decimal
	Cover             int          // days that what is on hand lasts, at most Lasting
	UseADay           float64      // beside what is planned
	Lead              stock.Spread // of an order that goes out now, in days
	Now               bool         // an order has to go out, or it has to be mixed
	By                time.Time    // the last day for it, which may be over; zero: nothing runs short
	Late              bool         // that day is over
	Halt              *Halt        // nil: none stands still
	Buy               *Purchase    // nil: nothing has to be ordered, or nobody is known to sell it
	Mix               *Mixing      // nil: nothing has to be mixed
	Why               string       // a sentence
}

// Lasting is how many days ahead it is asked how long something lasts: a year.
const Lasting = 365
