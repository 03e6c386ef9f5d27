package server_test

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"tackfree/pkg/id"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
)

// askSale asks what a piece brings.
func (a *advised) askSale(r *salesv1.AdviseSaleRequest) *salesv1.SaleForecast {
	a.t.Helper()
	a.hear()
	resp, err := a.AdviseSale(a.t.Context(), r)
	if err != nil {
		a.t.Fatal(err)
	}
	return resp.Forecast
}

func of(kind string) *salesv1.AdviseSaleRequest {
	return &salesv1.AdviseSaleRequest{Traits: &salesv1.Traits{Kind: kind}}
}

var bySize = map[string]typev1.PieceSize{"small": typev1.PieceSize_PIECE_SIZE_SMALL, "large": typev1.PieceSize_PIECE_SIZE_LARGE}

// A shop of 300 sales whose truth is known: its advice finds the price of each kind of piece, how far prices scatter,
// how long pieces stand and what a price does to that. Of new sales eight in ten are within the range.
func TestServer_AdviseSale_FindsTheTruth(t *testing.T) {
	a := advises(t)
	a.simulate(300, 11)
	r, inside, drawn, off := rand.New(rand.NewPCG(5, 5)), 0, 0, 0.0
	for kind := range kindPrice {
		for size := range sizeTimes {
			for look := range lookTimes {
				f := a.askSale(&salesv1.AdviseSaleRequest{Traits: &salesv1.Traits{Kind: kind, Size: bySize[size], Condition: typev1.PieceCondition_PIECE_CONDITION_WORN, Look: look, Channel: "Market stall"}})
				truth := likelyOf(kind, size, look)
				if err := math.Abs(math.Log(dollars(f.PriceLikely) / truth)); err > 0.15 {
					t.Errorf("a %s %s in %s brings %v, in truth %.0f", size, kind, look, f.PriceLikely, truth)
				} else {
					off += err / 12
				}
				for range 500 {
					price := truth * math.Exp(scatter*r.NormFloat64())
					drawn++
					if dollars(f.PriceLow) <= price && price <= dollars(f.PriceHigh) {
						inside++
					}
				}
				if math.Abs(f.Elasticity+power) > 0.8 {
					t.Errorf("the elasticity of a %s is %.2f, in truth %.2f", kind, f.Elasticity, -power)
				}
				if days := math.Ln2 / dayChance; math.Abs(math.Log(float64(f.DaysLikely)/days)) > 0.35 {
					t.Errorf("half of such a %s are sold in %d days, in truth %.0f", kind, f.DaysLikely, days)
				}
				if f.Basis.TooFew || f.Basis.Belief != 0 || f.Basis.Sales != 300 {
					t.Errorf("the basis is %v", f.Basis)
				}
			}
		}
	}
	if off > 0.06 {
		t.Errorf("likely prices are off by %.1f %% on average, want 6 at most", 100*off)
	}
	if share := float64(inside) / float64(drawn); share < 0.75 || share > 0.88 {
		t.Errorf("%.1f %% of new sales are within the range, want about 80", 100*share)
	}
}

// Where nothing is known nothing is made up.
func TestServer_AdviseSale_NothingKnown(t *testing.T) {
	a := advises(t)
	f := refuses(t, a.AdviseSale, of("dresser"), "BELIEF_MISSING")
	fields(t, f, "guess")
	piece := a.own("dresser", "large", "", today)
	a.hear()
	refuses(t, a.AdvisePrice, &salesv1.AdvisePriceRequest{Piece: id.Name("pieces", piece)}, "BELIEF_MISSING")
}

// A guess alone stands as it was said, and the usual thirty days with it.
func TestServer_AdviseSale_BeliefOnly(t *testing.T) {
	a := advises(t)
	r := of("dresser")
	r.Guess = guess(200, 400)
	f := a.askSale(r)
	differ(t, "low", usd(200), f.PriceLow)
	differ(t, "likely", usd(283), f.PriceLikely) // √(200 · 400) = 282.84
	differ(t, "high", usd(400), f.PriceHigh)
	if f.DaysLikely != 30 || f.Basis.Belief != 1 || !f.Basis.TooFew || f.Basis.Sales != 0 || f.Basis.Listings != 0 {
		t.Errorf("forecast of a belief = %v", f)
	}
	// ln(400 ÷ 200) is twice the nine-tenths quantile 1.2816 of the normal distribution.
	if want := math.Ln2 / (2 * 1.2815515655); math.Abs(f.PriceSpread-want) > 1e-9 {
		t.Errorf("spread = %v, want %v", f.PriceSpread, want)
	}
	r.Guess = guess(300, 300)
	if f := a.askSale(r); dollars(f.PriceLikely) != 300 || f.PriceSpread != 0.05 {
		t.Errorf("of one who is sure: likely %v, spread %v", f.PriceLikely, f.PriceSpread)
	}
}

// What is sold for less than twenty is asked for to the cent.
func TestServer_AdviseSale_SmallPrices(t *testing.T) {
	a := advises(t)
	r := of("knob")
	r.Guess = guess(8, 18)
	f := a.askSale(r)
	if f.PriceLikely.Units != 12 || f.PriceLikely.Nanos != 0 { // √(8 · 18) = 12
		t.Errorf("likely = %v, want 12.00", f.PriceLikely)
	}
	r.Guess = guess(8, 19)
	if f := a.askSale(r); f.PriceLikely.Units != 12 || f.PriceLikely.Nanos != 330_000_000 { // √(8 · 19) = 12.3288
		t.Errorf("likely = %v, want 12.33", f.PriceLikely)
	}
}

// Ten sales of a kind are enough to go by; the ranges say how much is known, and the owner's word counts less the
// more was sold.
func TestServer_AdviseSale_TooFew(t *testing.T) {
	a, r := advises(t), &salesv1.AdviseSaleRequest{Guess: guess(200, 400), Traits: &salesv1.Traits{Kind: "Table", Size: typev1.PieceSize_PIECE_SIZE_LARGE,
		Condition: typev1.PieceCondition_PIECE_CONDITION_WORN, Look: "clear", Channel: "market stall"}}
	before := 1.0
	for n := 1; n <= 12; n++ {
		a.sells(a.own("table", "large", "clear", opened), 240+float64(n), opened.AddDate(0, 0, n), id.Nil)
		f := a.askSale(r)
		if f.Basis.TooFew != (n < 10) || f.Basis.SalesOfKind != int32(n) || f.Basis.Sales != int32(n) {
			t.Errorf("after %d sales: %v", n, f.Basis)
		}
		if f.Basis.Belief >= before {
			t.Errorf("after %d sales the belief counts %.3f, before %.3f", n, f.Basis.Belief, before)
		}
		before = f.Basis.Belief
	}
	if f := a.askSale(r); math.Abs(dollars(f.PriceLikely)-246) > 15 {
		t.Errorf("likely = %v, the shop's own sales say about 246", f.PriceLikely)
	}
}

// What moves the price is told of each trait that is known, and the sales most alike are shown: of the
// kind, of the most traits, and of those the latest.
func TestServer_AdviseSale_Basis(t *testing.T) {
	a := advises(t)
	for n := range 20 {
		day := opened.AddDate(0, 0, n)
		a.sells(a.own("dresser", "large", "paint", day), 300, day.AddDate(0, 0, 3), id.Nil)
		a.sells(a.own("dresser", "small", "clear", day), 200, day, id.Nil)
		a.sells(a.own("chair", "large", "paint", day), 60, day, id.Nil)
	}
	stood := a.own("dresser", "large", "paint", opened)
	a.puts(stood, 310, opened.AddDate(0, 0, 2))
	a.sells(stood, 310, opened.AddDate(0, 0, 9), id.Nil) // tag 61
	f := a.askSale(&salesv1.AdviseSaleRequest{Traits: &salesv1.Traits{Kind: "DRESSER", Size: typev1.PieceSize_PIECE_SIZE_LARGE, Look: "Paint", Channel: "market stall"}})
	words := map[salesv1.Basis_Effect_Trait]string{}
	for _, e := range f.Basis.Effects {
		words[e.Trait] = e.Word
		if !(e.Low <= e.Factor && e.Factor <= e.High) {
			t.Errorf("effect %v is out of its own range", e)
		}
		if e.Trait == salesv1.Basis_Effect_TRAIT_SIZE && (e.Factor <= 1 || e.Sales != 41) {
			t.Errorf("large is %v, which brings more, of 41 sales", e)
		}
	}
	for trait, word := range map[salesv1.Basis_Effect_Trait]string{salesv1.Basis_Effect_TRAIT_KIND: "dresser", salesv1.Basis_Effect_TRAIT_SIZE: "large",
		salesv1.Basis_Effect_TRAIT_LOOK: "paint", salesv1.Basis_Effect_TRAIT_CHANNEL: "market stall", salesv1.Basis_Effect_TRAIT_SEASON: "january"} {
		if words[trait] != word {
			t.Errorf("the effect of %v is of %q, want %q", trait, words[trait], word)
		}
	}
	if _, told := words[salesv1.Basis_Effect_TRAIT_CONDITION]; told {
		t.Error("an effect of the condition is told, which is not known")
	}
	var tags []int32
	for _, e := range f.Basis.Examples {
		tags = append(tags, e.Tag)
	}
	// Sold on days 22, 21, 20, 19 and 18.
	if want := []int32{58, 55, 52, 49, 46}; len(tags) != 5 || tags[0] != want[0] || tags[4] != want[4] {
		t.Errorf("examples are %v, want %v", tags, want)
	}
	if e := f.Basis.Examples[0]; e.Same != 5 || e.Days != 0 || e.Title != "Old dresser" || dollars(e.Price) != 300 || !e.SaleTime.AsTime().Equal(opened.AddDate(0, 0, 22)) {
		t.Errorf("the first example is %v", e)
	}
	a.now = opened.AddDate(0, 0, 10) // before most: of what is told then, nothing changes
	for _, e := range a.askSale(of("chair")).Basis.Examples {
		if e.Title != "Old chair" {
			t.Errorf("an example of a chair is %v", e)
		}
	}
}

// Days of an example are counted from its listing.
func TestServer_AdviseSale_ExampleDays(t *testing.T) {
	a := advises(t)
	piece := a.own("desk", "", "", opened)
	a.puts(piece, 90, opened)
	a.sells(piece, 85, opened.Add(9*24*time.Hour+time.Hour), id.Nil)
	if e := a.askSale(of("desk")).Basis.Examples[0]; e.Days != 10 {
		t.Errorf("sold on the tenth day: %v", e)
	}
}
