package materials

import (
	"math"

	"github.com/shopspring/decimal"

	"tackfree/pkg/estimate"
	"tackfree/pkg/id"
)

// Applied is a product, and how it is put on; id.Nil is any product.
type Applied struct {
	Product id.ID
	Method  string
}

// Taken is what a finished stage took of a product, beside what its data sheet had planned. Both
// are above zero and in the product's unit.
type Taken struct {
	Applied
	Planned, Actual decimal.Decimal
}

// farOff is how many times more or less than planned nobody takes: the amount was written down
// with its point in the wrong place, or a can was booked on one stage for many. Common practice.
const farOff = 10

// Ratio is how much was taken for each unit that was planned.
func (t Taken) Ratio() float64 { return t.Actual.Div(t.Planned).InexactFloat64() }

// FarOff reports that it is left out of what is learned: nobody takes that much more or less.
func (t Taken) FarOff() bool { r := t.Ratio(); return r > farOff || r < 1./farOff }

// Factor is how much the shop takes for each unit that a data sheet plans: 1 as long as nothing is
// known, and what it lies between nine times in ten.
type Factor struct{ Value, Low, High float64 }

// Usage is what stages took of a product that was put on in one way.
type Usage struct {
	Applied
	Stages          int // that count
	LeftOut         int // far off
	Planned, Actual decimal.Decimal
	Factor          Factor
}

// Ratio is how much was taken for each unit that was planned, as it came; zero: of none.
func (u Usage) Ratio() float64 {
	if u.Planned.IsZero() {
		return 0
	}
	return u.Actual.Div(u.Planned).InexactFloat64()
}

// Beliefs are what is believed of the logarithm of a ratio before there are data: of a method, and
// the variances between its products and from one stage to the next.
type Beliefs struct {
	Method           estimate.Normal
	Products, Chance float64
}

// Usual is what is believed of any shop. Common practice: data sheets with the usual losses are
// right to within a third, products differ by a fifth from others that are put on alike, and the
// same person takes a third more or less from one coat to the next.
var Usual = Beliefs{Method: estimate.Normal{Mean: 0, Variance: 0.09}, Products: 0.04, Chance: 0.09}

// Learn tells what was taken of each product by each method, and what the shop takes of it
// therefore: the mean of its stages, drawn to what is known of the method by all products, which
// is drawn to the data sheet. Few stages say little, many say it all. What is believed of a
// product of which nothing is known is beside it, under id.Nil. Source: conjugate normal
// model with known variances, in two levels; B. Efron and C. Morris, Journal of the American
// Statistical Association 70 (1975) 311-319, on why means that are drawn together are nearer the
// truth.
func (b Beliefs) Learn(all []Taken) (map[Applied]Usage, error) {
	sums, logs := map[Applied]Usage{}, map[Applied]float64{}
	for _, t := range all {
		u := sums[t.Applied]
		u.Applied = t.Applied
		if t.FarOff() {
			u.LeftOut++
		} else {
			u.Stages++
			u.Planned, u.Actual = u.Planned.Add(t.Planned), u.Actual.Add(t.Actual)
			logs[t.Applied] += math.Log(t.Ratio())
		}
		sums[t.Applied] = u
	}
	methods, err := b.methods(sums, logs)
	if err != nil {
		return nil, err
	}
	for of, u := range sums {
		believed, err := b.product(methods[of.Method], logs[of], u.Stages)
		if err != nil {
			return nil, err
		}
		u.Factor = factorOf(believed)
		sums[of] = u
	}
	for method, believed := range methods {
		of := Applied{Method: method}
		sums[of] = Usage{Applied: of, Factor: factorOf(estimate.Normal{Mean: believed.Mean, Variance: believed.Variance + b.Products})}
	}
	return sums, nil
}

// methods is what is believed of each method after its products' means, each of which is off by
// what products differ and by chance.
func (b Beliefs) methods(sums map[Applied]Usage, logs map[Applied]float64) (map[string]estimate.Normal, error) {
	out := map[string]estimate.Normal{}
	for of, u := range sums {
		believed, known := out[of.Method]
		if !known {
			believed = b.Method
		}
		if n := float64(u.Stages); n > 0 {
			var err error
			if believed, err = believed.Posterior(logs[of]/n, 1, b.Products+b.Chance/n); err != nil {
				return nil, err
			}
		}
		out[of.Method] = believed
	}
	return out, nil
}

// product is what is believed of a product after its own stages. The doubt in its method carries
// over by as much as it still leans on that.
func (b Beliefs) product(method estimate.Normal, logs float64, stages int) (estimate.Normal, error) {
	own, err := estimate.Normal{Mean: method.Mean, Variance: b.Products}.Posterior(logs/float64(max(1, stages)), stages, b.Chance)
	lean := own.Variance / b.Products
	return estimate.Normal{Mean: own.Mean, Variance: own.Variance + lean*lean*method.Variance}, err
}

// factorOf gives the middle, and the bounds of nine in ten: 1.645 deviations to either side.
func factorOf(n estimate.Normal) Factor {
	aside := 1.645 * math.Sqrt(n.Variance)
	return Factor{Value: math.Exp(n.Mean), Low: math.Exp(n.Mean - aside), High: math.Exp(n.Mean + aside)}
}

// Exact is the factor as it is multiplied with amounts: to four places.
func (f Factor) Exact() decimal.Decimal { return decimal.NewFromFloat(f.Value).Round(4) }
