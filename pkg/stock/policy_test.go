package stock_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"tackfree/pkg/fault"
	"tackfree/pkg/stock"
)

var weekly = stock.Policy{Service: 0.95, Review: 1, OrderCost: 800, Holding: 0.25}

func look(t testing.TB, p stock.Policy, s stock.State) stock.Advice {
	t.Helper()
	a, err := p.Look(s, 2_000)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

// A planned stage on day 20 that takes all there is and more, of a product that nobody uses
// beside plans, is ordered for as late as the delivery allows, and only what is missing.
func TestPolicy_Look_PlannedOnly(t *testing.T) {
	s := stock.State{OnHand: 2, Needs: []stock.Need{{Day: 5, Amount: 1, Stage: "seal"}, {Day: 20, Amount: 3, Stage: "topcoat"}}, Lead: stock.Spread{Mean: 6}}
	if a := look(t, weekly, s); a.Now || a.By != 14 || a.Short != 20 {
		t.Errorf("20 days before: %+v", a)
	}
	for n := range s.Needs {
		s.Needs[n].Day -= 14
	}
	if a := look(t, weekly, s); !a.Now || math.Abs(a.Amount-2) > 1e-9 {
		t.Errorf("on the last day: %+v", a)
	}
	s.Arrivals = []stock.Arrival{{Day: 6, Amount: 2}}
	if a := look(t, weekly, s); a.Now || !math.IsInf(a.By, 1) {
		t.Errorf("when it is on order: %+v", a)
	}
}

// Use that nobody plans is ordered for when what is left comes to the reorder point.
func TestPolicy_Look_ReorderPoint(t *testing.T) {
	s := stock.State{Use: stock.Spread{Mean: 1, SD: 0.5}, Lead: stock.Spread{Mean: 5}}
	point, err := stock.ReorderPoint(s.Use, s.Lead, 0.95)
	if err != nil {
		t.Fatal(err)
	}
	for above, now := range map[float64]bool{-1: true, 0: true, 2: false} {
		s.OnHand = point + above
		if a := look(t, weekly, s); a.Now != now {
			t.Errorf("%v above the reorder point of %v: %+v", above, point, a)
		}
	}
}

// The first stage that lacks something is named, with how much; what comes on its day is in time.
func TestState_StandsStill(t *testing.T) {
	s := stock.State{OnHand: 2, Use: stock.Spread{Mean: 0.1}, Needs: []stock.Need{{Day: 9, Amount: 1, Stage: "topcoat"}, {Day: 3, Amount: 1, Stage: "prime"}}}
	if h, still := s.StandsStill(); !still || h.Stage != "topcoat" || math.Abs(h.Lacks-0.9) > 1e-9 {
		t.Errorf("%+v, %v", h, still)
	}
	s.Arrivals = []stock.Arrival{{Day: 9, Amount: 0.9}}
	if h, still := s.StandsStill(); still {
		t.Errorf("with a delivery that day: %+v", h)
	}
	s.Arrivals[0].Day = 10
	if _, still := s.StandsStill(); !still {
		t.Error("with a delivery the day after")
	}
}

// Whatever a shop is like, after what is advised nothing planned stands still that a delivery
// could still save, and there is nothing more to order today.
func TestPolicy_Look_IsEnough(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		amount, day := rapid.Float64Range(0, 20), rapid.Float64Range(0, 60)
		s := stock.State{OnHand: amount.Draw(t, "on hand"), Use: stock.Spread{Mean: rapid.Float64Range(0, 2).Draw(t, "use"), SD: rapid.Float64Range(0, 2).Draw(t, "spread")},
			Lead: stock.Spread{Mean: rapid.Float64Range(1, 20).Draw(t, "lead"), SD: rapid.Float64Range(0, 4).Draw(t, "of lead")}}
		for range rapid.IntRange(0, 8).Draw(t, "needs") {
			s.Needs = append(s.Needs, stock.Need{Day: day.Draw(t, "day"), Amount: amount.Draw(t, "amount")})
		}
		a, err := weekly.Look(s, 2_000)
		if err != nil {
			t.Fatal(err)
		}
		if !a.Now {
			return
		}
		s.Arrivals = append(s.Arrivals, stock.Arrival{Day: 0, Amount: a.Amount})
		if again, err := weekly.Look(s, 2_000); err != nil || again.Now {
			t.Fatalf("after %+v still %+v, %v", a, again, err)
		}
	})
}

// A gallon that costs less than five quarts is bought though less would do; not where so much is
// never used.
func TestPolicy_Choose(t *testing.T) {
	offered := []stock.Package{
		{Label: "quart", Content: 0.946, Breaks: []stock.Break{{From: 1, Price: 2_000}, {From: 6, Price: 1_700}}},
		{Label: "gallon", Content: 3.785, Breaks: []stock.Break{{From: 1, Price: 4_500}}},
	}
	for _, c := range []struct {
		amount, most, useAYear float64
		want                   stock.Choice
	}{
		{2, 5, 4, stock.Choice{Package: 1, Count: 1, Cost: 4_500}},
		{0.9, 1, 1, stock.Choice{Package: 0, Count: 1, Cost: 2_000}},
		{9, 12, 40, stock.Choice{Package: 1, Count: 3, Cost: 13_500}},
		{1, 0.5, 1, stock.Choice{Package: 1, Count: 1, Cost: 4_500}}, // none is small enough
	} {
		got, err := weekly.Choose(c.amount, c.most, c.useAYear, offered)
		if err != nil || got != c.want {
			t.Errorf("%v of at most %v, %v a year: %+v, %v; want %+v", c.amount, c.most, c.useAYear, got, err, c.want)
		}
	}
	if _, err := weekly.Choose(1, 1, 1, nil); fault.Of(err) == nil || fault.Of(err).Reason != "PACKAGE_MISSING" {
		t.Errorf("from nobody: %v", err)
	}
}

// A price for many is taken where it pays to hold them, and left where it does not. The figures
// are checked by hand: at 100 a year and 4.00 an order, of 20 for 5.00 each the year costs
// 500 + 20 + 12.50 at a quarter to hold, of 100 for 4.75 each 475 + 4 + 59.38.
func TestPolicy_Choose_PriceBreak(t *testing.T) {
	p := stock.Policy{Service: 0.95, Review: 1, OrderCost: 400, Holding: 0.25}
	for holding, count := range map[float64]int{0.25: 25, 0.05: 100} {
		p.Holding = holding
		got, err := p.Choose(1, 500, 100, []stock.Package{{Content: 1, Breaks: []stock.Break{{From: 1, Price: 500}, {From: 100, Price: 475}}}})
		if err != nil {
			t.Fatal(err)
		}
		if (got.Count >= 100) != (count >= 100) {
			t.Errorf("at %v to hold: %+v", holding, got)
		}
	}
}

func TestUnforeseen(t *testing.T) {
	got := stock.Unforeseen([]stock.Used{{0, 2, 0}, {1, 3, 4.9}, {1, 4, 5}, {2, 1, 0}, {9, 9, 0}}, 3, 5)
	if len(got) != 3 || got[0] != 2 || got[1] != 3 || got[2] != 1 {
		t.Errorf("%v", got)
	}
}
