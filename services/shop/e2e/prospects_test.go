package e2e_test

import (
	"testing"

	"google.golang.org/genproto/googleapis/type/money"
	"google.golang.org/protobuf/proto"

	"tackfree/pkg/caller"
	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	"tackfree/services/shop/internal/client"
)

func usd(cents int64) *money.Money {
	return &money.Money{CurrencyCode: "USD", Units: cents / 100, Nanos: int32(cents % 100 * 10_000_000)}
}

// oakDresser is a dresser that somebody stands before at a sale.
func oakDresser() *intakev1.Sighting {
	return &intakev1.Sighting{Title: "Oak dresser", Kind: "dresser", Size: typev1.PieceSize_PIECE_SIZE_LARGE, Material: "solid wood", Species: "oak", OldFinish: "unknown",
		Defects: []string{"loose joint", "scratches"}, Look: "paint", AskingPrice: usd(120_00), DistanceKm: 12, Source: "estate sale"}
}

// prospects says what an hour is to earn and what such pieces bring, buys one prospect and leaves another.
func prospects(t *testing.T, shop *client.Shop) (*intakev1.Prospect, *intakev1.Piece) {
	t.Helper()
	ctx := caller.With(t.Context(), caller.Caller{Actor: "Owner"})
	_, err := shop.Prospects.SetBuyingTerms(ctx, &intakev1.SetBuyingTermsRequest{RequestId: id.New().String(),
		Terms: &intakev1.BuyingTerms{TargetPerHour: usd(25_00), LabourPerHour: usd(22_00), TravelPerKm: usd(40)}})
	if err != nil {
		t.Fatal(err)
	}
	_, err = shop.Prices.SetSellingTerms(ctx, &salesv1.SetSellingTermsRequest{RequestId: id.New().String(), Terms: &salesv1.SellingTerms{HoldingLarge: usd(50),
		Beliefs: []*salesv1.SellingTerms_Belief{{Kind: "dresser", Price: &salesv1.Guess{Low: usd(700_00), High: usd(1_100_00)}, DaysLikely: 30}}}})
	if err != nil {
		t.Fatal(err)
	}
	add := func() *intakev1.Prospect {
		r, err := shop.Prospects.AddProspect(ctx, &intakev1.AddProspectRequest{RequestId: id.New().String(), Sighting: oakDresser()})
		if err != nil {
			t.Fatal(err)
		}
		return r.Prospect
	}
	bought, err := shop.Prospects.BuyProspect(ctx, &intakev1.BuyProspectRequest{RequestId: id.New().String(), Prospect: add().Name, Price: usd(110_00)})
	if err != nil {
		t.Fatal(err)
	}
	_, err = shop.Prospects.DeclineProspect(ctx, &intakev1.DeclineProspectRequest{RequestId: id.New().String(), Prospect: add().Name, Reason: "worm in the back"})
	if err != nil {
		t.Fatal(err)
	}
	return bought.Prospect, bought.Piece
}

// All services together say what to pay, and what is bought comes in and is in the books.
func TestProspects_FromSightingToBooks(t *testing.T) {
	s := open(t, nil)
	ctx := caller.With(t.Context(), caller.Caller{Actor: "Owner"})
	r := &intakev1.AdvisePurchaseRequest{Sighting: oakDresser(), TargetPerHour: usd(25_00)}
	if _, err := s.Shop.Prospects.AdvisePurchase(ctx, r); !fault.Is(err, "BELIEF_MISSING") || fault.Of(err).Fields[0].Path != "sighting.sells_low" {
		t.Errorf("in a shop that sold nothing yet, AdvisePurchase = %v, want BELIEF_MISSING at sighting.sells_low", err)
	}
	for name, c := range map[string]struct {
		change        func(*intakev1.Sighting)
		reason, field string
	}{
		"Look":      {func(s *intakev1.Sighting) { s.Look = "tartan" }, "LOOK_UNKNOWN", "sighting.look"},
		"Species":   {func(s *intakev1.Sighting) { s.Species = "plastic" }, "SPECIES_UNKNOWN", "sighting.species"},
		"OldFinish": {func(s *intakev1.Sighting) { s.OldFinish = "jam" }, "FAMILY_UNKNOWN", "sighting.old_finish"},
		"Defect":    {func(s *intakev1.Sighting) { s.Defects = []string{"ghosts"} }, "DEFECT_UNKNOWN", "sighting.defects"},
		"Year":      {func(s *intakev1.Sighting) { s.PaintedIn = 9999 }, "OUT_OF_RANGE", "sighting.painted_in"},
	} {
		bad := &intakev1.AdvisePurchaseRequest{Sighting: oakDresser(), TargetPerHour: usd(25_00)}
		bad.Sighting.SellsLow, bad.Sighting.SellsHigh = usd(700_00), usd(1_100_00)
		c.change(bad.Sighting)
		if _, err := s.Shop.Prospects.AdvisePurchase(ctx, bad); !fault.Is(err, c.reason) || len(fault.Of(err).Fields) == 0 || fault.Of(err).Fields[0].Path != c.field {
			t.Errorf("%s: AdvisePurchase = %v (%+v), want %s at %s", name, err, fault.Of(err), c.reason, c.field)
		}
	}
	prospect, piece := prospects(t, s.Shop)
	a := prospect.Advice
	if a.Hours.Low <= 1 || a.Hours.High < a.Hours.Likely || a.Hours.High > 100 || a.SalePrice.Low.Units >= a.SalePrice.High.Units || a.DaysToSell.Likely < 15 || a.DaysToSell.Likely > 60 || a.DaysOfWork < 1 {
		t.Errorf("hours %v, price %v, days %v after %d of work; want what such a dresser is", a.Hours, a.SalePrice, a.DaysToSell, a.DaysOfWork)
	}
	if !a.Basis.TooFew || a.Basis.Belief < 0.9 || a.Basis.HoursUsual < 0.99 || len(a.Basis.Unpriced) == 0 || len(a.Hazards) == 0 {
		t.Errorf("by %v, hazards %v, on %v; want what is believed and usual, and that this is said", a.Basis, a.Hazards, a.Conditions)
	}
	if piece.Size != typev1.PieceSize_PIECE_SIZE_LARGE || piece.Condition != typev1.PieceCondition_PIECE_CONDITION_DAMAGED || len(piece.Parts) != 4 {
		t.Errorf("the piece is %v", piece)
	}
	eventually(t, "the books to have it", func() bool {
		r, err := s.Shop.Costing.GetPieceCost(ctx, &costingv1.GetPieceCostRequest{Piece: piece.Name})
		return err == nil && proto.Equal(r.PieceCost.GetSums().GetAcquisition(), usd(110_00))
	})
}

// What the owner believed of a piece at the sale is what its price leans on once it is the shop's own, and not what the
// terms say of its kind; its story tells of it.
func TestProspects_BeliefGoesWithThePiece(t *testing.T) {
	s := open(t, nil)
	ctx := caller.With(t.Context(), caller.Caller{Actor: "Owner"})
	prospects(t, s.Shop)
	seen := oakDresser()
	seen.SellsLow, seen.SellsHigh = usd(500_00), usd(800_00)
	added, err := s.Shop.Prospects.AddProspect(ctx, &intakev1.AddProspectRequest{RequestId: id.New().String(), Sighting: seen})
	if err != nil {
		t.Fatal(err)
	}
	bought, err := s.Shop.Prospects.BuyProspect(ctx, &intakev1.BuyProspectRequest{RequestId: id.New().String(), Prospect: added.Prospect.Name, Price: usd(60_00)})
	if err != nil {
		t.Fatal(err)
	}
	asked, err := s.Shop.Prices.AdvisePrice(ctx, &salesv1.AdvisePriceRequest{Piece: bought.Piece.Name})
	if err != nil {
		t.Fatal(err)
	}
	want := &salesv1.Basis_Said{When: salesv1.Basis_Said_WHEN_SEEN, Guess: &salesv1.Guess{Low: usd(500_00), High: usd(800_00)}, SeenTime: added.Prospect.SeenTime}
	f, then := asked.Forecast, added.Prospect.Advice.SalePrice.Likely
	if !proto.Equal(f.Basis.Said, want) || f.Basis.Belief != 1 || !proto.Equal(f.PriceLikely, then) || then.Units != 632 { // the middle of 500 and 800 by ratio
		t.Errorf("it brings %v by %v, %v of it belief; want %v as was advised, by %v", f.PriceLikely, f.Basis.Said, f.Basis.Belief, then, want)
	}
	told, err := s.Shop.Logs["intake"].ListPieceEvents(ctx, &eventsv1.ListPieceEventsRequest{Piece: bought.Piece.Name})
	if err != nil || len(told.Events) != 1 || !proto.Equal(told.Events[0].GetPieceTakenIn().GetPurchase().GetBelievedHigh(), usd(800_00)) {
		t.Errorf("its story is %v, %v; want what was believed", told, err)
	}
}
