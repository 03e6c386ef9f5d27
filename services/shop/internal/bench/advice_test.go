package bench

import "testing"

// Of made-up purchases at "80 %", about 800 in 1,000 reach the target; forecasts hold what they say, and come nearer than
// plain means; the markdowns that are advised earn more than fixed ways. The bounds are those that are wanted of them.
func TestPlayShops(t *testing.T) {
	r, err := playShops(adviceShops)
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("%+v", r)
	if r.Purchases < 500 || r.ReachedTarget < 0.76 || r.ReachedTarget > 0.84 {
		t.Errorf("of %d purchases %.3f reach the target, want 0.76 to 0.84", r.Purchases, r.ReachedTarget)
	}
	if r.WithinForecast < 0.76 || r.WithinForecast > 0.84 {
		t.Errorf("%.3f of sales are within the forecast, want 0.76 to 0.84", r.WithinForecast)
	}
	if r.ForecastOff > r.OwnMeanOff || r.ForecastOff > r.AllMeanOff {
		t.Errorf("the forecast is %.3f off, the kind's own mean %.3f, the mean of all %.3f", r.ForecastOff, r.OwnMeanOff, r.AllMeanOff)
	}
	if r.Advised <= r.OnePrice || r.Advised <= r.TenthOff {
		t.Errorf("a piece leaves %.0f as advised, %.0f at one price, %.0f with a tenth off", r.Advised, r.OnePrice, r.TenthOff)
	}
}
