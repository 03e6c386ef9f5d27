package stock_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"google.golang.org/genproto/googleapis/type/date"
	moneyv1 "google.golang.org/genproto/googleapis/type/money"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
)

func litres(v string) *typev1.Quantity { return &typev1.Quantity{Value: v, Unit: "L"} }

func euros(units int64) *moneyv1.Money { return &moneyv1.Money{CurrencyCode: "EUR", Units: units} }

// stocked is a shelf of one oil, of which too little is there.
func stocked() *shelf {
	return &shelf{version: 7, product: &materialsv1.Product{Name: "products/oil", DisplayName: "Hard <b>wood</b> oil", Unit: "L", OnHand: litres("2"), Value: euros(40),
		Packages: []*materialsv1.Package{{Label: "four-litre can", Content: litres("4")}}, Details: &typev1.ProductDetails{Colour: "oat", Category: "topcoat"}},
		advice: []*materialsv1.RestockAdvice{{Product: "products/oil", ProductName: "Hard wood oil", OnHand: litres("1.5"), Reserved: litres("3"), OnOrder: litres("4"), UseADay: litres("0.1"),
			DaysOfCover: 4, LeadDays: 3.2, LeadDaysDeviation: 0.8, OrderNow: true, OrderByDate: &date.Date{Year: 2026, Month: 3, Day: 19},
			Halt:     &materialsv1.RestockAdvice_Halt{Piece: "pieces/p", Title: "oil coat (top)", Date: &date.Date{Year: 2026, Month: 3, Day: 22}, Lacks: litres("1.5")},
			Purchase: &materialsv1.RestockAdvice_Purchase{SupplierName: "Vatman & Co", PackageLabel: "four-litre can", Packages: 2}}},
		wanted: []*materialsv1.Need{{StageTitle: "oil coat (top)", Reserved: litres("3"), WantedTime: timestamppb.New(noon.AddDate(0, 0, 4))}},
		orders: []*materialsv1.Order{{Name: "purchaseOrders/9", Number: 9, SupplierName: "Vatman & Co", ExpectDate: &date.Date{Year: 2026, Month: 3, Day: 24}, Lines: []*materialsv1.Order_Line{{Name: "purchaseOrders/9/lines/1", Product: "products/oil", Packages: 1, PackageLabel: "four-litre can", Ordered: litres("4"), Received: litres("0")}}}},
		moves:  []*materialsv1.Movement{{Name: "products/oil/entries/1", ProductName: "Hard wood oil", Purpose: "opening", Time: timestamppb.New(noon.AddDate(0, 0, -3)), Parts: []*materialsv1.Movement_Part{{Lot: "products/oil/lots/2", Quantity: litres("1")}}}},
		lots:   []*materialsv1.Lot{{Name: "products/oil/lots/2", Left: litres("0.5"), Received: litres("1"), Open: true, ExpireTime: timestamppb.New(noon.AddDate(0, 0, -1))}},
		propose: []*materialsv1.OrderProposal{{Supplier: "suppliers/1", SupplierName: "Vatman & Co", Total: euros(48), Lines: []*materialsv1.OrderProposal_Line{
			{Product: "products/oil", ProductName: "Hard wood oil", PackageLabel: "four-litre can", Packages: 2, Price: euros(24), Cost: euros(48)}}}},
		flames: &materialsv1.GetFlammablesResponse{Areas: []*materialsv1.Flammables{{Categories: []*materialsv1.Flammables_Category{{Category: 3, Quantity: litres("500")}},
			Limits: []*materialsv1.Flammables_Limit{{Of: "categories 2 to 4", Held: litres("500"), Limit: litres("454.24941408"), Over: true, Source: "29 CFR 1910.106(e)"}}}}},
		refusing: map[string]error{}}
}

func TestShelf_SaysWhatStandsStill(t *testing.T) {
	r := pages(t, stocked())
	r.sees(r.get("/stock"), "Hard &lt;b&gt;wood&lt;/b&gt; oil", "1.5 L on hand · 3 L reserved · 1.5 L too little · 4 L on order", "a stage stands still", "order now",
		"Lacks 1.5 L on 22 Mar 2026 for", `href="/pieces/412"`, "oil coat (top)", "Order 2 × four-litre can from Vatman &amp; Co by 19 Mar 2026.", "Lasts 4 days.",
		"Reckoned on 3 L reserved by plans and 100 mL a day", "A delivery takes about 3 days, give or take 1.", "500 mL is too old or set aside", "opened 15 Mar 2026", "too old")
}

func TestShelf_InAnotherLanguage(t *testing.T) {
	r := pages(t, stocked())
	r.lang = "es"
	r.sees(r.get("/stock"), "1,5 L disponibles · 3 L reservados · faltan 1,5 L", "se para una etapa", "Pide 2 × four-litre can a Vatman &amp; Co antes del 19 mar 2026.")
	r.sees(r.get("/stock/oil"), "1,20 veces la ficha (1,00 a 1,40)")
	r.sees(r.get("/stock/orders"), "Pedido 9, Vatman &amp; Co")
	r.sees(r.get("/stock/keeping"), "por encima del límite", "Líquidos inflamables")
}

// A band that this reader may not see, or whose service is away, says so; the rest is there.
func TestShelf_WithoutABand(t *testing.T) {
	s := stocked()
	denied := fault.New(fault.Denied, "NOT_YOURS", "No.")
	for _, method := range []string{"ListRestockAdvice", "ListAlerts", "ListMovements", "ListOrders", "ListOffers"} {
		s.refusing[method] = denied
	}
	r := pages(t, s)
	r.role = "helper"
	body := r.get("/stock")
	r.sees(body, "2 L on hand", "ask the lead or the owner")
	body = r.get("/stock/oil")
	r.sees(body, "2 L on hand", "I counted")
	for _, not := range []string{"Note that it came", "What it is", "/stock/orders\""} {
		if strings.Contains(body, not) {
			t.Errorf("a helper is offered %q", not)
		}
	}
	s.refusing["ListRestockAdvice"] = fault.New(fault.Internal, "INTERNAL", "Broken.")
	if status, _ := r.do(http.MethodGet, "/stock", nil); status != http.StatusInternalServerError {
		t.Errorf("a fault of ours gives %d, want 500", status)
	}
}

func TestKeeping(t *testing.T) {
	s := stocked()
	r := pages(t, s)
	body := r.get("/stock/keeping?month=2026-02")
	r.sees(body, "In the open, whole building", "111 % of the limit", "over the limit", "29 CFR 1910.106", "2.50 kg", "Feb 2026", "month=2026-01", "month=2026-03", "not put away yet",
		"&lt;script&gt;alert(1)&lt;/script&gt;", "The sum leaves out liquids")
	if strings.Contains(body, "<script>alert") {
		t.Error("a note runs as a script")
	}
	if status, _ := r.post("/stock/keeping/oily", url.Values{"way": {"metal_can"}, "note": {"behind the yard"}}); status != http.StatusSeeOther {
		t.Errorf("confirmed: %d, want 303", status)
	}
	if got, is := s.last().(*materialsv1.ConfirmOilyWasteRequest); !is || got.Way != materialsv1.OilyWasteWay_OILY_WASTE_WAY_METAL_CAN || got.Note != "behind the yard" || got.RequestId == "" {
		t.Errorf("sent %v", s.last())
	}
}

func TestOrders_Place(t *testing.T) {
	s := stocked()
	r := pages(t, s)
	r.sees(r.get("/stock/orders"), "Order 9, Vatman &amp; Co", `name="packages.oil/four-litre can" value="2"`, "48.00", "Nothing is sent to the supplier")
	form := url.Values{"supplier": {"suppliers/1"}, "line": {"oil/four-litre can"}, "packages.oil/four-litre can": {"3"}, "note": {"by phone"}, "expected": {"2026-03-25"}}
	if status, body := r.post("/stock/orders", form); status != http.StatusSeeOther {
		t.Fatalf("placed: %d\n%s", status, body)
	}
	got, is := s.last().(*materialsv1.PlaceOrderRequest)
	if !is || got.Supplier != "suppliers/1" || len(got.Lines) != 1 || got.Lines[0].Product != "products/oil" || got.Lines[0].Packages != 3 || got.ExpectDate.Day != 25 || got.Note != "by phone" {
		t.Errorf("sent %v", s.last())
	}
	for typed, want := range map[string]string{"0": "Nothing is in this order", "two": "is not a whole number"} {
		form.Set("packages.oil/four-litre can", typed)
		status, body := r.post("/stock/orders", form)
		if status != http.StatusBadRequest || s.last() == nil {
			t.Errorf("%s packages: %d, want 400", typed, status)
		}
		r.sees(body, want, `value="`+typed+`"`)
	}
}
