package bench

import (
	"context"
	"math/rand/v2"
)

// Advice is how far what the shop is advised to pay and to ask comes true in made-up shops whose truth is known and that
// learn it only from their own sales; and how soon the answers come.
//
//	made-up shop ─▶ past sales, listings, hours ─▶ pkg/estimate learns ─┬▶ pkg/buying: the most to pay ─▶ what it really leaves
//	   (the truth) ─────────────────────────────────────────────────────┼▶ price forecasts ─▶ fresh sales within them
//	                                                                    └▶ markdowns ─▶ what they really bring, beside fixed ways
type Advice struct {
	Shops     int `json:"shops"`
	PastSales int `json:"past_sales"` // of each

	// Of pieces that are bought at the most to pay, which share reaches the target that is wanted with this chance.
	Purchases     int     `json:"purchases"`
	WantedChance  float64 `json:"wanted_chance"`
	ReachedTarget float64 `json:"reached_target"`

	// Of fresh sales, the share within the forecast's tenth and ninetieth percentile; and how far from the true likely
	// price (root mean square of logarithms) the forecast is, the mean of the piece's own kind, and the mean of all.
	WithinForecast float64 `json:"within_forecast"`
	ForecastOff    float64 `json:"forecast_off"`
	OwnMeanOff     float64 `json:"own_mean_off"`
	AllMeanOff     float64 `json:"all_mean_off"`

	// What a piece leaves on average, in cents: by the markdowns that are advised, by the best price that stays, and by a
	// tenth off each time; and what the advice expected.
	Advised  float64 `json:"advised_cents"`
	Expected float64 `json:"expected_cents"`
	OnePrice float64 `json:"one_price_cents"`
	TenthOff float64 `json:"tenth_off_cents"`

	// Of a shop that has sold 5,000 pieces, through gRPC.
	Sold          int     `json:"sold"`
	PurchaseP50ms float64 `json:"purchase_p50_ms"`
	PurchaseP99ms float64 `json:"purchase_p99_ms"`
	PriceP50ms    float64 `json:"price_p50_ms"`
	PriceP99ms    float64 `json:"price_p99_ms"`
	// Of the first question after a sale, for which all is learned anew.
	AnewMs float64 `json:"anew_ms"`
	// Of a photo of 24 million pixels: kept, with its small picture; and what the process took more for it at most.
	PhotoMs float64 `json:"photo_ms"`
	PhotoMB float64 `json:"photo_mb"`
}

const (
	adviceShops  = 25
	advicePast   = 300
	adviceEach   = 40 // purchases of each shop
	adviceChance = 0.8
	adviceSold   = 5_000
)

// RunAdvice plays the made-up shops, always the same ones, and then measures a shop that has sold much. Slice and
// rounds say how long it asks.
func RunAdvice(ctx context.Context, o Options) (r Advice, err error) {
	if r, err = playShops(adviceShops); err != nil {
		return r, err
	}
	o.Say("%d shops played; now a shop that has sold %d", r.Shops, adviceSold)
	return r, adviceSpeed(ctx, o, &r)
}

// playShops has shops of a known truth learn and be advised.
func playShops(shops int) (Advice, error) {
	r := Advice{Shops: shops, PastSales: advicePast, WantedChance: adviceChance}
	t := tally{}
	for seed := range shops {
		s := madeUp(rand.New(rand.NewPCG(uint64(seed), 11)))
		k, err := s.learn(advicePast)
		if err != nil {
			return r, err
		}
		for _, measure := range []func(*learned, *tally) error{s.buys, s.prices, s.marksDown} {
			if err := measure(k, &t); err != nil {
				return r, err
			}
		}
	}
	t.into(&r)
	return r, nil
}
