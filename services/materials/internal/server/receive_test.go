package server_test

import (
	"fmt"
	"testing"
	"time"

	"google.golang.org/genproto/googleapis/type/money"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
)

// packs is a delivery of whole packages.
func packs(product, label string, count int32, cents int64) *materialsv1.ReceiveStockRequest {
	r := delivery(product, "1", cents)
	r.Amount = &materialsv1.ReceiveStockRequest_Packages_{Packages: &materialsv1.ReceiveStockRequest_Packages{Label: label, Count: count}}
	return r
}

func TestServer_ReceiveStock(t *testing.T) {
	b := setup(t)
	p := b.add(t, shellac())
	got := b.receive(t, packs(p.Name, "Quart can", 4, 92_00))
	gallon := of("3.785411784", "L")
	same(t, "lot", &materialsv1.Lot{Name: got.Lot.Name, Received: gallon, Left: gallon, Cost: usd(92_00), CostLeft: usd(92_00),
		ReceiveTime: noon, Supplier: "paint store"}, got.Lot)
	want := proto.CloneOf(p)
	want.OnHand, want.Value, want.Etag = gallon, usd(92_00), `"2"`
	same(t, "product", want, got.Product)
	e := b.Last(t)
	happened(t, e, p.Name, 2)
	same(t, "occurred_at", noon, e.OccurredAt)
	same(t, "event", &eventsv1.StockReceived{ProductId: bare(p.Name), ProductName: "Dewaxed shellac", LotId: bare(got.Lot.Name),
		Quantity: gallon, Cost: usd(92_00), Supplier: "paint store"}, e.GetStockReceived())
}

func TestServer_ReceiveStock_AGift(t *testing.T) {
	b := setup(t)
	p := b.add(t, shellac())
	got := b.receive(t, delivery(p.Name, "1", 0))
	if got.Product.OnHand.Value != "1" || got.Product.Value.Units != 0 {
		t.Errorf("ReceiveStock for nothing = %v, want 1 L worth nothing", got.Product)
	}
}

func TestServer_ReceiveStock_AskedAgain(t *testing.T) {
	b := setup(t)
	p := b.add(t, shellac())
	r := delivery(p.Name, "1", 20_00)
	first := b.receive(t, r)
	b.receive(t, delivery(p.Name, "1", 22_00))
	same(t, "the second answer", first, b.receive(t, r))
	if n := len(b.Events(t)); n != 3 {
		t.Errorf("%d events, want 3", n)
	}
	other := delivery(p.Name, "2", 20_00)
	other.RequestId = r.RequestId
	svctest.Refused(t, b.Service, b.ReceiveStock, other, fault.Invalid, "REQUEST_ID_REUSED")
}

func TestServer_ReceiveStock_Refuses(t *testing.T) {
	b := setup(t)
	p := b.add(t, shellac())
	quantity := func(value, unit string) func(*materialsv1.ReceiveStockRequest) {
		return func(r *materialsv1.ReceiveStockRequest) {
			r.Amount = &materialsv1.ReceiveStockRequest_Quantity{Quantity: of(value, unit)}
		}
	}
	pack := func(label string, count int32) func(*materialsv1.ReceiveStockRequest) {
		return func(r *materialsv1.ReceiveStockRequest) { r.Amount = packs("", label, count, 0).Amount }
	}
	cases := map[string]struct {
		change        func(*materialsv1.ReceiveStockRequest)
		kind          fault.Kind
		reason, field string
	}{
		"UnknownProduct": {func(r *materialsv1.ReceiveStockRequest) { r.Product = id.Name("products", id.New()) }, fault.NotFound, "PRODUCT_NOT_FOUND", "product"},
		"NoName":         {func(r *materialsv1.ReceiveStockRequest) { r.Product = "" }, fault.Invalid, "INVALID_NAME", "product"},
		"UnknownPackage": {pack("drum", 1), fault.Invalid, "PACKAGE_UNKNOWN", "packages.label"},
		"BlankPackage":   {pack("\u00a0", 1), fault.Invalid, "INVALID_FIELD", "packages.label"},
		"NoPackages":     {pack("quart can", 0), fault.Invalid, "INVALID_FIELD", "packages.count"},
		"Grams":          {quantity("5", "g"), fault.Invalid, "UNIT_OF_ANOTHER_MEASURE", "quantity"},
		"UnknownUnit":    {quantity("5", "drops"), fault.Invalid, "UNIT_UNKNOWN", "quantity"},
		"Nothing":        {quantity("0", "L"), fault.Invalid, "QUANTITY_NOT_POSITIVE", "quantity"},
		"Negative":       {quantity("-1", "L"), fault.Invalid, "QUANTITY_NOT_POSITIVE", "quantity"},
		"ALake":          {quantity("1000000.1", "L"), fault.Invalid, "QUANTITY_ABSURD", "quantity"},
		"ATrace":         {quantity("0.0000009", "L"), fault.Invalid, "QUANTITY_ABSURD", "quantity"},
		"OtherCurrency":  {func(r *materialsv1.ReceiveStockRequest) { r.Cost = &money.Money{CurrencyCode: "EUR", Units: 1} }, fault.Invalid, "CURRENCY_NOT_THE_SHOPS", "cost"},
		"NegativeCost":   {func(r *materialsv1.ReceiveStockRequest) { r.Cost = usd(-1) }, fault.Invalid, "AMOUNT_NEGATIVE", "cost"},
		"NoCost":         {func(r *materialsv1.ReceiveStockRequest) { r.Cost = nil }, fault.Invalid, "INVALID_FIELD", "cost"},
		"Tomorrow": {func(r *materialsv1.ReceiveStockRequest) {
			r.ReceiveTime = timestamppb.New(time.Now().Add(24 * time.Hour))
		}, fault.Invalid, "TIME_IN_FUTURE", "receive_time"},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			r := delivery(p.Name, "1", 20_00)
			c.change(r)
			f := svctest.Refused(t, b.Service, b.ReceiveStock, r, c.kind, c.reason)
			refusedAt(t, f, c.field)
			if c.reason == "PACKAGE_UNKNOWN" && f.Meta["packages"] != "quart can, half litre" {
				t.Errorf("PACKAGE_UNKNOWN names %q", f.Meta["packages"])
			}
		})
	}
	neither := delivery(p.Name, "1", 20_00)
	neither.Amount = nil
	svctest.Refused(t, b.Service, b.ReceiveStock, neither, fault.Invalid, "INVALID_FIELD")
}

// Packages are counted too, and many of them are as absurd as their litres.
func TestServer_ReceiveStock_AbsurdlyManyPackages(t *testing.T) {
	b := setup(t)
	r := shellac()
	r.Packages = []*materialsv1.Package{{Label: "drum", Content: of("200", "L")}}
	p := b.add(t, r)
	refusedAt(t, svctest.Refused(t, b.Service, b.ReceiveStock, packs(p.Name, "drum", 100_000, 1), fault.Invalid, "QUANTITY_ABSURD"), "packages.count")
}

func TestServer_ListProducts(t *testing.T) {
	b := setup(t)
	for _, name := range []string{"Wax", "alkyd", "Shellac"} {
		r := shellac()
		r.DisplayName = name
		b.add(t, r)
	}
	first, err := b.ListProducts(t.Context(), &materialsv1.ListProductsRequest{PageSize: 2})
	if err != nil {
		t.Fatal(err)
	}
	rest, err := b.ListProducts(t.Context(), &materialsv1.ListProductsRequest{PageSize: 2, PageToken: first.NextPageToken})
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, p := range append(first.Products, rest.Products...) {
		names = append(names, p.DisplayName)
	}
	if fmt.Sprint(names) != "[alkyd Shellac Wax]" || rest.NextPageToken != "" {
		t.Errorf("ListProducts = %v and token %q, want alkyd, Shellac, Wax and none", names, rest.NextPageToken)
	}
}

func TestServer_ListLots(t *testing.T) {
	b := setup(t)
	p := b.add(t, shellac())
	var want []*materialsv1.Lot
	for _, litres := range []string{"1", "2", "3"} {
		want = append(want, b.receive(t, delivery(p.Name, litres, 10_00)).Lot)
	}
	b.issue(t, b.issueOf(p.Name, of("1", "L")))
	first, err := b.ListLots(t.Context(), &materialsv1.ListLotsRequest{Product: p.Name, PageSize: 1})
	if err != nil {
		t.Fatal(err)
	}
	rest, err := b.ListLots(t.Context(), &materialsv1.ListLotsRequest{Product: p.Name, PageToken: first.NextPageToken})
	if err != nil {
		t.Fatal(err)
	}
	same(t, "open lots", &materialsv1.ListLotsResponse{Lots: want[1:]}, &materialsv1.ListLotsResponse{Lots: append(first.Lots, rest.Lots...)})
	all, err := b.ListLots(t.Context(), &materialsv1.ListLotsRequest{Product: p.Name, ShowUsedUp: true})
	if err != nil {
		t.Fatal(err)
	}
	want[0].Left, want[0].CostLeft = of("0", "L"), usd(0)
	same(t, "all lots", &materialsv1.ListLotsResponse{Lots: want}, all)
}

func TestServer_Reads_Refuse(t *testing.T) {
	b := setup(t)
	nobody := id.Name("products", id.New())
	refusedAt(t, svctest.Refused(t, b.Service, b.GetProduct, &materialsv1.GetProductRequest{Name: nobody}, fault.NotFound, "PRODUCT_NOT_FOUND"), "name")
	refusedAt(t, svctest.Refused(t, b.Service, b.GetProduct, &materialsv1.GetProductRequest{Name: "products/7"}, fault.Invalid, "INVALID_NAME"), "name")
	svctest.Refused(t, b.Service, b.ListProducts, &materialsv1.ListProductsRequest{PageToken: "zz"}, fault.Invalid, "INVALID_PAGE_TOKEN")
	svctest.Refused(t, b.Service, b.ListProducts, &materialsv1.ListProductsRequest{PageSize: -1}, fault.Invalid, "INVALID_FIELD")
	refusedAt(t, svctest.Refused(t, b.Service, b.ListLots, &materialsv1.ListLotsRequest{Product: nobody}, fault.NotFound, "PRODUCT_NOT_FOUND"), "product")
	svctest.Refused(t, b.Service, b.ListLots, &materialsv1.ListLotsRequest{Product: "lots"}, fault.Invalid, "INVALID_NAME")
	svctest.Refused(t, b.Service, b.ListLots, &materialsv1.ListLotsRequest{Product: nobody, PageToken: "zz"}, fault.Invalid, "INVALID_PAGE_TOKEN")
	refusedAt(t, svctest.Refused(t, b.Service, b.ListIssues, &materialsv1.ListIssuesRequest{Product: "shellac"}, fault.Invalid, "INVALID_NAME"), "product")
	refusedAt(t, svctest.Refused(t, b.Service, b.ListIssues, &materialsv1.ListIssuesRequest{Piece: nobody}, fault.Invalid, "INVALID_NAME"), "piece")
	svctest.Refused(t, b.Service, b.ListIssues, &materialsv1.ListIssuesRequest{PageToken: "zz"}, fault.Invalid, "INVALID_PAGE_TOKEN")
	svctest.Refused(t, b.Service, b.ListIssues, &materialsv1.ListIssuesRequest{PageSize: -1}, fault.Invalid, "INVALID_FIELD")
}
