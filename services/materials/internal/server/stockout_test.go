package server_test

import (
	"testing"

	"tackfree/pkg/fault"
	"tackfree/pkg/svctest"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
)

func (b *bundle) giveBack(t *testing.T, issue, litres string) *materialsv1.ReturnMaterialResponse {
	t.Helper()
	return must[*materialsv1.ReturnMaterialResponse](t)(b.stock().ReturnMaterial(svctest.Ctx(t), backOf(issue, litres)))
}

func backOf(issue, litres string) *materialsv1.ReturnMaterialRequest {
	return &materialsv1.ReturnMaterialRequest{RequestId: svctest.NewID(), Issue: issue, Quantity: of(litres, "L"), ReturnTime: later(60)}
}

// A litre went out for 10.00; a third of it comes back for a third of that, and then the rest is
// taken back as if it had not been.
func TestServer_ReturnMaterial(t *testing.T) {
	b := setup(t)
	product := b.add(t, shellac()).Name
	b.dated(t, product, "3", 30_00, 0)
	issue := b.issued(t, product, "1", 10)
	got := b.giveBack(t, issue.Name, "0.333")
	same(t, "cost", usd(3_33), got.Cost)
	same(t, "returned", of("0.333", "L"), got.Issue.Returned)
	same(t, "on hand", of("2.333", "L"), got.Product.OnHand)
	back := b.Last(t)
	happened(t, back, b.piece, 2)
	same(t, "event", usd(3_33), back.GetMaterialReturned().Cost)
	refusedAt(t, svctest.Refused(t, b.Service, b.stock().ReturnMaterial, backOf(issue.Name, "0.668"), fault.Precondition, "RETURN_TOO_LARGE"), "quantity")
	early := backOf(issue.Name, "0.1")
	early.ReturnTime = later(5)
	refusedAt(t, svctest.Refused(t, b.Service, b.stock().ReturnMaterial, early, fault.Invalid, "RETURN_BEFORE_ISSUE"), "return_time")
	b.takeBack(t, issue.Name)
	same(t, "taken back", usd(6_67), b.Last(t).GetMaterialTakenBack().Cost)
	svctest.Refused(t, b.Service, b.stock().ReturnMaterial, backOf(issue.Name, "0.1"), fault.Precondition, "ISSUE_TAKEN_BACK")
	b.dense(t)
	b.balanced(t)
}

func wasteOf(product, litres string, cause materialsv1.WasteCause) *materialsv1.RecordWasteRequest {
	return &materialsv1.RecordWasteRequest{RequestId: svctest.NewID(), Product: product, Quantity: of(litres, "L"), Cause: cause, WasteTime: later(30)}
}

// What the gun takes at a stage is a cost of its piece, what is spilt is the shop's.
func TestServer_RecordWaste(t *testing.T) {
	b := setup(t)
	product := b.add(t, shellac()).Name
	b.dated(t, product, "2", 20_00, 0)
	gun := wasteOf(product, "0.1", materialsv1.WasteCause_WASTE_CAUSE_GUN_CLEANING)
	gun.Stage = b.stage
	must[*materialsv1.RecordWasteResponse](t)(b.stock().RecordWaste(svctest.Ctx(t), gun))
	e := b.Last(t)
	happened(t, e, b.piece, 1)
	if w := e.GetMaterialWasted(); w.Cause != "gun cleaning" || w.StageKind != "topcoat_coat" || w.Cost.Units != 1 {
		t.Errorf("event = %v, want the piece to bear 1.00", w)
	}
	got := must[*materialsv1.RecordWasteResponse](t)(b.stock().RecordWaste(svctest.Ctx(t), wasteOf(product, "0.5", materialsv1.WasteCause_WASTE_CAUSE_SPILT)))
	same(t, "movement", usd(-5_00), got.Movement.Cost)
	if w := b.Last(t); w.PieceId != "" || w.GetMaterialWasted().Cause != "spilt" {
		t.Errorf("event = %v, want it to be of no piece", w)
	}
	spilt := wasteOf(product, "0.1", materialsv1.WasteCause_WASTE_CAUSE_SPILT)
	spilt.Stage = b.stage
	refusedAt(t, svctest.Refused(t, b.Service, b.stock().RecordWaste, spilt, fault.Invalid, "WASTE_OF_NO_STAGE"), "stage")
	svctest.Refused(t, b.Service, b.stock().RecordWaste, wasteOf(product, "5", materialsv1.WasteCause_WASTE_CAUSE_SPOILT), fault.Precondition, "STOCK_TOO_SMALL")
	b.dense(t)
	b.balanced(t)
}

func (b *bundle) count(t *testing.T, product, litres string, minutes int) *materialsv1.CountStockResponse {
	t.Helper()
	return must[*materialsv1.CountStockResponse](t)(b.stock().CountStock(svctest.Ctx(t), &materialsv1.CountStockRequest{
		RequestId: svctest.NewID(), Product: product, Quantity: of(litres, "L"), CountTime: later(minutes)}))
}

// Two litres came in and nobody noted what was used; somebody counts one and a half. Then the
// issue of 0.4 before it is noted after all: what was missing is a tenth, and there is as much as
// was counted.
func TestServer_CountStock(t *testing.T) {
	b := setup(t)
	product := b.add(t, shellac()).Name
	b.dated(t, product, "2", 20_00, 0)
	got := b.count(t, product, "1.5", 60)
	same(t, "difference", of("-0.5", "L"), got.Difference)
	same(t, "told", usd(-5_00), b.Last(t).GetStockCounted().CostDifference)
	b.issued(t, product, "0.4", 30)
	told := b.find(t, func(e *eventsv1.Envelope) bool { return e.GetStockRecosted() != nil }).GetStockRecosted()
	same(t, "was missing", usd(5_00), told.Lines[0].OldCost)
	same(t, "is missing", usd(1_00), told.Lines[0].NewCost)
	same(t, "from when it was counted", later(60), told.Lines[0].OccurredAt)
	same(t, "on hand", of("1.5", "L"), must[*materialsv1.GetProductResponse](t)(b.GetProduct(t.Context(), &materialsv1.GetProductRequest{Name: product})).Product.OnHand)
	more := b.count(t, product, "1.75", 90)
	same(t, "too much", of("0.25", "L"), more.Difference)
	same(t, "at the cost of what is there", usd(2_50), more.Movement.Cost)
	none := b.count(t, product, "0", 120)
	if none.Product.OnHand.Value != "0" || none.Product.Value.Units != 0 {
		t.Errorf("product = %v, want nothing of it", none.Product)
	}
	b.dense(t)
	b.balanced(t)
}

// Movements can be looked at by what they were for, and say what each lot gave.
func TestServer_ListMovements(t *testing.T) {
	b := setup(t)
	product := b.add(t, shellac()).Name
	b.dated(t, product, "2", 20_00, 0)
	b.issued(t, product, "0.4", 30)
	b.count(t, product, "1.5", 60)
	all := must[*materialsv1.ListMovementsResponse](t)(b.stock().ListMovements(t.Context(), &materialsv1.ListMovementsRequest{Product: product}))
	purposes := ""
	for _, m := range all.Movements {
		purposes += m.Purpose + " "
	}
	if purposes != "count issue delivery " {
		t.Errorf("movements = %s", purposes)
	}
	some := must[*materialsv1.ListMovementsResponse](t)(b.stock().ListMovements(t.Context(), &materialsv1.ListMovementsRequest{
		Piece: b.piece, Purposes: []string{"issue"}, FromTime: later(30), ToTime: later(31)}))
	if len(some.Movements) != 1 || some.Movements[0].Stage != b.stage || some.Movements[0].Parts[0].Quantity.Value != "-0.4" {
		t.Errorf("movements of the piece = %v", some.Movements)
	}
	if _, err := b.stock().ListMovements(t.Context(), &materialsv1.ListMovementsRequest{FromTime: later(31), ToTime: later(30)}); !fault.Is(err, "FROM_AFTER_TO") {
		t.Errorf("ListMovements = %v, want FROM_AFTER_TO", err)
	}
}
