package intake_test

import (
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"github.com/shopspring/decimal"

	"tackfree/pkg/fault"
	"tackfree/pkg/money"
	"tackfree/services/intake/internal/intake"
)

// certain is a question of which everything is known for sure.
func certain(asking money.Amount) intake.Question {
	return intake.Question{
		Sighting: intake.Sighting{Kind: "dresser", Asking: asking, DistanceKM: 25, Extra: 10_00},
		Terms:    intake.BuyingTerms{Target: 30_00, Chance: 0.8, Labour: 20_00, PerKM: 50, KMPerHour: 50, HandlingMinutes: 45},
		Work:     intake.Work{Minutes: 300, Low: 300, High: 300, Learned: 75, LeastDays: 4, Hazards: []intake.Hazard{{ID: "dust", Says: "Wear a mask."}}},
		Market: intake.Market{Likely: 600_00, SoldBy: []intake.SoldBy{{Day: 9, Share: 0}, {Day: 9, Share: 1}}, HoldingPerDay: 50, FloorSaidOf: intake.Small, FeePercent: 10,
			Sales: 90, OfKind: 12, Belief: 0.1, Likes: []intake.Like{{Tag: 3, Title: "Oak dresser", Price: 580_00, Days: 12}}},
		Needs: []intake.Need{{Product: "glue"}},
	}
}

func advised(t *testing.T, q intake.Question) intake.Advice {
	t.Helper()
	a, err := q.Advise()
	if err != nil {
		t.Fatal(err)
	}
	return a
}

// By hand: 600.00 less a fee of a tenth is 540.00. Work of 5 h, an hour on the road and 0.75 h of
// loading are 6.75 h, of which each costs 20.00 and is to leave 30.00: 337.50. The way costs 50 km at
// 0.50, 25.00; hardware 10.00; 4 days of work and 10 until it is sold, at 0.50, 7.00. That leaves
// 160.50 to pay. At 150.00 the profit is 540 − 135 − 25 − 10 − 7 − 150 = 213.00, by 6.75 h 31.5556.
func TestQuestion_Advise_ByHand(t *testing.T) {
	got := advised(t, certain(150_00))
	only := func(v money.Amount) intake.MoneyRange { return intake.MoneyRange{Low: v, Likely: v, High: v} }
	want := intake.Advice{
		Verdict: intake.Yes, MostToPay: 160_50, Target: 30_00, Chance: 0.8, ChanceAtAsking: 1, ChanceAsGift: 1, SalePrice: only(600_00),
		Hours: intake.NumberRange{Low: 6.75, Likely: 6.75, High: 6.75}, DaysToSell: intake.NumberRange{Low: 10, Likely: 10, High: 10}, DaysOfWork: 4,
		Profit: only(213_00), PerHour: only(31_56),
		Costs: []intake.Cost{{What: "labour", Amount: 135_00}, {What: "extra", Amount: 10_00}, {What: "travel", Amount: 25_00}, {What: "fee", Amount: 60_00},
			{What: "floor", Amount: 7_00}, {What: "target", Amount: 202_50}},
		Basis: intake.Basis{Sales: 90, SalesOfKind: 12, Belief: 0.1, HoursUsual: 0.75, Unpriced: []string{"glue"},
			Likes: []intake.Like{{Tag: 3, Title: "Oak dresser", Price: 580_00, Days: 12}}, FloorSaidOf: intake.Small},
		Hazards: []intake.Hazard{{ID: "dust", Says: "Wear a mask."}},
	}
	for range 21 {
		want.Twentieths = append(want.Twentieths, 31_56)
	}
	if diff := cmp.Diff(want, got, cmpopts.EquateApprox(0, 1e-9), cmpopts.IgnoreFields(intake.Advice{}, "Drivers")); diff != "" {
		t.Errorf("Advise (-want +got):\n%s", diff)
	}
}

// By hand: at 200.02 it must sell for (200.02 + 337.50 + 35 + 7) ÷ 0.9 = 643.9111…, which is no less than
// 643.92, or take (540 − 35 − 7 − 200.02) ÷ 50 = 5.9596 h.
func TestQuestion_Advise_OnlyIf(t *testing.T) {
	q := certain(200_02)
	q.Sighting.OldFinish, q.Sighting.PaintedIn, q.Market.TooFew = "latex paint", 1978, true
	want := []intake.PurchaseCondition{{Kind: intake.PayAtMost, Money: 160_50}, {Kind: intake.SellsFor, Money: 643_92}, {Kind: intake.HoursAtMost, Number: 5.9596},
		{Kind: intake.LeadTested}, {Kind: intake.PriceLookedUp}}
	a := advised(t, q)
	if diff := cmp.Diff(want, a.Conditions, cmpopts.EquateApprox(0, 1e-9)); diff != "" || a.Verdict != intake.OnlyIf || a.ChanceAtAsking != 0 {
		t.Errorf("%s with a chance of %v, conditions (-want +got):\n%s", a.Verdict, a.ChanceAtAsking, diff)
	}
}

// Of a piece that is not to be had even as a gift it says what would make it one. By hand, of a price of 300.00: it must
// be (337.50 + 35 + 7) ÷ 0.9 = 421.666…, no less than 421.67; or it takes (270 − 35 − 7) ÷ 50 = 4.56 h; or an hour leaves
// (270 − 135 − 35 − 7) ÷ 6.75 = 13.777…, no more than 13.77.
func TestQuestion_Advise_No(t *testing.T) {
	q := certain(0)
	q.Market.Likely, q.Market.TooFew = 300_00, true
	want := []intake.PurchaseCondition{{Kind: intake.SellsFor, Money: 421_67}, {Kind: intake.HoursAtMost, Number: 4.56}, {Kind: intake.PerHourAtMost, Money: 13_77}}
	for _, asking := range []money.Amount{0, 90_00} {
		q.Sighting.Asking = asking
		a := advised(t, q)
		if diff := cmp.Diff(want, a.Conditions, cmpopts.EquateApprox(0, 1e-9)); diff != "" || a.Verdict != intake.No || a.MostToPay != 270_00-379_50 || a.ChanceAsGift != 0 {
			t.Errorf("for %d: %s, at most %d, chance %v; want no, -10950 and none; conditions (-want +got):\n%s", asking, a.Verdict, a.MostToPay, a.ChanceAsGift, diff)
		}
	}
}

// Lead is presumed of what was painted by 1978 (16 CFR 1303) or nobody knows when, unless it is bare.
func TestQuestion_Advise_Lead(t *testing.T) {
	for name, c := range map[string]struct {
		finish string
		year   int
		lead   bool
	}{"Bare": {"", 0, false}, "Unknown": {"unknown", 0, true}, "Old": {"shellac", 1930, true}, "BanYear": {"latex paint", 1978, true}, "Later": {"latex paint", 1979, false}} {
		q := certain(1)
		q.Sighting.OldFinish, q.Sighting.PaintedIn = familyOf(c.finish), c.year
		a := advised(t, q)
		if lead := len(a.Conditions) == 1 && a.Conditions[0].Kind == intake.LeadTested; lead != c.lead || a.Verdict != intake.Yes {
			t.Errorf("%s: %s on %v, want lead tested: %v", name, a.Verdict, a.Conditions, c.lead)
		}
	}
}

// The range that minutes fall into nine times in ten lies 1.6449 spreads to each side, and that of the
// answer eight in ten, 1.2816 (NIST/SEMATECH e-Handbook of Statistical Methods, table of the normal
// distribution). By hand: the spread of 60 to 240 is ln 4 ÷ 3.2897 = 0.4214, and 2 h × e^(∓0.5401) are
// 1.1654 h and 3.4322 h.
func TestQuestion_Advise_Hours(t *testing.T) {
	q := certain(0)
	q.Sighting.DistanceKM, q.Terms.HandlingMinutes = 0, 0
	q.Work.Minutes, q.Work.Low, q.Work.High = 120, 60, 240
	want := intake.NumberRange{Low: 1.1654, Likely: 2, High: 3.4322}
	if diff := cmp.Diff(want, advised(t, q).Hours, cmpopts.EquateApprox(0, 1e-4)); diff != "" {
		t.Errorf("hours (-want +got):\n%s", diff)
	}
	q.Work = intake.Work{}
	if a := advised(t, q); math.Abs(a.Hours.Likely-1.0/60) > 1e-12 || a.Basis.HoursUsual != 1 {
		t.Errorf("no work is %v h, of which %v usual; want a minute and all", a.Hours.Likely, a.Basis.HoursUsual)
	}
}

// 0.3 L of what cost 10.00 for 1.2 L, and 3 each of what cost 1.00 for 7: 2.50 + 0.428571…; its spread is
// a quarter of that. The likely amount of a log-normal is the mean by √(1 + 0.25²): 2.84 of 2.93.
func TestQuestion_Advise_Material(t *testing.T) {
	q := certain(0)
	q.Needs = []intake.Need{{Product: "shellac", Needed: decimal.RequireFromString("0.3"), Cost: 10_00, Of: decimal.RequireFromString("1.2")},
		{Product: "discs", Needed: decimal.NewFromInt(3), Cost: 1_00, Of: decimal.NewFromInt(7)}, {Product: "paint", Needed: decimal.NewFromInt(1)}}
	a := advised(t, q)
	likely := money.Amount(math.Round(292.857142857 / math.Sqrt(1.0625)))
	if a.Material.Likely != likely || a.Costs[1].What != "material" || a.Costs[1].Amount != 2_93 || !cmp.Equal(a.Basis.Unpriced, []string{"paint"}) {
		t.Errorf("material %+v, cost %+v, unpriced %v; want likely %d, 293 on average and paint", a.Material, a.Costs[1], a.Basis.Unpriced, likely)
	}
}

// Between the ends of the days that are told it goes in a straight line; of what is not sold by the last
// nobody knows the day.
func TestQuestion_Advise_DaysToSell(t *testing.T) {
	for name, c := range map[string]struct {
		sold []intake.SoldBy
		want intake.NumberRange
	}{
		"Nobody":   {nil, intake.NumberRange{}},
		"Line":     {[]intake.SoldBy{{Day: 99, Share: 1}}, intake.NumberRange{Low: 10, Likely: 50, High: 90}},
		"AtOnce":   {[]intake.SoldBy{{Day: 0, Share: 0.4}, {Day: 20, Share: 0.5}, {Day: 40, Share: 0.7}}, intake.NumberRange{Low: 0.25, Likely: 21}},
		"Standing": {[]intake.SoldBy{{Day: 4, Share: 0.2}, {Day: 8, Share: 0.2}, {Day: 10, Share: 0.8}}, intake.NumberRange{Low: 2.5, Likely: 10}},
		"Waiting":  {[]intake.SoldBy{{Day: 4, Share: 0.5}, {Day: 8, Share: 0.5}, {Day: 12, Share: 0.95}}, intake.NumberRange{Low: 1, Likely: 5, High: 9 + 4*0.4/0.45}},
	} {
		q := certain(0)
		q.Market.SoldBy = c.sold
		if diff := cmp.Diff(c.want, advised(t, q).DaysToSell, cmpopts.EquateApprox(0, 1e-9)); diff != "" {
			t.Errorf("%s (-want +got):\n%s", name, diff)
		}
	}
}

// By hand: at 150.00 a piece that is sold leaves the target, as above; one in four is not sold in 180 days
// and goes for 240.00, which with 92.00 of floor leaves nothing. The fee of a tenth is of those sold.
func TestQuestion_Advise_NotSoldInTime(t *testing.T) {
	q := certain(150_00)
	q.Market.SoldBy = []intake.SoldBy{{Day: 9, Share: 0}, {Day: 9, Share: 0.75}}
	q.Market.Horizon, q.Market.Salvage = 180, 240_00
	a := advised(t, q)
	if a.Verdict != intake.No || math.Abs(a.ChanceAtAsking-0.75) > 1e-9 || math.Abs(a.ChanceOfLoss-0.25) > 1e-9 || a.MostToPay != 240_00-337_50-35_00-92_00 || a.DaysToSell.High != 0 {
		t.Errorf("%s at most %d, chance %v, of loss %v, days %+v", a.Verdict, a.MostToPay, a.ChanceAtAsking, a.ChanceOfLoss, a.DaysToSell)
	}
	want := []intake.Cost{{What: "labour", Amount: 135_00}, {What: "extra", Amount: 10_00}, {What: "travel", Amount: 25_00}, {What: "fee", Amount: 45_00},
		{What: "floor", Amount: 28_25}, {What: "unsold", Amount: 90_00}, {What: "target", Amount: 202_50}}
	if diff := cmp.Diff(want, a.Costs); diff != "" {
		t.Errorf("costs (-want +got):\n%s", diff)
	}
	q.Terms.Chance = 0.7
	if a := advised(t, q); a.Verdict != intake.Yes || a.MostToPay != 160_50 {
		t.Errorf("for seven in ten: %s at most %d, want yes and 160.50", a.Verdict, a.MostToPay)
	}
}

// Of what is not sure, the spread of the price alone decides the most to pay here.
func TestQuestion_Advise_Drivers(t *testing.T) {
	q := certain(0)
	q.Market.Spread = 0.3
	a := advised(t, q)
	if len(a.Drivers) != 1 || a.Drivers[0].What != "sale_price" || math.Abs(a.Drivers[0].Share-1) > 1e-9 || a.Drivers[0].MostIfLow >= a.MostToPay || a.Drivers[0].MostIfHigh <= a.MostToPay {
		t.Errorf("drivers %+v of at most %d, want the sale price around it", a.Drivers, a.MostToPay)
	}
}

func TestQuestion_Advise_OutOfRange(t *testing.T) {
	q := certain(0)
	q.Terms.Chance = 0.995
	if _, err := q.Advise(); !fault.Is(err, "OUT_OF_RANGE") || fault.Of(err).Fields[0].Path != "chance" {
		t.Errorf("a chance of 99.5 %% = %v, want OUT_OF_RANGE at chance", err)
	}
	q = certain(0)
	q.Market.Spread = 9
	if _, err := q.Advise(); !fault.Is(err, "OUT_OF_RANGE") || len(fault.Of(err).Fields) != 0 {
		t.Errorf("a price without bounds = %v, want OUT_OF_RANGE at no field of the question", err)
	}
}
