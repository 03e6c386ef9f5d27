package server_test

import (
	"fmt"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"google.golang.org/genproto/googleapis/type/money"
	"google.golang.org/protobuf/testing/protocmp"

	"tackfree/pkg/fault"
	"tackfree/pkg/svctest"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

func asking(change func(*intakev1.Sighting)) *intakev1.AdvisePurchaseRequest {
	r := &intakev1.AdvisePurchaseRequest{Sighting: sighting()}
	change(r.Sighting)
	return r
}

func asIs(*intakev1.Sighting) {}

// By hand: 600.00 less a fee of a tenth is 540.00. Work of 5 h, an hour on the road and 0.75 h of
// loading are 6.75 h, of which each costs 20.00 and is to leave 30.00: 337.50. The way costs 50 km at
// 0.50, 25.00; the mirror 10.00; 4 days of work and 10 until it is sold, at 0.50, 7.00. That leaves
// 160.50 to pay. At 150.00 the profit is 540 − 135 − 25 − 10 − 7 − 150 = 213.00, by 6.75 h 31.5556.
func TestServer_AdvisePurchase(t *testing.T) {
	b := setup(t)
	b.sayTerms(t)
	got := b.advice(t, asking(asIs))
	only := func(cents int64) *intakev1.MoneyRange {
		return &intakev1.MoneyRange{Low: usd(cents), Likely: usd(cents), High: usd(cents)}
	}
	same := func(v float64) *intakev1.NumberRange { return &intakev1.NumberRange{Low: v, Likely: v, High: v} }
	cost := func(what intakev1.Advice_Cost_What, cents int64) *intakev1.Advice_Cost {
		return &intakev1.Advice_Cost{What: what, Amount: usd(cents)}
	}
	want := &intakev1.Advice{
		Verdict:    intakev1.Advice_VERDICT_YES,
		Conditions: []*intakev1.Advice_Condition{{Kind: intakev1.Advice_Condition_KIND_LEAD_TEST}, {Kind: intakev1.Advice_Condition_KIND_PRICE_LOOKED_UP}},
		MostToPay:  usd(160_50), TargetPerHour: usd(30_00), Chance: 0.8, ChanceAtAsking: 1, ChanceAsGift: 1,
		SalePrice: only(600_00), Hours: same(6.75), Material: only(0), DaysToSell: same(10), DaysOfWork: 4, Profit: only(213_00), ProfitPerHour: only(31_56),
		Costs: []*intakev1.Advice_Cost{cost(intakev1.Advice_Cost_WHAT_LABOUR, 135_00), cost(intakev1.Advice_Cost_WHAT_EXTRA, 10_00), cost(intakev1.Advice_Cost_WHAT_TRAVEL, 25_00),
			cost(intakev1.Advice_Cost_WHAT_FEE, 60_00), cost(intakev1.Advice_Cost_WHAT_FLOOR, 7_00), cost(intakev1.Advice_Cost_WHAT_TARGET, 202_50)},
		Basis: &intakev1.Advice_Basis{Sales: 90, SalesOfKind: 4, Belief: 0.5, TooFew: true, HoursUsual: 0.75, Unpriced: []string{"shellac"}, FloorSaidOf: typev1.PieceSize_PIECE_SIZE_MEDIUM,
			Likes: []*intakev1.Advice_Like{{Tag: 1, Title: "Oak dresser", Price: usd(580_00), Days: 12}, {Tag: 2, Price: usd(0)}, {Tag: 3, Price: usd(0)},
				{Tag: 4, Price: usd(0)}, {Tag: 5, Price: usd(0)}}},
		Hazards: []*intakev1.Advice_Hazard{{Id: "lead", Says: "Test it first."}},
	}
	for range 21 {
		want.ProfitPerHourTwentieths = append(want.ProfitPerHourTwentieths, usd(31_56))
	}
	opts := []cmp.Option{protocmp.Transform(), cmpopts.EquateApprox(0, 1e-9), protocmp.IgnoreFields(&intakev1.Advice{}, "drivers")}
	if diff := cmp.Diff(want, got, opts...); diff != "" {
		t.Errorf("AdvisePurchase (-want +got):\n%s", diff)
	}
}

// Sales and workflow are asked by what was seen: its condition by what is ticked, each part by its
// surface, the largest with what is to be mended.
func TestServer_AdvisePurchase_Asks(t *testing.T) {
	b := setup(t)
	b.sayTerms(t)
	b.advice(t, asking(func(s *intakev1.Sighting) {
		m := func(v string) *typev1.Quantity { return &typev1.Quantity{Value: v, Unit: "cm"} }
		s.Parts = []*intakev1.Part{{Label: "leg", Count: 4, Length: m("50"), Width: m("5")}, {Label: "top", Length: m("100"), Width: m("50"), Thickness: m("2")}}
	}))
	differ(t, "AdviseSale", &salesv1.AdviseSaleRequest{Traits: &salesv1.Traits{Kind: "dresser", Size: typev1.PieceSize_PIECE_SIZE_LARGE,
		Condition: typev1.PieceCondition_PIECE_CONDITION_DAMAGED, Look: "paint", Channel: "shop"}, Guess: &salesv1.Guess{Low: usd(500_00), High: usd(700_00)}}, b.knows.sale)
	part := func(label string, m2 float64, defects ...string) *workflowv1.PartToEstimate {
		return &workflowv1.PartToEstimate{Label: label, AreaM2: m2, Look: "paint", Assessment: &workflowv1.Assessment{
			Material: workflowv1.Assessment_MATERIAL_VENEER, Species: "pine", OldFinish: "latex paint", PaintedIn: 1970, Defects: defects}}
	}
	// 4 × 2 × 0.5 × 0.05 m²; 2 × 1 × 0.5 + 0.02 × 3 m².
	differ(t, "EstimateFinish", &workflowv1.EstimateFinishRequest{Parts: []*workflowv1.PartToEstimate{part("leg", 0.2, "odour"), part("top", 0.56, "burn", "odour")}}, b.knows.estimate)
	if got := b.advice(t, asking(func(s *intakev1.Sighting) { s.SellsLow, s.SellsHigh = nil, nil })); b.knows.sale.Guess != nil || got.Basis.PartsGiven || len(b.knows.estimate.Parts) != 4 {
		t.Errorf("a guess of %v, advice by %v, parts %v; want none and what is usual", b.knows.sale.Guess, got.Basis, b.knows.estimate.Parts)
	}
}

// Three pieces of the kind tell better than what is usual.
func TestServer_AdvisePurchase_OwnPieces(t *testing.T) {
	b := setup(t)
	b.sayTerms(t)
	for i := range 3 {
		r := dresser()
		r.Kind, r.Size = "Dresser", typev1.PieceSize_PIECE_SIZE_LARGE
		r.Parts = []*intakev1.Part{{Label: "whole", Length: &typev1.Quantity{Value: "1", Unit: "m"}, Width: &typev1.Quantity{Value: fmt.Sprint(3 - i), Unit: "m"}}}
		b.take(t, r)
	}
	if got := b.advice(t, asking(asIs)); got.Basis.MeasuredPieces != 3 || len(b.knows.estimate.Parts) != 1 || b.knows.estimate.Parts[0].AreaM2 != 4 {
		t.Errorf("by %v with parts %v, want 3 pieces and 4 m²", got.Basis, b.knows.estimate.Parts)
	}
	small := b.advice(t, asking(func(s *intakev1.Sighting) { s.Size = typev1.PieceSize_PIECE_SIZE_SMALL }))
	if small.Basis.MeasuredPieces != 0 {
		t.Errorf("a small one goes by %d large pieces", small.Basis.MeasuredPieces)
	}
}

// By hand: 0.5 L of what is there, 2 L for 30.00, are 7.50; 250 mL of what came in last, 4 L for 10.00,
// 0.625. What never came in, is in no catalogue or is no product of the shop's is named.
func TestServer_AdvisePurchase_Material(t *testing.T) {
	b := setup(t)
	b.sayTerms(t)
	need := func(product, value, unit string) *workflowv1.MaterialNeed {
		return &workflowv1.MaterialNeed{Product: product, ProductName: "of " + product, Needed: &typev1.Quantity{Value: value, Unit: unit}}
	}
	b.knows.work.Needs = []*workflowv1.MaterialNeed{need("products/full", "0.5", "L"), need("products/empty", "250", "mL"), need("products/never", "1", "L"),
		need("products/gone", "1", "L"), need("", "1", "L"), {Product: "products/full", ProductName: "of no amount"}}
	got := b.advice(t, asking(asIs))
	want := []string{"of products/never", "of products/gone", "of ", "of no amount"}
	if diff := cmp.Diff(want, got.Basis.Unpriced); diff != "" {
		t.Errorf("unpriced (-want +got):\n%s", diff)
	}
	if c := got.Costs[1]; c.What != intakev1.Advice_Cost_WHAT_MATERIAL || c.Amount.Units != 8 || c.Amount.Nanos != 120_000_000 {
		t.Errorf("material costs %v on average, want 8.12", c)
	}
}

// A question may bring a target and a chance of its own, also where nobody said any.
func TestServer_AdvisePurchase_Aiming(t *testing.T) {
	b := setup(t)
	r := asking(asIs)
	svctest.Refused(t, b.Service, b.AdvisePurchase, r, fault.Precondition, "TERMS_MISSING")
	r.TargetPerHour, r.Chance = usd(10_00), 0.5
	// 540 − 6.75 × 10 − 10 − 7
	if got := b.advice(t, r); got.Chance != 0.5 || got.MostToPay.Units != 455 || got.MostToPay.Nanos != 500_000_000 || got.TargetPerHour.Units != 10 {
		t.Errorf("at most %v for %v with a chance of %v; want 455.50 for 10.00 with 0.5", got.MostToPay, got.TargetPerHour, got.Chance)
	}
}

func TestServer_AdvisePurchase_Refuses(t *testing.T) {
	b := setup(t)
	b.sayTerms(t)
	cases := map[string]struct {
		change        func(*intakev1.Sighting)
		reason, field string
	}{
		"NoKind":        {func(s *intakev1.Sighting) { s.Kind = "" }, "INVALID_FIELD", "sighting.kind"},
		"NoSize":        {func(s *intakev1.Sighting) { s.Size = 0 }, "INVALID_FIELD", "sighting.size"},
		"OtherMaterial": {func(s *intakev1.Sighting) { s.Material = "glass" }, "INVALID_FIELD", "sighting.material"},
		"NoPrice":       {func(s *intakev1.Sighting) { s.AskingPrice = nil }, "INVALID_FIELD", "sighting.asking_price"},
		"Euros":         {func(s *intakev1.Sighting) { s.AskingPrice = &money.Money{CurrencyCode: "EUR"} }, "CURRENCY_NOT_THE_SHOPS", "sighting.asking_price"},
		"EuroExtra":     {func(s *intakev1.Sighting) { s.ExtraCost = &money.Money{CurrencyCode: "EUR"} }, "CURRENCY_NOT_THE_SHOPS", "sighting.extra_cost"},
		"EuroLow":       {func(s *intakev1.Sighting) { s.SellsLow = &money.Money{CurrencyCode: "EUR"} }, "CURRENCY_NOT_THE_SHOPS", "sighting.sells_low"},
		"EuroHigh":      {func(s *intakev1.Sighting) { s.SellsHigh = &money.Money{CurrencyCode: "EUR"} }, "CURRENCY_NOT_THE_SHOPS", "sighting.sells_high"},
		"HalfAGuess":    {func(s *intakev1.Sighting) { s.SellsHigh = nil }, "INVALID_FIELD", "sighting"},
		"UpsideDown":    {func(s *intakev1.Sighting) { s.SellsLow = usd(700_01) }, "GUESS_UPSIDE_DOWN", "sighting.sells_low"},
		"TooFar":        {func(s *intakev1.Sighting) { s.DistanceKm = 5001 }, "INVALID_FIELD", "sighting.distance_km"},
		"DefectTwice":   {func(s *intakev1.Sighting) { s.Defects = []string{"burn", "burn"} }, "INVALID_FIELD", "sighting.defects"},
		"UnknownKind":   {func(s *intakev1.Sighting) { s.Kind = "harmonium" }, "PARTS_UNKNOWN", "sighting.kind"},
		"NotMeasured":   {func(s *intakev1.Sighting) { s.Parts = []*intakev1.Part{{Label: "top"}} }, "AREA_MISSING", "sighting.parts[0].length"},
		"LengthInLitres": {func(s *intakev1.Sighting) {
			s.Parts = []*intakev1.Part{{Label: "top", Length: &typev1.Quantity{Value: "1", Unit: "L"}}}
		}, "UNIT_OF_ANOTHER_MEASURE", "sighting.parts[0].length"},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			f := svctest.Refused(t, b.Service, b.AdvisePurchase, asking(c.change), fault.Invalid, c.reason)
			if len(f.Fields) == 0 || f.Fields[0].Path != c.field {
				t.Errorf("%s is about fields %+v, want %s", c.reason, f.Fields, c.field)
			}
		})
	}
	r := asking(asIs)
	r.Chance = 0.995
	if f := svctest.Refused(t, b.Service, b.AdvisePurchase, r, fault.Invalid, "INVALID_FIELD"); len(f.Fields) == 0 || f.Fields[0].Path != "chance" {
		t.Errorf("a chance of 99.5 %% is about %+v", f.Fields)
	}
}

// What those who are asked refuse is told with the field as this request knows it, or with none.
func TestServer_AdvisePurchase_PeersRefuse(t *testing.T) {
	b := setup(t)
	b.sayTerms(t)
	refuse := func(reason string, at ...string) error {
		f := fault.New(fault.Invalid, reason, "That is not known here.")
		for _, path := range at {
			f = f.At(path)
		}
		return f
	}
	for name, c := range map[string]struct {
		sale, estimate, cost error
		reason, field        string
	}{
		"Look":      {nil, refuse("LOOK_UNKNOWN", "parts[0].assessment.look"), nil, "LOOK_UNKNOWN", "sighting.look"},
		"Nowhere":   {nil, refuse("PLAN_IMPOSSIBLE"), nil, "PLAN_IMPOSSIBLE", "sighting.look"},
		"Species":   {nil, refuse("SPECIES_UNKNOWN", "parts[2].assessment.species"), nil, "SPECIES_UNKNOWN", "sighting.species"},
		"Defect":    {nil, refuse("DEFECT_UNKNOWN", "parts[0].assessment.defects[1]"), nil, "DEFECT_UNKNOWN", "sighting.defects"},
		"OldFinish": {nil, refuse("FAMILY_UNKNOWN", "parts[0].assessment.old_finish"), nil, "FAMILY_UNKNOWN", "sighting.old_finish"},
		"Year":      {nil, refuse("OUT_OF_RANGE", "parts[0].assessment.painted_in"), nil, "OUT_OF_RANGE", "sighting.painted_in"},
		"Area":      {nil, refuse("INVALID_FIELD", "parts[3].area_m2"), nil, "INVALID_FIELD", "sighting.parts"},
		"Elsewhere": {nil, refuse("PRODUCT_NOT_FOUND", "products[0].product"), nil, "PRODUCT_NOT_FOUND", ""},
		"Kind":      {refuse("INVALID_FIELD", "traits.kind"), nil, nil, "INVALID_FIELD", "sighting.kind"},
		"Guess":     {refuse("GUESS_UPSIDE_DOWN", "guess.high"), nil, nil, "GUESS_UPSIDE_DOWN", "sighting.sells_high"},
		"Belief":    {refuse("BELIEF_MISSING"), nil, nil, "BELIEF_MISSING", "sighting.sells_low"},
	} {
		b.knows.saleErr, b.knows.estimateErr = c.sale, c.estimate
		f := svctest.Refused(t, b.Service, b.AdvisePurchase, asking(asIs), fault.Invalid, c.reason)
		if path := fields(f); path != c.field {
			t.Errorf("%s is about %q, want %q", name, path, c.field)
		}
	}
}

func fields(f *fault.Fault) string {
	if len(f.Fields) == 0 {
		return ""
	}
	return f.Fields[0].Path
}

// Where one of those who are asked is away there is no advice, and nothing is kept.
func TestServer_AdvisePurchase_PeersAway(t *testing.T) {
	b := setup(t)
	b.sayTerms(t)
	away := fault.New(fault.Unavailable, "SERVICE_UNAVAILABLE", "A service of the suite cannot be reached; try again shortly.")
	b.knows.work.Needs[0].Product = "products/full"
	for name, err := range map[string]*error{"sales": &b.knows.saleErr, "workflow": &b.knows.estimateErr, "materials": &b.knows.costErr} {
		*err = away
		f := svctest.Refused(t, b.Service, b.AdvisePurchase, asking(asIs), fault.Unavailable, "SERVICE_UNAVAILABLE")
		if f.Text != away.Text {
			t.Errorf("without %s it says %q", name, f.Text)
		}
		svctest.Refused(t, b.Service, b.AddProspect, spot(), fault.Unavailable, "SERVICE_UNAVAILABLE")
		*err = nil
	}
}

// Advice is given while somebody stands there and waits: what intake itself does takes less than 10 ms,
// of which a machine that is busy may take five times as much.
func TestServer_AdvisePurchase_Fast(t *testing.T) {
	b := setup(t)
	b.sayTerms(t)
	b.knows.market.Forecast.PriceSpread = 0.4
	best := time.Hour
	for range 20 {
		began := time.Now()
		b.advice(t, asking(asIs))
		best = min(best, time.Since(began))
	}
	t.Logf("AdvisePurchase takes %v with peers that answer at once", best)
	if best > 50*time.Millisecond {
		t.Errorf("AdvisePurchase takes %v, want less than 10 ms, and never five times as long", best)
	}
}

func BenchmarkAdvisePurchase(b *testing.B) {
	s := setup(b)
	s.sayTerms(b)
	s.knows.market.Forecast.PriceSpread = 0.4
	for b.Loop() {
		s.advice(b, asking(asIs))
	}
}
