package server_test

import (
	"testing"

	"tackfree/pkg/fault"
	"tackfree/pkg/svctest"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
)

func undoOf(entry string) *materialsv1.UndoEntryRequest {
	return &materialsv1.UndoEntryRequest{RequestId: svctest.NewID(), Entry: entry, Reason: "a slip"}
}

func (b *bundle) undo(t *testing.T, entry string) *materialsv1.UndoEntryResponse {
	t.Helper()
	return must[*materialsv1.UndoEntryResponse](t)(b.stock().UndoEntry(svctest.Ctx(t), undoOf(entry)))
}

// entryOf is the entry that made a lot.
func entryOf(product, lot string) string { return product + "/entries/" + bare(lot) }

// newest is the entry of a product that was last by its time.
func (b *bundle) newest(t *testing.T, product string) *materialsv1.Movement {
	t.Helper()
	return must[*materialsv1.ListMovementsResponse](t)(b.stock().ListMovements(t.Context(), &materialsv1.ListMovementsRequest{Product: product})).Movements[0]
}

// Three litres were typed for thirty millilitres that the gun took: the piece bears them no longer.
func TestServer_UndoEntry_Waste(t *testing.T) {
	b := setup(t)
	product := b.add(t, shellac()).Name
	b.dated(t, product, "4", 40_00, 0)
	gun := wasteOf(product, "3", materialsv1.WasteCause_WASTE_CAUSE_GUN_CLEANING)
	gun.Stage = b.stage
	wasted := must[*materialsv1.RecordWasteResponse](t)(b.stock().RecordWaste(svctest.Ctx(t), gun)).Movement
	got := b.undo(t, wasted.Name)
	same(t, "on hand", of("4", "L"), got.Product.OnHand)
	same(t, "value", usd(40_00), got.Product.Value)
	e := b.Last(t)
	happened(t, e, b.piece, 2)
	same(t, "event", &eventsv1.StockEntryUndone{EntryId: bare(wasted.Name), Purpose: "waste", ProductId: bare(product), ProductName: "Dewaxed shellac",
		Reason: "a slip", ValueChange: usd(30_00), StageId: bare(b.stage), StageKind: "topcoat_coat", Pass: 2,
		Parts: []*eventsv1.StockEntryUndone_Part{{EntryId: bare(wasted.Name), OccurredAt: wasted.Time, ValueChange: usd(30_00)}}}, e.GetStockEntryUndone())
	refusedAt(t, svctest.Refused(t, b.Service, b.stock().UndoEntry, undoOf(wasted.Name), fault.Precondition, "ENTRY_UNDONE"), "entry")
	undoing := b.newest(t, product)
	if undoing.Of != wasted.Name || undoing.Purpose != "undo" {
		t.Errorf("history begins with %v, want the undoing of %s", undoing, wasted.Name)
	}
	svctest.Refused(t, b.Service, b.stock().UndoEntry, undoOf(undoing.Name), fault.Precondition, "ENTRY_UNDOES")
	b.dense(t)
	b.balanced(t)
}

// A bill that was typed twice goes, unless too much of it was used; then what was used stands in
// the way, and is named.
func TestServer_UndoEntry_Delivery(t *testing.T) {
	b := setup(t)
	product := b.add(t, shellac()).Name
	first := b.dated(t, product, "1", 10_00, 0)
	twice := b.dated(t, product, "1", 10_00, 1)
	b.issued(t, product, "0.4", 10)
	got := b.undo(t, entryOf(product, twice.Name))
	same(t, "on hand", of("0.6", "L"), got.Product.OnHand)
	if e := b.Last(t).GetStockEntryUndone(); e.Purpose != "delivery" || e.ValueChange.Units != -10 {
		t.Errorf("event = %v, want that 10.00 were not spent", e)
	}
	f := svctest.Refused(t, b.Service, b.stock().UndoEntry, undoOf(entryOf(product, first.Name)), fault.Precondition, "STOCK_TOO_SMALL")
	if f.Meta["entry"] == "" {
		t.Errorf("%v does not name what stands in the way", f)
	}
	issue := b.issues(t, &materialsv1.ListIssuesRequest{Product: product}).Issues[0]
	svctest.Refused(t, b.Service, b.stock().UndoEntry, undoOf(entryOf(product, issue.Name)), fault.Precondition, "ENTRY_IS_AN_ISSUE")
	b.dense(t)
	b.balanced(t)
}

// A lot that was closed by mistake is used again; a count and an opening go too.
func TestServer_UndoEntry_Others(t *testing.T) {
	b := setup(t)
	product := b.add(t, shellac()).Name
	lot := b.dated(t, product, "2", 20_00, 0)
	skinned := &materialsv1.CloseLotRequest{RequestId: svctest.NewID(), Lot: lot.Name, Reason: "the wrong one", CloseTime: later(10)}
	must[*materialsv1.CloseLotResponse](t)(b.stock().CloseLot(svctest.Ctx(t), skinned))
	b.undo(t, b.newest(t, product).Name)
	b.issued(t, product, "0.5", 20)
	b.count(t, product, "1", 30)
	same(t, "after the count was a slip", of("1.5", "L"), b.undo(t, b.newest(t, product).Name).Product.OnHand)
	open := must[*materialsv1.OpenPackageResponse](t)(b.stock().OpenPackage(svctest.Ctx(t), opening(lot.Name, 40))).Lot
	b.undo(t, b.newest(t, product).Name)
	lots := must[*materialsv1.ListLotsResponse](t)(b.ListLots(t.Context(), &materialsv1.ListLotsRequest{Product: product})).Lots
	if len(lots) != 1 || lots[0].Left.Value != "1.5" || lots[0].Name == open.Name {
		t.Errorf("lots = %v, want the one that came in, unopened", lots)
	}
	svctest.Refused(t, b.Service, b.stock().UndoEntry, undoOf(product+"/entries/"+svctest.NewID()), fault.NotFound, "ENTRY_NOT_FOUND")
	b.dense(t)
	b.balanced(t)
}

// What hung on an issue that was taken back is gone with it, and can't be undone once more; each is
// told of with when it had happened.
func TestServer_UndoEntry_WhatHungOnAnother(t *testing.T) {
	b := setup(t)
	product := b.add(t, shellac()).Name
	b.dated(t, product, "4", 40_00, 0)
	issue := b.issued(t, product, "2", 10)
	b.giveBack(t, issue.Name, "0.5")
	back := b.newest(t, product)
	b.takeBack(t, issue.Name)
	e := b.Last(t).GetMaterialTakenBack()
	same(t, "cost", usd(15_00), e.Cost)
	for n, want := range []*eventsv1.StockEntryUndone_Part{{EntryId: bare(issue.Name), OccurredAt: issue.IssueTime, ValueChange: usd(20_00)},
		{EntryId: bare(back.Name), OccurredAt: back.Time, ValueChange: usd(-5_00)}} {
		same(t, "part", want, e.Parts[n])
	}
	svctest.Refused(t, b.Service, b.stock().UndoEntry, undoOf(back.Name), fault.Precondition, "ENTRY_UNDONE")
	if now := b.newest(t, product); now.Name != back.Name || !now.Undone || now.Quantity.Value != "0.5" || now.Cost.Units != 5 {
		t.Errorf("what came back is %v, want what it was and that it is undone", now)
	}
	listed := b.issues(t, &materialsv1.ListIssuesRequest{Product: product}).Issues[0]
	if !listed.TakenBack || listed.ReturnedCost.GetUnits() != 5 || listed.Cost.Units != 20 {
		t.Errorf("the issue is %v, want what it was and that it is taken back", listed)
	}
	b.balanced(t)
}

// A part of a lot that was closed stays closed wherever it stands.
func TestServer_MoveLot_OfAClosedOne(t *testing.T) {
	b := setup(t)
	product := b.add(t, shellac()).Name
	lot := b.dated(t, product, "2", 20_00, 0)
	place := &materialsv1.SavePlaceRequest{RequestId: svctest.NewID(), Place: &materialsv1.Place{Name: "places/waste", DisplayName: "Waste", Kind: materialsv1.Place_KIND_CABINET}}
	must[*materialsv1.SavePlaceResponse](t)(materialsv1.NewStorageServiceClient(b.Conn).SavePlace(svctest.Ctx(t), place))
	skinned := &materialsv1.CloseLotRequest{RequestId: svctest.NewID(), Lot: lot.Name, Reason: "skinned over", CloseTime: later(10)}
	must[*materialsv1.CloseLotResponse](t)(b.stock().CloseLot(svctest.Ctx(t), skinned))
	move := &materialsv1.MoveLotRequest{RequestId: svctest.NewID(), Lot: lot.Name, Quantity: of("1", "L"), Place: "places/waste", MoveTime: later(20)}
	if got := must[*materialsv1.MoveLotResponse](t)(b.stock().MoveLot(svctest.Ctx(t), move)).Lot; !got.Closed || got.Place != "places/waste" {
		t.Errorf("lot = %v, want it closed, among the waste", got)
	}
	r := b.issueOf(product, of("0.1", "L"))
	r.IssueTime = later(30)
	svctest.Refused(t, b.Service, b.IssueMaterial, r, fault.Precondition, "STOCK_TOO_SMALL")
}

// The time of an issue was wrong: it is taken back, and noted before when it had been.
func TestServer_TakeBackIssue_ThenEarlier(t *testing.T) {
	b := setup(t)
	product := b.add(t, shellac()).Name
	b.dated(t, product, "2", 20_00, 0)
	wrong := b.issued(t, product, "2", 60)
	b.takeBack(t, wrong.Name)
	right := b.issued(t, product, "2", 30)
	same(t, "cost", usd(20_00), right.Cost)
	b.dense(t)
	b.balanced(t)
}

// A mix that was a slip puts back what went into it, unless somebody used of it.
func TestServer_UndoMix(t *testing.T) {
	b := setup(t)
	m := b.blend(t)
	wrong := must[*materialsv1.MakeMixResponse](t)(b.mixes().MakeMix(svctest.Ctx(t), mixing(m.recipe, "0.8", 10))).Mix
	undo := &materialsv1.UndoMixRequest{RequestId: svctest.NewID(), Name: wrong.Name, Reason: "the wrong recipe"}
	got := must[*materialsv1.UndoMixResponse](t)(b.mixes().UndoMix(svctest.Ctx(t), undo)).Mix
	if !got.Undone || got.Left.Value != "0" {
		t.Errorf("mix = %v, want it undone", got)
	}
	walnut := must[*materialsv1.GetProductResponse](t)(b.GetProduct(t.Context(), &materialsv1.GetProductRequest{Name: m.walnut})).Product
	same(t, "walnut", of("7", "L"), walnut.OnHand)
	again := &materialsv1.UndoMixRequest{RequestId: svctest.NewID(), Name: wrong.Name, Reason: "again"}
	svctest.Refused(t, b.Service, b.mixes().UndoMix, again, fault.Precondition, "MIX_UNDONE")
	used := must[*materialsv1.MakeMixResponse](t)(b.mixes().MakeMix(svctest.Ctx(t), mixing(m.recipe, "0.8", 20))).Mix
	b.issued(t, m.makes, "0.5", 30)
	late := &materialsv1.UndoMixRequest{RequestId: svctest.NewID(), Name: used.Name, Reason: "too late"}
	svctest.Refused(t, b.Service, b.mixes().UndoMix, late, fault.Precondition, "STOCK_TOO_SMALL")
	b.dense(t)
	b.balanced(t)
}

// What was used before its piece was given up can be written down afterwards; not what would have
// been used later.
func TestServer_IssueMaterial_BeforeTheScrap(t *testing.T) {
	b := setup(t)
	product := b.add(t, shellac()).Name
	b.dated(t, product, "2", 20_00, 0)
	b.others.pieces[b.piece], b.others.scrapped = intakev1.Piece_STATE_SCRAPPED, later(60)
	b.issued(t, product, "0.5", 59)
	r := b.issueOf(product, of("0.5", "L"))
	r.IssueTime = later(60)
	refusedAt(t, svctest.Refused(t, b.Service, b.IssueMaterial, r, fault.Precondition, "PIECE_SCRAPPED"), "stage")
}
