package server_test

import (
	"testing"
	"time"

	"google.golang.org/genproto/googleapis/type/date"

	"tackfree/pkg/fault"
	"tackfree/pkg/svctest"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
)

func (b *bundle) mixes() materialsv1.MixServiceClient { return materialsv1.NewMixServiceClient(b.Conn) }

func day(t time.Time) *date.Date {
	return &date.Date{Year: int32(t.Year()), Month: int32(t.Month()), Day: int32(t.Day())}
}

func parts(product, n string) *materialsv1.Recipe_Part {
	return &materialsv1.Recipe_Part{Product: product, Share: &materialsv1.Recipe_Part_Parts{Parts: n}}
}

// A blend of three parts of one stain and one of another, with 4 g of dye to the litre.
type blend struct{ walnut, amber, dye, makes, recipe string }

func (b *bundle) blend(t *testing.T) blend {
	t.Helper()
	dye := shellac()
	dye.DisplayName, dye.Unit, dye.Packages = "Dye powder", "g", nil
	m := blend{walnut: b.other(t, "Walnut stain"), amber: b.other(t, "Amber stain"), dye: b.add(t, dye).Name}
	made := shellac()
	made.DisplayName = "Warm walnut, mixed"
	m.makes = b.add(t, made).Name
	in := bill(line(m.walnut, "2", 40_00), line(m.amber, "1", 30_00), line(m.dye, "1", 5_00))
	in.Lines[2].Amount = &materialsv1.DeliveryLine_Quantity{Quantity: of("50", "g")}
	must[*materialsv1.ReceiveDeliveryResponse](t)(b.stock().ReceiveDelivery(svctest.Ctx(t), in))
	m.recipe = must[*materialsv1.SaveRecipeResponse](t)(b.mixes().SaveRecipe(svctest.Ctx(t), &materialsv1.SaveRecipeRequest{RequestId: svctest.NewID(),
		Recipe: &materialsv1.Recipe{DisplayName: "Warm walnut", Makes: m.makes, KeepsMinutes: 60 * 24 * 30, Parts: []*materialsv1.Recipe_Part{
			parts(m.walnut, "3"), parts(m.amber, "1"), {Product: m.dye, Share: &materialsv1.Recipe_Part_ToEach{ToEach: of("4", "g")}}}}})).Recipe.Name
	return m
}

func mixing(recipe, litres string, minutes int) *materialsv1.MakeMixRequest {
	return &materialsv1.MakeMixRequest{RequestId: svctest.NewID(), By: &materialsv1.MakeMixRequest_Recipe{Recipe: recipe}, Quantity: of(litres, "L"), MixTime: later(minutes)}
}

// 0.8 L takes 0.6 L for 12.00 of what was still 5 L of one stain and more, and costs what went
// into it; the piece that got of it keeps which, and it can be made again.
func TestServer_MakeMix(t *testing.T) {
	b := setup(t)
	m := b.blend(t)
	mix := must[*materialsv1.MakeMixResponse](t)(b.mixes().MakeMix(svctest.Ctx(t), mixing(m.recipe, "0.8", 10))).Mix
	var sum int64
	for n, want := range []string{"0.6", "0.2", "3.2"} {
		if mix.Parts[n].Quantity.Value != want {
			t.Errorf("part %d = %v, want %s", n, mix.Parts[n], want)
		}
		sum += mix.Parts[n].Cost.Units*100 + int64(mix.Parts[n].Cost.Nanos)/10_000_000
	}
	same(t, "cost", usd(sum), mix.Lot.Cost)
	if got := mix.Lot.ExpireTime.AsTime(); !got.Equal(later(10 + 60*24*30).AsTime()) {
		t.Errorf("it keeps until %v, want thirty days", got)
	}
	b.issued(t, m.makes, "0.5", 20)
	again := mixing("", "0.4", 30)
	again.By = &materialsv1.MakeMixRequest_Like{Like: mix.Name}
	like := must[*materialsv1.MakeMixResponse](t)(b.mixes().MakeMix(svctest.Ctx(t), again)).Mix
	if like.Like != mix.Name || like.Parts[0].Quantity.Value != "0.3" || like.Parts[2].Quantity.Value != "1.6" {
		t.Errorf("made again = %v", like)
	}
	of := must[*materialsv1.ListMixesResponse](t)(b.mixes().ListMixes(t.Context(), &materialsv1.ListMixesRequest{Piece: b.piece})).Mixes
	if len(of) != 1 || of[0].Name != mix.Name || of[0].Uses[0].Stage != b.stage || of[0].Uses[0].Quantity.Value != "0.5" {
		t.Errorf("mixes of the piece = %v", of)
	}
	made := b.find(t, func(e *eventsv1.Envelope) bool { return e.GetMixMade().GetNumber() == 1 }).GetMixMade()
	same(t, "told", mix.Lot.Cost, made.Cost)
	b.dense(t)
	b.balanced(t)
}

// One of the stains had cost half as much: so did what went into the mix, the mix, and what the
// piece got of it.
func TestServer_MakeMix_RecostedByItsParts(t *testing.T) {
	b := setup(t)
	m := b.blend(t)
	mix := must[*materialsv1.MakeMixResponse](t)(b.mixes().MakeMix(svctest.Ctx(t), mixing(m.recipe, "0.8", 10))).Mix
	before := b.issued(t, m.makes, "0.8", 20).Cost
	lots := must[*materialsv1.ListLotsResponse](t)(b.ListLots(t.Context(), &materialsv1.ListLotsRequest{Product: m.amber, ShowUsedUp: true})).Lots
	got := must[*materialsv1.CorrectLotCostResponse](t)(b.stock().CorrectLotCost(svctest.Ctx(t), &materialsv1.CorrectLotCostRequest{
		RequestId: svctest.NewID(), Lot: lots[0].Name, Cost: usd(10_00), Reason: "the bill says so"}))
	if len(got.Recostings) != 2 || got.Recostings[1].Stage != b.stage {
		t.Fatalf("recostings = %v, want the mix and the piece", got.Recostings)
	}
	was, now := got.Recostings[0].OldCost.Units*100+int64(got.Recostings[0].OldCost.Nanos)/10_000_000, got.Recostings[0].NewCost.Units*100+int64(got.Recostings[0].NewCost.Nanos)/10_000_000
	cents := before.Units*100 + int64(before.Nanos)/10_000_000
	same(t, "the piece's", usd(cents-was+now), got.Recostings[1].NewCost)
	after := must[*materialsv1.GetMixResponse](t)(b.mixes().GetMix(t.Context(), &materialsv1.GetMixRequest{Name: mix.Name})).Mix
	same(t, "the mix's", usd(cents-was+now), after.Lot.Cost)
	b.dense(t)
	b.balanced(t)
}

func TestServer_MakeMix_Refuses(t *testing.T) {
	b := setup(t)
	m := b.blend(t)
	refusedAt(t, svctest.Refused(t, b.Service, b.mixes().MakeMix, mixing(m.recipe, "50", 10), fault.Precondition, "STOCK_TOO_SMALL"), "quantity")
	svctest.Refused(t, b.Service, b.mixes().MakeMix, mixing("recipes/"+svctest.NewID(), "1", 10), fault.NotFound, "RECIPE_NOT_FOUND")
	grams := mixing(m.recipe, "1", 10)
	grams.Quantity.Unit = "g"
	svctest.Refused(t, b.Service, b.mixes().MakeMix, grams, fault.Invalid, "UNIT_OF_ANOTHER_MEASURE")
	absurd := mixing(m.recipe, "0.5", 10)
	absurd.Yield = of("0.9", "L")
	refusedAt(t, svctest.Refused(t, b.Service, b.mixes().MakeMix, absurd, fault.Invalid, "YIELD_ABSURD"), "yield")
	round := &materialsv1.SaveRecipeRequest{RequestId: svctest.NewID(), Recipe: &materialsv1.Recipe{DisplayName: "Back again", Makes: m.walnut, Parts: []*materialsv1.Recipe_Part{parts(m.makes, "1")}}}
	svctest.Refused(t, b.Service, b.mixes().SaveRecipe, round, fault.Invalid, "MADE_OF_ITSELF")
	for reason, ps := range map[string][]*materialsv1.Recipe_Part{
		"MADE_OF_ITSELF": {parts(m.makes, "1")}, "PRODUCT_TWICE": {parts(m.walnut, "1"), parts(m.walnut, "2")},
		"UNIT_OF_ANOTHER_MEASURE": {parts(m.dye, "1")}, "QUANTITY_NOT_POSITIVE": {parts(m.walnut, "0")},
		"PARTS_MISSING": {{Product: m.dye, Share: &materialsv1.Recipe_Part_ToEach{ToEach: of("4", "g")}}},
	} {
		r := &materialsv1.SaveRecipeRequest{RequestId: svctest.NewID(), Recipe: &materialsv1.Recipe{DisplayName: reason, Makes: m.makes, Parts: ps}}
		svctest.Refused(t, b.Service, b.mixes().SaveRecipe, r, fault.Invalid, reason)
	}
}
