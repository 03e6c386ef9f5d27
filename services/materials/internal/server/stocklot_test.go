package server_test

import (
	"testing"

	"tackfree/pkg/fault"
	"tackfree/pkg/svctest"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
)

func opening(lot string, minutes int) *materialsv1.OpenPackageRequest {
	return &materialsv1.OpenPackageRequest{RequestId: svctest.NewID(), Lot: lot, OpenTime: later(minutes),
		Amount: &materialsv1.OpenPackageRequest_Packages{Packages: &materialsv1.ReceiveStockRequest_Packages{Label: "half litre", Count: 1}}}
}

// Of two litres half a litre is opened: it is used first, and costs what it cost.
func TestServer_OpenPackage(t *testing.T) {
	b := setup(t)
	product := b.add(t, shellac()).Name
	lot := b.dated(t, product, "2", 20_01, 0)
	open := must[*materialsv1.OpenPackageResponse](t)(b.stock().OpenPackage(svctest.Ctx(t), opening(lot.Name, 10))).Lot
	if !open.Open || open.PartOf != lot.Name || open.Left.Value != "0.5" {
		t.Errorf("open lot = %v", open)
	}
	issue := b.issued(t, product, "0.75", 20)
	if issue.Draws[0].Lot != open.Name || issue.Draws[0].Quantity.Value != "0.5" || issue.Draws[1].Lot != lot.Name {
		t.Errorf("draws = %v, want the open one first", issue.Draws)
	}
	same(t, "cost", usd(7_50), issue.Cost)
	svctest.Refused(t, b.Service, b.stock().OpenPackage, opening(open.Name, 30), fault.Precondition, "LOT_OPEN")
	large := opening(lot.Name, 30)
	large.Amount = &materialsv1.OpenPackageRequest_Quantity{Quantity: of("1.3", "L")}
	svctest.Refused(t, b.Service, b.stock().OpenPackage, large, fault.Precondition, "STOCK_TOO_SMALL")
	b.dense(t)
	b.balanced(t)
}

// Nothing of a lot that was closed is used, whether somebody asks for it or not; it is still there
// to be thrown away.
func TestServer_CloseLot(t *testing.T) {
	b := setup(t)
	product := b.add(t, shellac()).Name
	lot := b.dated(t, product, "1", 10_00, 0)
	skinned := &materialsv1.CloseLotRequest{RequestId: svctest.NewID(), Lot: lot.Name, Reason: "skinned over", CloseTime: later(10)}
	if got := must[*materialsv1.CloseLotResponse](t)(b.stock().CloseLot(svctest.Ctx(t), skinned)); !got.Lot.Closed {
		t.Errorf("lot = %v, want it closed", got.Lot)
	}
	r := b.issueOf(product, of("0.1", "L"))
	r.IssueTime = later(20)
	svctest.Refused(t, b.Service, b.IssueMaterial, r, fault.Precondition, "STOCK_TOO_SMALL")
	r.RequestId, r.Lot = svctest.NewID(), lot.Name
	svctest.Refused(t, b.Service, b.IssueMaterial, r, fault.Precondition, "LOT_CLOSED")
	again := &materialsv1.CloseLotRequest{RequestId: svctest.NewID(), Lot: lot.Name, Reason: "again", CloseTime: later(20)}
	svctest.Refused(t, b.Service, b.stock().CloseLot, again, fault.Precondition, "LOT_CLOSED")
	waste := wasteOf(product, "1", materialsv1.WasteCause_WASTE_CAUSE_SPOILT)
	waste.Lot = lot.Name
	if got := must[*materialsv1.RecordWasteResponse](t)(b.stock().RecordWaste(svctest.Ctx(t), waste)); got.Product.OnHand.Value != "0" {
		t.Errorf("product = %v, want nothing left", got.Product)
	}
	b.balanced(t)
}

// What has expired is used only by somebody who says why.
func TestServer_IssueMaterial_Expired(t *testing.T) {
	b := setup(t)
	product := b.add(t, shellac()).Name
	old := bill(line(product, "1", 10_00))
	old.ReceiveTime = later(-60 * 24 * 40)
	old.Lines[0].ExpireDate = day(noon.AsTime().AddDate(0, 0, -3))
	must[*materialsv1.ReceiveDeliveryResponse](t)(b.stock().ReceiveDelivery(svctest.Ctx(t), old))
	r := b.issueOf(product, of("0.1", "L"))
	refusedAt(t, svctest.Refused(t, b.Service, b.IssueMaterial, r, fault.Precondition, "LOT_EXPIRED"), "override_reason")
	r.RequestId, r.OverrideReason = svctest.NewID(), "dried hard on scrap overnight"
	if got := b.issue(t, r); got.Issue.OverrideReason != "dried hard on scrap overnight" {
		t.Errorf("issue = %v, want why it was used", got.Issue)
	}
	fresh := b.dated(t, product, "1", 12_00, 0)
	r = b.issueOf(product, of("0.2", "L"))
	r.IssueTime = later(5)
	if got := b.issue(t, r); got.Issue.Draws[0].Lot != fresh.Name {
		t.Errorf("draws = %v, want the fresh one", got.Issue.Draws)
	}
}

// A shop that goes by the average says so before anything comes in. The example is that of
// Principles of Accounting, Volume 1: Financial Accounting (OpenStax), chapter 10: 150 at 21, 120
// sold, 225 at 27, 180 sold, 210 at 33; the cents are exact.
func TestServer_SetStockPolicy(t *testing.T) {
	b := setup(t)
	average := &materialsv1.SetStockPolicyRequest{RequestId: svctest.NewID(), CostMethod: materialsv1.CostMethod_COST_METHOD_MOVING_AVERAGE}
	must[*materialsv1.SetStockPolicyResponse](t)(b.stock().SetStockPolicy(svctest.Ctx(t), average))
	product := b.add(t, shellac()).Name
	b.dated(t, product, "150", 3_150_00, 0)
	same(t, "first sale", usd(2_520_00), b.issued(t, product, "120", 10).Cost)
	b.dated(t, product, "225", 6_075_00, 20)
	same(t, "second sale", usd(4_732_94), b.issued(t, product, "180", 30).Cost)
	b.dated(t, product, "210", 6_930_00, 40)
	left := must[*materialsv1.GetProductResponse](t)(b.GetProduct(t.Context(), &materialsv1.GetProductRequest{Name: product})).Product
	same(t, "left", usd(8_902_06), left.Value)
	first := &materialsv1.SetStockPolicyRequest{RequestId: svctest.NewID(), CostMethod: materialsv1.CostMethod_COST_METHOD_FIRST_IN_FIRST_OUT}
	svctest.Refused(t, b.Service, b.stock().SetStockPolicy, first, fault.Precondition, "STOCK_HAS_ENTRIES")
	got := must[*materialsv1.GetStockPolicyResponse](t)(b.stock().GetStockPolicy(t.Context(), &materialsv1.GetStockPolicyRequest{})).Policy
	if !got.Settled || got.CostMethod != average.CostMethod {
		t.Errorf("policy = %v, want the average, settled", got)
	}
	b.balanced(t)
}
