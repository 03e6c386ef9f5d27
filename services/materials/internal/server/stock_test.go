package server_test

import (
	"sync"
	"sync/atomic"
	"testing"

	"google.golang.org/genproto/googleapis/type/date"

	"tackfree/pkg/fault"
	"tackfree/pkg/svctest"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
)

func (b *bundle) stock() materialsv1.StockServiceClient {
	return materialsv1.NewStockServiceClient(b.Conn)
}

// dated receives so many litres some minutes after noon.
func (b *bundle) dated(t *testing.T, product, litres string, cents int64, minutes int) *materialsv1.Lot {
	t.Helper()
	r := delivery(product, litres, cents)
	r.ReceiveTime = later(minutes)
	return b.receive(t, r).Lot
}

// issued issues so many litres some minutes after noon.
func (b *bundle) issued(t *testing.T, product, litres string, minutes int) *materialsv1.Issue {
	t.Helper()
	r := b.issueOf(product, of(litres, "L"))
	r.IssueTime = later(minutes)
	return b.issue(t, r).Issue
}

// line is a line of a bill.
func line(product, litres string, cents int64) *materialsv1.DeliveryLine {
	return &materialsv1.DeliveryLine{Product: product, Cost: usd(cents), Amount: &materialsv1.DeliveryLine_Quantity{Quantity: of(litres, "L")}}
}

func bill(lines ...*materialsv1.DeliveryLine) *materialsv1.ReceiveDeliveryRequest {
	return &materialsv1.ReceiveDeliveryRequest{RequestId: svctest.NewID(), Lines: lines, Supplier: "paint store", ReceiveTime: noon}
}

// must gives an answer that has to come.
func must[T any](t *testing.T) func(T, error) T {
	return func(answer T, err error) T {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return answer
	}
}

// Freight of 10.00 and a discount of 5.01 over lines of 20.00, 10.00 and nothing: by largest
// remainders 6.67 and 3.33 more, 3.34 and 1.67 less.
func TestServer_ReceiveDelivery_SpreadsFreightAndDiscount(t *testing.T) {
	b := setup(t)
	shellac, wax := b.add(t, shellac()).Name, b.other(t, "Paste wax")
	r := bill(line(shellac, "2", 20_00), line(wax, "1", 10_00), line(shellac, "0.5", 0))
	r.Freight, r.Discount = usd(10_00), usd(5_01)
	r.Lines[1].BatchCode, r.Lines[1].ExpireDate = " 77-B ", &date.Date{Year: 2027, Month: 3, Day: 31}
	got := must[*materialsv1.ReceiveDeliveryResponse](t)(b.stock().ReceiveDelivery(svctest.Ctx(t), r))
	for n, cents := range []int64{23_33, 11_66, 0} {
		same(t, "cost of a line", usd(cents), got.Lots[n].Cost)
	}
	if wax := got.Lots[1]; wax.BatchCode != "77-B" || wax.ExpireTime.AsTime().Format("2006-01-02") != "2027-04-01" {
		t.Errorf("lot of wax = %v, want its code and that it is too old from the day after", wax)
	}
	b.dense(t)
	b.balanced(t)
}

func TestServer_ReceiveDelivery_Refuses(t *testing.T) {
	b := setup(t)
	product := b.add(t, shellac()).Name
	seller := &materialsv1.AddSupplierRequest{RequestId: svctest.NewID(), DisplayName: "Paint Store", LeadDays: 2}
	must[*materialsv1.AddSupplierResponse](t)(materialsv1.NewSupplierServiceClient(b.Conn).AddSupplier(svctest.Ctx(t), seller))
	for name, c := range map[string]struct {
		change        func(*materialsv1.ReceiveDeliveryRequest)
		kind          fault.Kind
		reason, field string
	}{
		"Nobody":   {func(r *materialsv1.ReceiveDeliveryRequest) { r.Supplier = "Paint Stor" }, fault.NotFound, "SUPPLIER_NOT_FOUND", "supplier"},
		"Discount": {func(r *materialsv1.ReceiveDeliveryRequest) { r.Discount = usd(30_01) }, fault.Invalid, "COST_BELOW_ZERO", "discount"},
		"SecondLine": {func(r *materialsv1.ReceiveDeliveryRequest) {
			r.Lines[1].Amount.(*materialsv1.DeliveryLine_Quantity).Quantity.Unit = "g"
		},
			fault.Invalid, "UNIT_OF_ANOTHER_MEASURE", "lines[1].quantity"},
		"Nowhere": {func(r *materialsv1.ReceiveDeliveryRequest) { r.Lines[1].Place = "places/attic" }, fault.NotFound, "PLACE_NOT_FOUND", "lines[1].place"},
		"Nothing": {func(r *materialsv1.ReceiveDeliveryRequest) { r.Lines[1].Product = "products/" + svctest.NewID() }, fault.NotFound, "PRODUCT_NOT_FOUND", "lines[1].product"},
		"TooOld": {func(r *materialsv1.ReceiveDeliveryRequest) {
			r.Lines[0].ExpireDate = &date.Date{Year: 2026, Month: 3, Day: 1}
		},
			fault.Invalid, "EXPIRES_BEFORE_RECEIVED", "lines[0].expire_date"},
		"NoOrder": {func(r *materialsv1.ReceiveDeliveryRequest) {
			r.Lines[1].OrderLine = "purchaseOrders/" + svctest.NewID() + "/lines/1"
		},
			fault.NotFound, "ORDER_NOT_FOUND", "lines[1].order_line"},
	} {
		t.Run(name, func(t *testing.T) {
			r := bill(line(product, "2", 20_00), line(product, "1", 10_00))
			c.change(r)
			refusedAt(t, svctest.Refused(t, b.Service, b.stock().ReceiveDelivery, r, c.kind, c.reason), c.field)
		})
	}
}

// Two lots at 10 and 30 a litre, and a litre and a half of them went to a piece for 25.00. Then it
// shows that a litre at 20 had come in between: so half of that went, and the piece got it for 20.00.
func TestServer_ReceiveDelivery_Late(t *testing.T) {
	b := setup(t)
	product := b.add(t, shellac()).Name
	b.dated(t, product, "1", 10_00, 0)
	b.dated(t, product, "1", 30_00, 120)
	issue := b.issued(t, product, "1.5", 180)
	same(t, "cost", usd(25_00), issue.Cost)
	r := bill(line(product, "1", 20_00))
	r.ReceiveTime = later(60)
	got := must[*materialsv1.ReceiveDeliveryResponse](t)(b.stock().ReceiveDelivery(svctest.Ctx(t), r))
	if len(got.Recostings) != 1 {
		t.Fatalf("recostings = %v, want that of the issue", got.Recostings)
	}
	now := got.Recostings[0]
	if now.Stage != b.stage || now.Purpose != "issue" || bare(now.Entry) != bare(issue.Name) {
		t.Errorf("recosting = %v, want that of %s", now, issue.Name)
	}
	same(t, "before", usd(25_00), now.OldCost)
	same(t, "now", usd(20_00), now.NewCost)
	var told *eventsv1.MaterialRecosted
	for _, e := range b.Events(t) {
		if told = e.GetMaterialRecosted(); told != nil {
			happened(t, e, b.piece, 2)
			same(t, "new cost", usd(20_00), told.Lines[0].NewCost)
			same(t, "from when the piece got it", later(180), told.Lines[0].OccurredAt)
			break
		}
	}
	if told == nil {
		t.Error("nobody was told what the piece costs now")
	}
	listed := b.issues(t, &materialsv1.ListIssuesRequest{Piece: b.piece}).Issues[0]
	same(t, "cost as it is listed", usd(20_00), listed.Cost)
	b.dense(t)
	b.balanced(t)
}

// What is dated before anything came in cannot be; nor what leaves too little for what was used
// later.
func TestServer_IssueMaterial_BeforeItCame(t *testing.T) {
	b := setup(t)
	product := b.add(t, shellac()).Name
	b.dated(t, product, "1", 10_00, 60)
	b.issued(t, product, "0.8", 120)
	r := b.issueOf(product, of("0.1", "L"))
	r.IssueTime = later(30)
	svctest.Refused(t, b.Service, b.IssueMaterial, r, fault.Precondition, "STOCK_TOO_SMALL")
	r = b.issueOf(product, of("0.3", "L"))
	r.IssueTime = later(90)
	svctest.Refused(t, b.Service, b.IssueMaterial, r, fault.Precondition, "STOCK_TOO_SMALL")
	r = b.issueOf(product, of("0.2", "L"))
	r.IssueTime = later(90)
	b.issue(t, r)
	b.balanced(t)
}

// A lot that had cost less than was known costs those less who got of it.
func TestServer_CorrectLotCost(t *testing.T) {
	b := setup(t)
	product := b.add(t, shellac()).Name
	lot := b.dated(t, product, "4", 40_00, 0)
	b.issued(t, product, "1", 10)
	r := &materialsv1.CorrectLotCostRequest{RequestId: svctest.NewID(), Lot: lot.Name, Cost: usd(32_00), Reason: "the bill says so"}
	got := must[*materialsv1.CorrectLotCostResponse](t)(b.stock().CorrectLotCost(svctest.Ctx(t), r))
	same(t, "value", usd(24_00), got.Product.Value)
	same(t, "of the issue", usd(8_00), got.Recostings[0].NewCost)
	told := b.find(t, func(e *eventsv1.Envelope) bool { return e.GetLotCostCorrected() != nil }).GetLotCostCorrected()
	same(t, "corrected", usd(32_00), told.NewCost)
	r = &materialsv1.CorrectLotCostRequest{RequestId: svctest.NewID(), Lot: lot.Name, Cost: usd(32_00), Reason: "again"}
	svctest.Refused(t, b.Service, b.stock().CorrectLotCost, r, fault.Invalid, "CORRECTION_CHANGES_NOTHING")
	same(t, "listed", usd(8_00), b.issues(t, &materialsv1.ListIssuesRequest{Product: product}).Issues[0].Cost)
	b.dense(t)
	b.balanced(t)
}

// find gives the last event of a kind.
func (b *bundle) find(t *testing.T, is func(*eventsv1.Envelope) bool) *eventsv1.Envelope {
	t.Helper()
	var found *eventsv1.Envelope
	for _, e := range b.Events(t) {
		if is(e) {
			found = e
		}
	}
	if found == nil {
		t.Fatal("there is no such event")
	}
	return found
}

// Fifty people want a tenth of a litre each of four litres at once: forty get it.
func TestServer_IssueMaterial_Fifty(t *testing.T) {
	b := setup(t)
	product := b.add(t, shellac()).Name
	b.dated(t, product, "4", 40_01, 0)
	var all sync.WaitGroup
	var got atomic.Int64
	for range 50 {
		r := b.issueOf(product, of("0.1", "L"))
		r.IssueTime = nil
		all.Go(func() {
			_, err := b.IssueMaterial(svctest.Ctx(t), r)
			if err == nil {
				got.Add(1)
			} else if !fault.Is(err, "STOCK_TOO_SMALL") {
				t.Errorf("IssueMaterial: %v", err)
			}
		})
	}
	all.Wait()
	if got.Load() != 40 {
		t.Errorf("%d got theirs, want 40", got.Load())
	}
	b.dense(t)
	b.balanced(t)
}
