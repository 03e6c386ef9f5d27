package server_test

import (
	"sync"
	"testing"

	"github.com/google/go-cmp/cmp"
	"google.golang.org/genproto/googleapis/type/date"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/testing/protocmp"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
)

func litresOf(value string) *typev1.Quantity { return &typev1.Quantity{Value: value, Unit: "L"} }

// From the proposal to the order: the price is that for so many, and it is expected as long after
// it as the supplier takes.
func TestServer_PlaceOrder(t *testing.T) {
	b := buying(t, 0)
	lacquer := b.product("Satin lacquer", "1")
	store := b.supplier("Hardware store", 3)
	b.offers(store, lacquer, "gallon", "3.785411784", 45_00)
	b.needs(lacquer, "22", 4)
	proposed, err := b.ProposeOrders(t.Context(), &materialsv1.ProposeOrdersRequest{})
	if err != nil || len(proposed.Proposals) != 1 || len(proposed.Proposals[0].Lines) != 1 {
		t.Fatalf("ProposeOrders = %v, %v", proposed, err)
	}
	p := proposed.Proposals[0]
	if l := p.Lines[0]; l.Packages != 6 || l.Price.Units != 40 || p.Total.Units != 243 || p.SupplierName != "Hardware store" || l.Why == "" {
		t.Errorf("the proposal is %v", p)
	}
	r, err := b.PlaceOrder(svctest.Ctx(t), &materialsv1.PlaceOrderRequest{RequestId: svctest.NewID(), Supplier: p.Supplier, Note: "by phone",
		Lines: []*materialsv1.PlaceOrderRequest_Line{{Product: p.Lines[0].Product, PackageLabel: "GALLON", Packages: p.Lines[0].Packages}}})
	if err != nil {
		t.Fatal(err)
	}
	want := &materialsv1.Order{Name: r.Order.Name, Number: 1, Supplier: id.Name("suppliers", store), SupplierName: "Hardware store", State: materialsv1.Order_STATE_ORDERED,
		OrderTime: timestamppb.New(monday), ExpectDate: &date.Date{Year: 2026, Month: 3, Day: 5}, Total: dollars(243_00), Note: "by phone", Actor: svctest.Actor, Etag: `"1"`,
		Lines: []*materialsv1.Order_Line{{Name: r.Order.Name + "/lines/1", Product: id.Name("products", lacquer), ProductName: "Satin lacquer", PackageLabel: "gallon", Packages: 6,
			Price: dollars(40_50), Cost: dollars(243_00), Ordered: litresOf("22.712470704"), Received: litresOf("0")}}}
	if diff := cmp.Diff(want, r.Order, protocmp.Transform()); diff != "" {
		t.Errorf("PlaceOrder (-want +got):\n%s", diff)
	}
	read, err := b.GetOrder(t.Context(), &materialsv1.GetOrderRequest{Name: r.Order.Name})
	if diff := cmp.Diff(want, read.GetOrder(), protocmp.Transform()); diff != "" || err != nil {
		t.Errorf("GetOrder (-want +got):\n%s%v", diff, err)
	}
	e := b.Last(t)
	if e.AggregateKind != "order" || e.Version != 1 || e.GetOrderPlaced().GetNumber() != 1 || !proto.Equal(e.GetOrderPlaced().GetTotal(), dollars(243_00)) || len(e.GetOrderPlaced().GetLines()) != 1 {
		t.Errorf("event = %v", e)
	}
	if again, err := b.ProposeOrders(t.Context(), &materialsv1.ProposeOrdersRequest{Supplier: p.Supplier}); err != nil || len(again.Proposals) != 0 {
		t.Errorf("what is on order is proposed again: %v, %v", again, err)
	}
}

// Two people place the same proposal: both have ordered, under two numbers, and both count as on order.
func TestServer_PlaceOrder_TwoPeople(t *testing.T) {
	b := buying(t, 0)
	lacquer, store := b.product("Satin lacquer", "1"), b.supplier("Hardware store", 3)
	var both sync.WaitGroup
	for range 2 {
		both.Go(func() {
			if _, err := b.PlaceOrder(svctest.Ctx(t), orderOf(store, lacquer, 1)); err != nil {
				t.Error(err)
			}
		})
	}
	both.Wait()
	if got := b.advice(lacquer).OnOrder; got.Value != "7.570823568" {
		t.Errorf("on order = %v, want both gallons", got)
	}
	r, err := b.ListOrders(t.Context(), &materialsv1.ListOrdersRequest{})
	if err != nil || len(r.Orders) != 2 || r.Orders[0].Number != 2 || r.Orders[1].Number != 1 {
		t.Errorf("ListOrders = %v, %v", r, err)
	}
}

// The same command twice is one order.
func TestServer_PlaceOrder_AskedAgain(t *testing.T) {
	b := buying(t, 0)
	r := orderOf(b.supplier("Hardware store", 3), b.product("Satin lacquer", "1"), 1)
	first, err := b.PlaceOrder(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	again, err := b.PlaceOrder(svctest.Ctx(t), r)
	if err != nil || !proto.Equal(first, again) || len(b.Events(t)) != 1 {
		t.Errorf("asked again: %v, %v, %d events", again, err, len(b.Events(t)))
	}
}

func TestServer_PlaceOrder_Refuses(t *testing.T) {
	b := buying(t, 0)
	lacquer, store, closed := b.product("Satin lacquer", "1"), b.supplier("Hardware store", 3), b.supplier("Closed down", 3)
	b.exec(`UPDATE supplier SET retired = true WHERE id = $1`, closed)
	for name, c := range map[string]struct {
		change        func(*materialsv1.PlaceOrderRequest)
		kind          fault.Kind
		reason, field string
	}{
		"NoSupplier": {func(r *materialsv1.PlaceOrderRequest) { r.Supplier = id.Name("suppliers", id.New()) }, fault.NotFound, "SUPPLIER_NOT_FOUND", "supplier"},
		"Retired":    {func(r *materialsv1.PlaceOrderRequest) { r.Supplier = id.Name("suppliers", closed) }, fault.Precondition, "SUPPLIER_RETIRED", "supplier"},
		"NoProduct":  {func(r *materialsv1.PlaceOrderRequest) { r.Lines[0].Product = id.Name("products", id.New()) }, fault.NotFound, "PRODUCT_NOT_FOUND", "lines[0].product"},
		"NoPackage":  {func(r *materialsv1.PlaceOrderRequest) { r.Lines[0].PackageLabel = "drum" }, fault.Invalid, "PACKAGE_UNKNOWN", "lines[0].package_label"},
		"Twice":      {func(r *materialsv1.PlaceOrderRequest) { r.Lines = append(r.Lines, r.Lines[0]) }, fault.Invalid, "ORDER_LINE_TWICE", "lines[1]"},
		"Euros": {func(r *materialsv1.PlaceOrderRequest) {
			r.Lines[0].Price = dollars(1)
			r.Lines[0].Price.CurrencyCode = "EUR"
		}, fault.Invalid, "CURRENCY_NOT_THE_SHOPS", "lines[0].price"},
		"Yesterday": {func(r *materialsv1.PlaceOrderRequest) { r.ExpectDate = &date.Date{Year: 2026, Month: 3, Day: 1} }, fault.Invalid, "EXPECTED_BEFORE_ORDERED", "expect_date"},
		"Absurd": {func(r *materialsv1.PlaceOrderRequest) {
			r.Lines[0].Packages, r.Lines[0].Price = 100_000, dollars(9_000_000_00)
		}, fault.Invalid, "ORDER_ABSURD", "lines[0].price"},
		"NoLines":      {func(r *materialsv1.PlaceOrderRequest) { r.Lines = nil }, fault.Invalid, "INVALID_FIELD", "lines"},
		"NoneOfIt":     {func(r *materialsv1.PlaceOrderRequest) { r.Lines[0].Packages = 0 }, fault.Invalid, "INVALID_FIELD", "lines[0].packages"},
		"MalformedDay": {func(r *materialsv1.PlaceOrderRequest) { r.ExpectDate = &date.Date{Year: 2026, Month: 2, Day: 30} }, fault.Invalid, "DATE_MALFORMED", "expect_date"},
	} {
		t.Run(name, func(t *testing.T) {
			r := orderOf(store, lacquer, 1)
			c.change(r)
			refusedWith(t, svctest.Refused(t, b.Service, b.PlaceOrder, r, c.kind, c.reason), c.field)
		})
	}
}

func closeOf(name, etag string) *materialsv1.CloseOrderRequest {
	return &materialsv1.CloseOrderRequest{RequestId: svctest.NewID(), Name: name, Reason: "discontinued", Etag: etag}
}

func cancelOf(name, etag string) *materialsv1.CancelOrderRequest {
	return &materialsv1.CancelOrderRequest{RequestId: svctest.NewID(), Name: name, Reason: "ordered twice", Etag: etag}
}

// What ends is said with its reason, is not on order any more, and ends once.
func TestServer_CloseAndCancelOrder(t *testing.T) {
	b := buying(t, 0)
	lacquer, store := b.product("Satin lacquer", "1"), b.supplier("Hardware store", 3)
	closes, cancels := b.place(store, lacquer, 1), b.place(store, lacquer, 1)
	svctest.Refused(t, b.Service, b.CloseOrder, closeOf(closes.Name, `"9"`), fault.Conflict, "ETAG_MISMATCH")
	svctest.Refused(t, b.Service, b.CancelOrder, cancelOf(closes.Name, `"9"`), fault.Conflict, "ETAG_MISMATCH")
	closed, err := b.CloseOrder(svctest.Ctx(t), closeOf(closes.Name, `"1"`))
	if err != nil || closed.Order.State != materialsv1.Order_STATE_CLOSED || closed.Order.Reason != "discontinued" || closed.Order.Etag != `"2"` {
		t.Errorf("CloseOrder = %v, %v", closed, err)
	}
	if e := b.Last(t); e.Version != 2 || !proto.Equal(e.GetOrderChanged(), &eventsv1.OrderChanged{OrderId: e.AggregateId, Number: 1, SupplierId: store.String(),
		SupplierName: "Hardware store", State: "closed", Reason: "discontinued"}) {
		t.Errorf("event = %v", e)
	}
	cancelled, err := b.CancelOrder(svctest.Ctx(t), cancelOf(cancels.Name, ""))
	if err != nil || cancelled.Order.State != materialsv1.Order_STATE_CANCELLED {
		t.Errorf("CancelOrder = %v, %v", cancelled, err)
	}
	if on := b.advice(lacquer).OnOrder.Value; on != "0" {
		t.Errorf("on order = %s L of orders that are over", on)
	}
	for _, name := range []string{closes.Name, cancels.Name} {
		refusedWith(t, svctest.Refused(t, b.Service, b.CloseOrder, closeOf(name, ""), fault.Precondition, "ORDER_CLOSED"), "name")
		refusedWith(t, svctest.Refused(t, b.Service, b.CancelOrder, cancelOf(name, ""), fault.Precondition, "ORDER_CLOSED"), "name")
	}
	nobodys := id.Name("purchaseOrders", id.New())
	refusedWith(t, svctest.Refused(t, b.Service, b.CloseOrder, closeOf(nobodys, ""), fault.NotFound, "ORDER_NOT_FOUND"), "name")
	refusedWith(t, svctest.Refused(t, b.Service, b.CancelOrder, cancelOf(nobodys, ""), fault.NotFound, "ORDER_NOT_FOUND"), "name")
}

// Pages go from the newest number to the oldest, of one supplier or product, open ones or all.
func TestServer_ListOrders(t *testing.T) {
	b := buying(t, 0)
	lacquer, wax := b.product("Satin lacquer", "1"), b.product("Paste wax", "1")
	hardware, corner := b.supplier("Hardware store", 3), b.supplier("Corner shop", 1)
	b.place(hardware, lacquer, 1)
	b.place(corner, lacquer, 1)
	last := b.place(hardware, wax, 1)
	if _, err := b.CancelOrder(svctest.Ctx(t), cancelOf(last.Name, "")); err != nil {
		t.Fatal(err)
	}
	for name, c := range map[string]struct {
		r    *materialsv1.ListOrdersRequest
		want []int64
	}{
		"All":        {&materialsv1.ListOrdersRequest{PageSize: 2}, []int64{3, 2, 1}},
		"OfSupplier": {&materialsv1.ListOrdersRequest{Supplier: id.Name("suppliers", hardware)}, []int64{3, 1}},
		"OfProduct":  {&materialsv1.ListOrdersRequest{Product: id.Name("products", lacquer), PageSize: 1}, []int64{2, 1}},
		"Open":       {&materialsv1.ListOrdersRequest{OnlyOpen: true, Supplier: id.Name("suppliers", hardware)}, []int64{1}},
	} {
		var got []int64
		for r := c.r; ; {
			page, err := b.ListOrders(t.Context(), r)
			if err != nil {
				t.Fatal(err)
			}
			for _, o := range page.Orders {
				got = append(got, o.Number)
			}
			if r.PageToken = page.NextPageToken; r.PageToken == "" {
				break
			}
		}
		if diff := cmp.Diff(c.want, got); diff != "" {
			t.Errorf("%s (-want +got):\n%s", name, diff)
		}
	}
}

func TestServer_ProposeOrders_NoSupplier(t *testing.T) {
	b := buying(t, 0)
	if _, err := b.ProposeOrders(t.Context(), &materialsv1.ProposeOrdersRequest{Supplier: id.Name("suppliers", id.New())}); !fault.Is(err, "SUPPLIER_NOT_FOUND") {
		t.Errorf("ProposeOrders = %v, want SUPPLIER_NOT_FOUND", err)
	}
}

// What comes of an order makes it received, counts as on order no more, and teaches how long the
// supplier takes; what is too much is said.
func TestServer_ReceiveDelivery_OfAnOrder(t *testing.T) {
	b := buying(t, 0)
	added, err := materialsv1.NewMaterialsServiceClient(b.Conn).AddProduct(svctest.Ctx(t), &materialsv1.AddProductRequest{RequestId: svctest.NewID(), DisplayName: "Satin lacquer", Unit: "L",
		Packages: []*materialsv1.Package{{Label: "gallon", Content: litresOf("3.785411784")}}})
	if err != nil {
		t.Fatal(err)
	}
	lacquer, err := id.One("name", added.Product.Name, "products")
	if err != nil {
		t.Fatal(err)
	}
	store := b.supplier("Hardware store", 3)
	b.offers(store, lacquer, "gallon", "3.785411784", 45_00)
	order := b.place(store, lacquer, 2)
	b.clock(9)
	stock := materialsv1.NewStockServiceClient(b.Conn)
	receive := func(litres string) *materialsv1.ReceiveDeliveryRequest {
		return &materialsv1.ReceiveDeliveryRequest{RequestId: svctest.NewID(), Lines: []*materialsv1.DeliveryLine{{Product: id.Name("products", lacquer), Cost: dollars(45_00),
			Amount: &materialsv1.DeliveryLine_Quantity{Quantity: litresOf(litres)}, OrderLine: order.Lines[0].Name}}}
	}
	for _, c := range []struct {
		litres string
		state  materialsv1.Order_State
		open   string
	}{{"3.785411784", materialsv1.Order_STATE_PART_RECEIVED, "3.785411784"}, {"4", materialsv1.Order_STATE_RECEIVED, "0"}} {
		if _, err := stock.ReceiveDelivery(svctest.Ctx(t), receive(c.litres)); err != nil {
			t.Fatal(err)
		}
		got, err := b.GetOrder(t.Context(), &materialsv1.GetOrderRequest{Name: order.Name})
		if err != nil || got.Order.State != c.state || b.advice(lacquer).OnOrder.Value != c.open {
			t.Errorf("after %s L the order is %v, %v and %v on order", c.litres, got.GetOrder().GetState(), err, b.advice(lacquer).OnOrder)
		}
	}
	var said string
	for _, e := range b.Events(t) {
		if c := e.GetOrderChanged(); c != nil {
			said = c.Reason
		}
	}
	if said != "Of line 1, Satin lacquer, 0.214589 L more came than was ordered." {
		t.Errorf("it says %q", said)
	}
	if lead := b.advice(lacquer).LeadDays; lead <= 5 {
		t.Errorf("after a delivery of 9 days one takes %v", lead)
	}
	svctest.Refused(t, b.Service, b.CloseOrder, closeOf(order.Name, ""), fault.Precondition, "ORDER_RECEIVED")
	svctest.Refused(t, b.Service, b.CancelOrder, cancelOf(order.Name, ""), fault.Precondition, "ORDER_RECEIVED")
}
