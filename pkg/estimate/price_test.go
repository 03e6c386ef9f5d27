package estimate_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"tackfree/pkg/estimate"
	"tackfree/pkg/fault"
)

// words is how many words each trait of a made-up shop has.
var words = [estimate.NumTraits]int{12, 3, 4, 5, 3, 12}

// shop is a made-up shop whose truth is known.
type shop struct {
	random  *rand.Rand
	level   float64
	effects [estimate.NumTraits][]float64
	chance  float64 // standard deviation
	unknown float64 // share of traits that are not noted
}

func newShop(seed uint64, words [estimate.NumTraits]int) *shop {
	s := &shop{random: rand.New(rand.NewPCG(seed, 9)), unknown: 0.1}
	s.level, s.chance = 10+s.random.NormFloat64(), 0.2+0.2*s.random.Float64()
	for trait, sd := range [estimate.NumTraits]float64{0.6, 0.3, 0.2, 0.17, 0.14, 0.1} {
		for range words[trait] {
			s.effects[trait] = append(s.effects[trait], sd*s.random.NormFloat64())
		}
	}
	return s
}

// draw is a piece and where its price is centred, which goes by what it is and not by what is
// noted of it.
func (s *shop) draw() (t estimate.Traits, centre float64) {
	centre = s.level
	for trait, all := range s.effects {
		i := s.random.IntN(len(all))
		centre += all[i]
		if s.random.Float64() >= s.unknown {
			t[trait] = fmt.Sprint("word ", i)
		}
	}
	return t, centre
}

func (s *shop) sale() estimate.PastSale {
	t, centre := s.draw()
	return estimate.PastSale{Price: math.Exp(centre + s.chance*s.random.NormFloat64()), Traits: t}
}

func (s *shop) sales(n int) []estimate.PastSale {
	all := make([]estimate.PastSale, n)
	for i := range all {
		all[i] = s.sale()
	}
	return all
}

// average is the effect of each trait as it was sold and noted.
func (s *shop) average(sales []estimate.PastSale) (average [estimate.NumTraits]float64) {
	for trait := range average {
		n := 0.0
		for _, sale := range sales {
			var i int
			if _, err := fmt.Sscanf(sale.Traits[trait], "word %d", &i); err == nil {
				n++
				average[trait] += (s.effects[trait][i] - average[trait]) / n
			}
		}
	}
	return average
}

func fitPrices(t testing.TB, sales []estimate.PastSale) *estimate.Prices {
	t.Helper()
	p, err := estimate.FitPrices(sales)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func priceOf(t testing.TB, p *estimate.Prices, traits estimate.Traits, b *estimate.Belief) estimate.PriceForecast {
	t.Helper()
	f, err := p.Forecast(traits, b)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// O. L. Davies and P. L. Goldsmith, Statistical Methods in Research and Production (1972): the
// yield of dyestuff from six batches, five times each, from memory. The mean squares between and
// within batches are 11271.5 and 2451.25; restricted maximum likelihood, which for equal numbers
// is (11271.5 − 2451.25) ÷ 5, is published as 1764, and the effects of the batches as below.
func TestPrices_Dyestuff(t *testing.T) {
	yields := map[string][]float64{
		"A": {1545, 1440, 1440, 1520, 1580}, "B": {1540, 1555, 1490, 1560, 1495}, "C": {1595, 1550, 1605, 1510, 1560},
		"D": {1445, 1440, 1595, 1465, 1545}, "E": {1595, 1630, 1515, 1635, 1625}, "F": {1520, 1455, 1450, 1480, 1445},
	}
	const scale = 0.006 // so that the logarithms are those of prices
	var sales []estimate.PastSale
	for batch, all := range yields {
		for _, y := range all {
			sales = append(sales, estimate.PastSale{Price: math.Exp(scale * y), Traits: estimate.Traits{batch, "x", "x", "x", "x", "x"}})
		}
	}
	between, effects, err := estimate.SettledBetween(sales, 2451.25*scale*scale)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "variance between batches", between/(scale*scale), 1764, 1)
	for batch, want := range map[string]float64{"A": -17.61, "B": 0.39, "C": 28.56, "D": -23.08, "E": 56.73, "F": -44.99} {
		near(t, "effect of batch "+batch, effects[batch]/scale, want, 0.02)
	}
}

// Eight in ten true effects are within what the forecast says of them, and eight in ten fresh
// sales between its tenth and ninetieth percentile, in shops new and old.
func TestPrices_AreCalibrated(t *testing.T) {
	for _, n := range []int{10, 40, 150, 600} {
		var effects, effectsIn, fresh, freshIn float64
		for seed := range uint64(60) {
			s := newShop(seed, words)
			sales := s.sales(n)
			p, average := fitPrices(t, sales), s.average(sales)
			for range 100 {
				traits, centre := s.draw()
				f := priceOf(t, p, traits, nil)
				if y := centre + s.chance*s.random.NormFloat64(); math.Abs(y-f.Mu) < 1.2816*f.Sigma {
					freshIn++
				}
				fresh++
				for _, e := range f.Effects {
					var i int
					fmt.Sscanf(e.Word, "word %d", &i)
					if math.Abs(s.effects[e.Trait][i]-average[e.Trait]-e.Mean) < 1.2816*math.Sqrt(e.Variance) {
						effectsIn++
					}
					effects++
				}
			}
		}
		near(t, fmt.Sprintf("after %d sales, share of fresh ones within P10 to P90", n), freshIn/fresh, 0.8, 0.04)
		near(t, fmt.Sprintf("after %d sales, share of true effects within theirs", n), effectsIn/effects, 0.8, 0.04)
	}
}

// A shop that notes the kind alone, where nothing else matters, is told no more doubt than there is once it has
// sold enough: what else could move its prices it would have seen as chance.
func TestPrices_AreCalibrated_KindAlone(t *testing.T) {
	for _, n := range []int{150, 600} {
		fresh, within := 0.0, 0.0
		for seed := range uint64(60) {
			s := newShop(seed, words)
			for trait := estimate.TraitKind + 1; trait < estimate.NumTraits; trait++ {
				clear(s.effects[trait])
			}
			kinds := func() (estimate.Traits, float64) {
				sale := s.sale()
				return estimate.Traits{estimate.TraitKind: sale.Traits[estimate.TraitKind]}, sale.Price
			}
			sales := make([]estimate.PastSale, n)
			for i := range sales {
				sales[i].Traits, sales[i].Price = kinds()
			}
			p := fitPrices(t, sales)
			for range 100 {
				traits, price := kinds()
				traits[estimate.TraitLook] = "painted" // of which no sale says anything
				f := priceOf(t, p, traits, nil)
				if math.Abs(math.Log(price)-f.Mu) < 1.2816*f.Sigma {
					within++
				}
				fresh++
			}
		}
		near(t, fmt.Sprintf("after %d sales, share of fresh ones within P10 to P90", n), within/fresh, 0.8, 0.04)
	}
}

// With few sales of a kind, drawing it toward the others comes nearer to the truth than its own
// average, and than the average of all.
func TestPrices_PartialPoolingIsNearest(t *testing.T) {
	var pooled, own, all float64
	for seed := range uint64(100) {
		s := newShop(seed, [estimate.NumTraits]int{20, 1, 1, 1, 1, 1})
		s.unknown = 0
		sales := s.sales(60)
		p := fitPrices(t, sales)
		sums, counts, sum := map[string]float64{}, map[string]float64{}, 0.0
		for _, sale := range sales {
			sums[sale.Traits[0]] += math.Log(sale.Price)
			counts[sale.Traits[0]]++
			sum += math.Log(sale.Price) / float64(len(sales))
		}
		rest := 0.0
		for _, effects := range s.effects[1:] {
			rest += effects[0]
		}
		for i, effect := range s.effects[0] {
			word := fmt.Sprint("word ", i)
			if counts[word] == 0 {
				continue
			}
			truth := s.level + effect + rest
			mu := priceOf(t, p, estimate.Traits{word, "word 0", "word 0", "word 0", "word 0", "word 0"}, nil).Mu
			pooled += square(mu - truth)
			own += square(sums[word]/counts[word] - truth)
			all += square(sum - truth)
		}
	}
	if !(pooled < 0.95*own && pooled < 0.5*all) {
		t.Errorf("squared error of partial pooling %v, of a kind's own average %v, of the average of all %v", pooled, own, all)
	}
}

func square(x float64) float64 { return x * x }

// With no sales what was said stands; with more of the kind it counts less and less, and the
// forecast goes from it toward them.
func TestPrices_LeanOnBeliefThenOnSales(t *testing.T) {
	said, err := estimate.BeliefBetween(20000, 40000)
	if err != nil {
		t.Fatal(err)
	}
	traits := estimate.Traits{"dresser", "large", "good", "paint", "fair", "3"}
	if f := priceOf(t, fitPrices(t, nil), traits, &said); f.Mu != said.Mu || math.Abs(f.Sigma-said.Sigma) > 1e-12 || f.Believed != 1 || f.Sales != 0 || f.OfKind != 0 {
		t.Errorf("with no sales %+v, want what was said, %+v", f, said)
	}
	random := rand.New(rand.NewPCG(1, 2))
	var sales []estimate.PastSale
	believed, off := 1.0, 0.0
	for _, n := range []int{3, 10, 40, 400} {
		for len(sales) < n {
			sales = append(sales, estimate.PastSale{Price: 60000 * math.Exp(0.25*random.NormFloat64()), Traits: estimate.Traits{"dresser", "large", "good", "paint", "fair", fmt.Sprint(len(sales) % 12)}})
		}
		f := priceOf(t, fitPrices(t, sales), traits, &said)
		if gone := f.Mu - said.Mu; !(f.Believed < believed && gone > off) || f.OfKind != n || f.Sales != n {
			t.Errorf("after %d sales %+v, which leans on what was said by %v before", n, f, believed)
		}
		believed, off = f.Believed, f.Mu-said.Mu
	}
	if believed > 0.2 {
		t.Errorf("after 400 sales what was said counts %v", believed)
	}
	other := priceOf(t, fitPrices(t, sales), estimate.Traits{"table"}, &said)
	if !(other.Believed > 2*believed) || other.OfKind != 0 {
		t.Errorf("of a kind that was never sold what was said counts %v, of one sold 400 times %v", other.Believed, believed)
	}
}

func TestPrices_OrderDoesNotMatter(t *testing.T) {
	s := newShop(3, words)
	sales := s.sales(300)
	traits, _ := s.draw()
	one := priceOf(t, fitPrices(t, sales), traits, nil)
	s.random.Shuffle(len(sales), func(i, j int) { sales[i], sales[j] = sales[j], sales[i] })
	other := priceOf(t, fitPrices(t, sales), traits, nil)
	near(t, "mu", other.Mu, one.Mu, 1e-9)
	near(t, "sigma", other.Sigma, one.Sigma, 1e-9)
	for i, e := range one.Effects {
		near(t, e.Word, other.Effects[i].Mean, e.Mean, 1e-9)
	}
}

// One sale in twenty noted a hundred times too high, which a slip with the decimal point does,
// moves no forecast by much.
func TestPrices_OutliersDoNotSetPrices(t *testing.T) {
	s := newShop(5, words)
	sales := s.sales(400)
	clean := fitPrices(t, sales)
	for i := range sales {
		if i%20 == 7 {
			sales[i].Price *= 100
		}
	}
	spoilt := fitPrices(t, sales)
	for range 50 {
		traits, _ := s.draw()
		want, got := priceOf(t, clean, traits, nil), priceOf(t, spoilt, traits, nil)
		near(t, "mu", got.Mu, want.Mu, 0.2)
		near(t, "sigma over sigma", got.Sigma/want.Sigma, 1.15, 0.15)
	}
}

// A trait that nobody noted widens the forecast by how far its words differ, and moves nothing.
func TestPrices_UnknownTraitSaysNothing(t *testing.T) {
	s := newShop(8, words)
	s.unknown = 0
	p := fitPrices(t, s.sales(500))
	traits, _ := s.draw()
	known := priceOf(t, p, traits, nil)
	kind := known.Effects[estimate.TraitKind]
	traits[estimate.TraitKind] = ""
	unknown := priceOf(t, p, traits, nil)
	near(t, "mu", unknown.Mu, known.Mu-kind.Mean, 1e-9) // an effect is against the average
	if len(unknown.Effects) != len(known.Effects)-1 || unknown.Sigma < 1.3*known.Sigma || unknown.OfKind != 0 {
		t.Errorf("without its kind %+v, with it %+v", unknown, known)
	}
	traits[estimate.TraitKind] = "sedan chair"
	never := priceOf(t, p, traits, nil)
	near(t, "mu of a kind never sold", never.Mu, unknown.Mu, 0.1)
	near(t, "sigma of a kind never sold", never.Sigma/unknown.Sigma, 1.05, 0.05)
	if e := never.Effects[0]; e.Word != "sedan chair" || e.Mean != 0 || e.Sales != 0 || !(e.Variance > 10*kind.Variance) {
		t.Errorf("effect of a kind never sold = %+v", e)
	}
}

// Chance is what it is, though the farthest sales are cut; and what a shop never notes of its
// pieces is not taken for more than its sales show.
func TestPrices_Chance(t *testing.T) {
	random := rand.New(rand.NewPCG(4, 4))
	draw := func(n int, chance float64, traits estimate.Traits) (sales []estimate.PastSale) {
		for range n {
			sales = append(sales, estimate.PastSale{Price: 30000 * math.Exp(chance*random.NormFloat64()), Traits: traits})
		}
		return sales
	}
	all := estimate.Traits{"chair", "small", "good", "paint", "fair", "3"}
	near(t, "sigma", priceOf(t, fitPrices(t, draw(6000, 0.3, all)), all, nil).Sigma, 0.3, 0.006)
	kind := estimate.Traits{"chair"}
	near(t, "sigma of a shop that notes kinds only", priceOf(t, fitPrices(t, draw(3000, 0.1, kind)), kind, nil).Sigma, 0.12, 0.03)
}

func TestPrices_Refuse(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	sold := fitPrices(t, []estimate.PastSale{{Price: 100}})
	for name, err := range map[string]error{
		"price 0": second(estimate.FitPrices([]estimate.PastSale{{}})), "price below": second(estimate.FitPrices([]estimate.PastSale{{Price: -5}})),
		"price": second(estimate.FitPrices([]estimate.PastSale{{Price: 5}, {Price: nan}})), "price without end": second(estimate.FitPrices([]estimate.PastSale{{Price: inf}})),
		"belief": second(sold.Forecast(estimate.Traits{}, &estimate.Belief{Mu: nan, Sigma: 1})), "too high": second(sold.Forecast(estimate.Traits{}, &estimate.Belief{Mu: 36, Sigma: 1})),
		"sure": second(sold.Forecast(estimate.Traits{}, &estimate.Belief{Mu: 9})), "spread": second(sold.Forecast(estimate.Traits{}, &estimate.Belief{Mu: 9, Sigma: nan})),
		"low": second(estimate.BeliefBetween(0, 5)), "upside down": second(estimate.BeliefBetween(6, 5)), "alike": second(estimate.BeliefBetween(5, 5)), "high": second(estimate.BeliefBetween(5, nan)), "too wide": second(estimate.BeliefBetween(1, 1e9)),
	} {
		if f := fault.Of(err); f == nil || f.Reason != "OUT_OF_RANGE" || f.Fields[0].Path == "" {
			t.Errorf("%s = %v, want OUT_OF_RANGE that names the argument", name, err)
		}
	}
	if _, err := fitPrices(t, nil).Forecast(estimate.Traits{}, nil); !fault.Is(err, "BELIEF_MISSING") {
		t.Errorf("with neither sales nor belief %v, want BELIEF_MISSING", err)
	}
}

// A single sale makes a forecast already, and a wide one.
func TestPrices_OneSale(t *testing.T) {
	f := priceOf(t, fitPrices(t, []estimate.PastSale{{Price: 30000, Traits: estimate.Traits{"chair"}}}), estimate.Traits{"chair"}, nil)
	near(t, "median", f.Median(), 30000, 1e-6)
	if !(f.Sigma > 0.5 && f.Sigma < 1.2) {
		t.Errorf("sigma = %v", f.Sigma)
	}
}

func BenchmarkFitPrices_5000(b *testing.B) {
	sales := newShop(1, [estimate.NumTraits]int{20, 3, 5, 12, 8, 12}).sales(5000)
	for b.Loop() {
		fitPrices(b, sales)
	}
}
