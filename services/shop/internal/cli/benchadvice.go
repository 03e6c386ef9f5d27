package cli

import "tackfree/services/shop/internal/bench"

type benchAdviceCmd struct{ benchFlags }

// Run is called by kong.
func (c *benchAdviceCmd) Run(e *env) error {
	r, err := bench.RunAdvice(e.ctx, e.options(c.Rounds, c.Slice, c.JSON))
	if err != nil {
		return err
	}
	return e.result(c.JSON, r, `of %d pieces that %d made-up shops bought at the most to pay for a chance of %.2f, %.3f reached the target
of fresh sales %.3f are within the forecast's P10 to P90, which holds 0.8; the likely price is off by %.3f, the kind's own mean by %.3f, the mean of all by %.3f (of the logarithm)
a piece leaves %.2f by the markdowns that are advised, which expected %.2f; %.2f at the best one price, %.2f with a tenth off each time
after %d sales: purchase advice half within %.1f ms, 99 of 100 within %.1f ms; price advice %.1f and %.1f ms, the first after something was sold %.1f ms
a photo of 24 megapixels: %.0f ms, %.0f MB more at most`,
		r.Purchases, r.Shops, r.WantedChance, r.ReachedTarget, r.WithinForecast, r.ForecastOff, r.OwnMeanOff, r.AllMeanOff,
		r.Advised/100, r.Expected/100, r.OnePrice/100, r.TenthOff/100, r.Sold, r.PurchaseP50ms, r.PurchaseP99ms, r.PriceP50ms, r.PriceP99ms, r.AnewMs, r.PhotoMs, r.PhotoMB)
}
