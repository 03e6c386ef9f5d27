package cli

import (
	"context"
	"testing"

	"github.com/google/go-cmp/cmp"
	"google.golang.org/genproto/googleapis/type/date"
	"google.golang.org/protobuf/testing/protocmp"

	materialsv1 "tackfree/proto/tackfree/materials/v1"
)

func TestReadBought(t *testing.T) {
	t.Parallel()
	for text, want := range map[string]bought{
		"Clear coat: 2 x quart can = 39.98":      {product: "Clear coat", packages: 2, label: "quart can", cost: "39.98"},
		"Clear coat:2×quart can":                 {product: "Clear coat", packages: 2, label: "quart can"},
		"Oil: clear: 12 * 1/2 pint = 3":          {product: "Oil: clear", packages: 12, label: "1/2 pint", cost: "3"},
		"Thinner : 2.5 gal = 20; place rack 1":   {product: "Thinner", amount: "2.5 gal", cost: "20", more: map[string]string{"place": "rack 1"}},
		"Wax: 1 x tin a=b = 9; batch A:1":        {product: "Wax", packages: 1, label: "tin a=b", cost: "9", more: map[string]string{"batch": "A:1"}},
		"Wax: 5L; expires 2028-03-01; place x":   {product: "Wax", amount: "5L", more: map[string]string{"expires": "2028-03-01", "place": "x"}},
		"6x stain: walnut: 3 x xylene can = 1.5": {product: "6x stain: walnut", packages: 3, label: "xylene can", cost: "1.5"},
	} {
		if want.more == nil {
			want.more = map[string]string{}
		}
		got, err := readBought(text, billExample)
		if diff := cmp.Diff(want, got, cmp.AllowUnexported(bought{})); err != nil || diff != "" {
			t.Errorf("readBought(%q) = %v (-want +got):\n%s", text, err, diff)
		}
	}
	for _, text := range []string{"", "Clear coat", "Clear coat: quart can = 3", "2 x quart can = 3", "Wax: 5 = 3", "Wax: 5L; shelf 2", "Wax: 5L; place", "Wax: 5L = 3 = 4", "Wax: 99999999999 x tin"} {
		if got, err := readBought(text, billExample); err == nil {
			t.Errorf("readBought(%q) = %+v, want that it is refused", text, got)
		}
	}
}

func canLine(count int32, cost int64) *materialsv1.DeliveryLine {
	return &materialsv1.DeliveryLine{Product: "products/k", Cost: usd(cost),
		Amount: &materialsv1.DeliveryLine_Packages{Packages: &materialsv1.ReceiveStockRequest_Packages{Label: "quart can", Count: count}}}
}

// stocked has a second product, a place and an open order of three cans of which one has come.
func stocked(t *testing.T) *fake {
	t.Helper()
	f := newFake(t)
	f.products = append(f.products, &materialsv1.Product{Name: "products/t", DisplayName: "Thinner", Unit: "L"})
	f.shelf.places = []*materialsv1.Place{{Name: "places/yellow-cabinet", DisplayName: "Yellow cabinet", Kind: materialsv1.Place_KIND_CABINET, Etag: `"2"`}}
	f.shelf.suppliers = []*materialsv1.Supplier{{Name: "suppliers/a", DisplayName: "Acme", LeadDays: 4, Note: "calls back", Etag: `"2"`}}
	f.shelf.orders = []*materialsv1.Order{{Name: "purchaseOrders/0a", Number: 12, Supplier: "suppliers/a", SupplierName: "Acme", State: materialsv1.Order_STATE_PART_RECEIVED,
		Total: usd(58_50), ExpectDate: &date.Date{Year: 2026, Month: 3, Day: 6}, OrderTime: middayPlus(0), Lines: []*materialsv1.Order_Line{
			{Name: "purchaseOrders/0a/lines/1", Product: "products/k", ProductName: "Clear coat", PackageLabel: "quart can", Packages: 3, Price: usd(19_50), Cost: usd(58_50),
				Ordered: amount("2.839058838", "L"), Received: amount("0.946352946", "L"), FirstReceiveTime: middayPlus(60)}}}}
	f.shelf.lots = []*materialsv1.Lot{{Name: "products/k/lots/01", Received: amount("2", "L"), Left: amount("1.5", "L"), Cost: usd(40_00), CostLeft: usd(30_00),
		ReceiveTime: middayPlus(0), Supplier: "Acme", Place: "places/yellow-cabinet", BatchCode: "A12"}}
	return f
}

func TestReceive_ABill(t *testing.T) {
	t.Parallel()
	f := stocked(t)
	f.shelf.recosted = []*materialsv1.Recosting{
		{ProductName: "Clear coat", Stage: "pieces/a/stages/2", Purpose: "issue", OldCost: usd(3_80), NewCost: usd(3_95)},
		{ProductName: "Clear coat", Purpose: "count", OldCost: usd(-3_80), NewCost: usd(0), OldDifference: amount("-0.1", "L"), NewDifference: amount("0", "L")}}
	bill := line("stock receive --line 'clear coat: 2 x quart can = 39.98; expires 2028-03-01; batch A12' --line 'Thinner: 5L = 20; place YELLOW-cabinet' " +
		"--freight 8 --discount 2.50 --supplier Acme --at '2026-03-02 12:00'")
	first := canLine(2, 39_98)
	first.ExpireDate, first.BatchCode = &date.Date{Year: 2028, Month: 3, Day: 1}, "A12"
	f.gives(t, bill, &materialsv1.ReceiveDeliveryRequest{Freight: usd(8_00), Discount: usd(2_50), Supplier: "Acme", ReceiveTime: middayPlus(0), Lines: []*materialsv1.DeliveryLine{first,
		{Product: "products/t", Amount: &materialsv1.DeliveryLine_Quantity{Quantity: amount("5", "L")}, Cost: usd(20_00), Place: "places/yellow-cabinet"}}})
	f.says(t, bill, "01 2026-03-02 12:00:00 CST Acme 2 L 1.5 L 40.00 30.00 – yellow-cabinet batch A12\n",
		"Counted anew: sand (case) of piece 1, issue of Clear coat: 3.80 before, 3.95 now.\n",
		"Counted anew: count of Clear coat: -3.80 before, 0.00 now; difference -0.1 L before, 0 L now.\n")
	// What else is known of one product makes it a bill of one line.
	one := canLine(3, 36_00)
	one.Place, one.BatchCode = "places/yellow-cabinet", "A12"
	f.gives(t, line("stock receive 'Clear coat' --package 'quart can' --count 3 --cost 36 --place 'yellow cabinet' --batch A12"), &materialsv1.ReceiveDeliveryRequest{Lines: []*materialsv1.DeliveryLine{one}})
	for rest, want := range map[string]string{
		"":                                 "say what came",
		"--cost 20":                        "say of which product that is",
		"'Clear coat' --quantity 2L":       "say what the lot cost in all: --cost",
		"--line 'Wax: 1L = 3'":             `no product is called "Wax"`,
		"--line 'Thinner: 5L'":             "say what Thinner cost on the bill",
		"--line 'Thinner: 5L = 2.345'":     "AMOUNT_MALFORMED",
		"--line 'Thinner: 5L = 2; at b'":   `"at b" is none of: place WORD, expires DAY, batch NUMBER`,
		"Thinner --line 'Thinner: 5L=2'":   "not both",
		"--line 'Thinner 5L 2'":            "is not of the form 'Clear coat: 2 x quart can = 39.98'",
		"--order 13":                       "there is no order 13; `shop stock orders list` lists them",
		"--line 'Thinner: 5L=2;place b'":   `there is no place "b"; there are: yellow-cabinet`,
		"--line 'Thinner: 5L=2;expires 1'": `"1" is not a day`,
		"--line 'Thinner: 5L=2' --line 'Thinner: 1L=2' --batch A12": "say expires and batch in each line",
	} {
		f.refuses(t, line("stock receive "+rest), want)
	}
}

// What an order lacks is received without typing it; given again it is the same, although the order
// lacks it no more.
func TestReceive_AnOrder(t *testing.T) {
	t.Parallel()
	f := stocked(t)
	fulfils := canLine(2, 39_00)
	fulfils.OrderLine = "purchaseOrders/0a/lines/1"
	want := &materialsv1.ReceiveDeliveryRequest{Supplier: "Acme", Lines: []*materialsv1.DeliveryLine{fulfils}}
	f.gives(t, line("stock receive --order 12"), want)
	f.lost = context.DeadlineExceeded
	again := f.doubted(t, line("stock receive --order 12"), "the shop did not answer in time")
	f.healthy()
	f.shelf.orders[0].Lines[0].Received = amount("2.839058838", "L")
	f.gives(t, again, want)
	f.refuses(t, line("stock receive --order 12"), "all of order 12 has come")
	// More than was ordered, and what was not: the line of the product is fulfilled.
	more := &materialsv1.DeliveryLine{Product: "products/k", Cost: usd(20_00), Amount: &materialsv1.DeliveryLine_Quantity{Quantity: amount("1", "L")}, OrderLine: "purchaseOrders/0a/lines/1"}
	other := &materialsv1.DeliveryLine{Product: "products/t", Cost: usd(9_00), Amount: &materialsv1.DeliveryLine_Quantity{Quantity: amount("1", "L")}}
	f.gives(t, line("stock receive --order 12 --line 'Clear coat: 1L = 20' --line 'Thinner: 1L = 9'"), &materialsv1.ReceiveDeliveryRequest{Supplier: "Acme", Lines: []*materialsv1.DeliveryLine{more, other}})
	f.shelf.orders[0].Lines[0].Received, f.shelf.orders[0].Lines[0].Price = nil, nil
	f.refuses(t, line("stock receive --order 12"), "nobody knows what Clear coat of order 12 costs")
}

func TestOrders(t *testing.T) {
	t.Parallel()
	f := stocked(t)
	f.shelf.proposals = []*materialsv1.OrderProposal{{Supplier: "suppliers/a", SupplierName: "Acme", Total: usd(39_00), OrderByDate: &date.Date{Year: 2026, Month: 3, Day: 3},
		Lines: []*materialsv1.OrderProposal_Line{{ProductName: "Clear coat", PackageLabel: "quart can", Packages: 2, Price: usd(19_50), Cost: usd(39_00), Why: "sand (case) would lack 0.2 L on 6 Mar."}}}}
	f.says(t, line("stock orders propose"), "Acme, by 2026-03-03, 39.00 in all. Place it with: shop stock orders place \"Acme\"\n", "– Clear coat 2 quart can 19.50 39.00 sand (case) would lack 0.2 L on 6 Mar.\n")
	f.asksFor(t, line("stock orders propose acme"), &materialsv1.ProposeOrdersRequest{Supplier: "suppliers/a"})
	typed := &materialsv1.PlaceOrderRequest{Supplier: "suppliers/a", ExpectDate: &date.Date{Year: 2026, Month: 3, Day: 9}, Note: "by phone", OrderTime: middayPlus(0),
		Lines: []*materialsv1.PlaceOrderRequest_Line{{Product: "products/k", PackageLabel: "quart can", Packages: 2}, {Product: "products/t", PackageLabel: "gallon", Packages: 1, Price: usd(21_50)}}}
	f.gives(t, line("stock orders place Acme 'Clear coat: 2 x quart can' 'thinner: 1 x gallon = 21.50' --expected 2026-03-09 --note 'by phone' --at '2026-03-02 12:00'"), typed)
	f.refuses(t, line("stock orders place Acme"), "nothing is proposed of Acme now")
	f.refuses(t, line("stock orders place Acme 'Thinner: 5L'"), "what is ordered comes in packages")
	f.refuses(t, line("stock orders place Acme 'Thinner: 1 x can; place b'"), "what is ordered comes in packages")
	f.refuses(t, line("stock orders place Bolt 'Thinner: 1 x can'"), `no supplier is called "Bolt"; there are: Acme`)
	f.says(t, line("stock orders"), "12 Acme part received 2026-03-02 12:00:00 CST 2026-03-06 1 58.50\n")
	f.asksFor(t, line("stock orders list --open --product 'Clear coat'"), &materialsv1.ListOrdersRequest{OnlyOpen: true, Product: "products/k", PageSize: 1000})
	f.says(t, line("stock orders show 12"), "Clear coat 3 quart can 19.50 58.50 2.8391 L 0.9464 L 2026-03-02 13:00:00 CST\n")
	f.gives(t, line("stock orders close 12 --reason 'out of stock'"), &materialsv1.CloseOrderRequest{Name: "purchaseOrders/0a", Reason: "out of stock"})
	f.gives(t, line("stock orders cancel 0A --reason typo"), &materialsv1.CancelOrderRequest{Name: "purchaseOrders/0a", Reason: "typo"})
}

// What was proposed is ordered once: given again it is the same, although it is proposed no more.
func TestOrders_PlaceAProposalAgain(t *testing.T) {
	t.Parallel()
	f := stocked(t)
	f.shelf.proposals = []*materialsv1.OrderProposal{{SupplierName: "Acme", Lines: []*materialsv1.OrderProposal_Line{{ProductName: "Clear coat", PackageLabel: "quart can", Packages: 2, Price: usd(19_50)}}}}
	f.lost = context.DeadlineExceeded
	again := f.doubted(t, line("stock orders place Acme"), "the shop did not answer in time")
	f.healthy()
	f.says(t, again, "12 Acme part received")
	if diff := cmp.Diff(f.commands()[0], f.lastCommand(), protocmp.Transform()); diff != "" || len(f.doings()) != 1 {
		t.Errorf("the second time it is another request (-first +second):\n%s", diff)
	}
}
