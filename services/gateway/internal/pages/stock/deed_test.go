package stock_test

import (
	"net/http"
	"net/url"
	"regexp"
	"slices"
	"strings"
	"testing"

	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"

	"tackfree/pkg/fault"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
)

func kilos(v string) *typev1.Quantity { return &typev1.Quantity{Value: v, Unit: "kg"} }

// sentAs is the last command without the id it was sent under.
func (s *shelf) sentAs() proto.Message {
	m := proto.Clone(s.last())
	fields := m.ProtoReflect().Descriptor().Fields()
	m.ProtoReflect().Clear(fields.ByName(protoreflect.Name("request_id")))
	return m
}

// Each form sends what was typed into it, and nothing else.
func TestDeeds(t *testing.T) {
	const lot = "products/oil/lots/2"
	cases := []struct {
		path string
		form url.Values
		want proto.Message
	}{
		{"/stock/oil/open", url.Values{"lot": {lot}, "package": {"four-litre can"}, "packages": {""}}, &materialsv1.OpenPackageRequest{Lot: lot,
			Amount: &materialsv1.OpenPackageRequest_Packages{Packages: &materialsv1.ReceiveStockRequest_Packages{Label: "four-litre can", Count: 1}}}},
		{"/stock/oil/open", url.Values{"lot": {lot}, "package": {""}, "amount": {"0,5"}, "unit": {"L"}}, &materialsv1.OpenPackageRequest{Lot: lot, Amount: &materialsv1.OpenPackageRequest_Quantity{Quantity: litres("0.5")}}},
		{"/stock/oil/open", url.Values{"lot": {lot}}, &materialsv1.OpenPackageRequest{Lot: lot}},
		{"/stock/oil/put", url.Values{"lot": {lot}, "place": {"places/shelf-2"}}, &materialsv1.MoveLotRequest{Lot: lot, Place: "places/shelf-2"}},
		{"/stock/oil/waste", url.Values{"cause": {"hose"}, "amount": {"0.1"}, "unit": {"L"}, "stage": {"pieces/p/stages/s"}, "note": {"long hose"}}, &materialsv1.RecordWasteRequest{Product: "products/oil",
			Quantity: litres("0.1"), Cause: materialsv1.WasteCause_WASTE_CAUSE_HOSE, Stage: "pieces/p/stages/s", Note: "long hose"}},
		{"/stock/oil/aside", url.Values{"lot": {lot}, "reason": {"skinned over"}}, &materialsv1.CloseLotRequest{Lot: lot, Reason: "skinned over"}},
		{"/stock/oil/cost", url.Values{"lot": {lot}, "cost": {"41"}, "reason": {"the bill"}}, &materialsv1.CorrectLotCostRequest{Lot: lot, Cost: euros(41), Reason: "the bill"}},
		{"/stock/oil/undo", url.Values{"entry": {"products/oil/entries/1"}, "reason": {"the other can"}}, &materialsv1.UndoEntryRequest{Entry: "products/oil/entries/1", Reason: "the other can"}},
		{"/stock/oil/mix", url.Values{"by": {"recipes/1"}, "amount": {"2"}, "unit": {"L"}}, &materialsv1.MakeMixRequest{By: &materialsv1.MakeMixRequest_Recipe{Recipe: "recipes/1"}, Quantity: litres("2")}},
		{"/stock/oil/mix", url.Values{"by": {"mixes/3"}, "amount": {"2"}, "yield": {"1.9"}, "unit": {"L"}}, &materialsv1.MakeMixRequest{By: &materialsv1.MakeMixRequest_Like{Like: "mixes/3"}, Quantity: litres("2"), Yield: litres("1.9")}},
		{"/stock/oil/unmix", url.Values{"mix": {"mixes/3"}, "reason": {"slip"}}, &materialsv1.UndoMixRequest{Name: "mixes/3", Reason: "slip"}},
		{"/stock/oil/offer", url.Values{"supplier": {"suppliers/1"}, "package": {"four-litre can"}, "from.1": {"1"}, "price.1": {"24"}, "from.2": {"6"}, "price.2": {"21"}, "days": {"0"}}, &materialsv1.SetOfferRequest{
			Supplier: "suppliers/1", Product: "products/oil", PackageLabel: "four-litre can", LeadDays: new(int32), PriceBreaks: []*materialsv1.PriceBreak{{FromPackages: 1, Price: euros(24)}, {FromPackages: 6, Price: euros(21)}}}},
		{"/stock/oil/unoffer", url.Values{"offer": {"suppliers/1 four-litre can"}}, &materialsv1.RemoveOfferRequest{Supplier: "suppliers/1", Product: "products/oil", PackageLabel: "four-litre can"}},
		{"/stock/suppliers", url.Values{"name": {"Osk"}, "days": {"3"}}, &materialsv1.AddSupplierRequest{DisplayName: "Osk", LeadDays: 3}},
		{"/stock/suppliers", url.Values{"supplier": {"suppliers/1"}, "etag": {"2"}, "name": {"Osk"}, "days": {"3"}, "retired": {"yes"}}, &materialsv1.ChangeSupplierRequest{Supplier: "suppliers/1", DisplayName: "Osk", LeadDays: 3, Retired: true, Etag: "2"}},
		{"/stock/places", url.Values{"word": {"shelf-9"}, "name": {"Ninth"}, "kind": {"open"}}, &materialsv1.SavePlaceRequest{Place: &materialsv1.Place{Name: "places/shelf-9", DisplayName: "Ninth", Kind: materialsv1.Place_KIND_OPEN}}},
		{"/stock/places", url.Values{"place": {"places/shelf-2"}, "name": {"Second"}, "kind": {"cabinet"}, "area": {"east"}, "etag": {"1"}}, &materialsv1.SavePlaceRequest{Place: &materialsv1.Place{Name: "places/shelf-2",
			DisplayName: "Second", Kind: materialsv1.Place_KIND_CABINET, FireArea: "east", Etag: "1"}}},
		{"/stock/policy", url.Values{"level": {"95"}, "looks": {"2"}, "cost": {"6"}, "holding": {"25"}, "etag": {"3"}}, &materialsv1.SetRestockPolicyRequest{ServiceLevel: 0.95, DaysBetweenLooks: 2, OrderCost: euros(6), HoldingShare: 0.25, Etag: "3"}},
		{"/stock/counting", url.Values{"method": {"average"}, "etag": {"7"}}, &materialsv1.SetStockPolicyRequest{CostMethod: materialsv1.CostMethod_COST_METHOD_MOVING_AVERAGE, Etag: "7"}},
		{"/stock/keeping/undo", url.Values{"check": {"oilyWasteChecks/1"}, "reason": {"one can was forgotten"}}, &materialsv1.WithdrawOilyWasteCheckRequest{Name: "oilyWasteChecks/1", Reason: "one can was forgotten"}},
		{"/stock/keeping/served", url.Values{"machine": {"equipment/1"}, "by": {"Bao"}, "note": {"new needle"}}, &materialsv1.RecordServiceRequest{Equipment: "equipment/1", ServicedBy: "Bao", Note: "new needle"}},
		{"/stock/sources", url.Values{"name": {"Wax"}, "unit": {"kg"}, "label": {"tin"}, "amount": {"0,5"}}, &materialsv1.AddProductRequest{DisplayName: "Wax", Unit: "kg", Packages: []*materialsv1.Package{{Label: "tin", Content: kilos("0.5")}}}},
	}
	for _, c := range cases {
		s := stocked()
		r := pages(t, s)
		if status, body := r.post(c.path, c.form); status != http.StatusSeeOther {
			t.Errorf("%s %v: %d\n%s", c.path, c.form, status, body)
		} else if got := s.sentAs(); !proto.Equal(got, c.want) {
			t.Errorf("%s sent %v\nwant %v", c.path, got, c.want)
		}
	}
}

// unfolded finds forms that are open.
var unfolded = regexp.MustCompile(`(?s)<details[^>]* open>.*?</details>`)

// What is refused is shown again in the form that it was typed into, which is open.
func TestDeeds_Refused(t *testing.T) {
	s := stocked()
	s.recipes = []*materialsv1.Recipe{{Name: "recipes/1", DisplayName: "Oak tint", Makes: "products/oil"}, {Name: "recipes/2", DisplayName: "Of another", Makes: "products/other"}}
	r := pages(t, s)
	no := fault.New(fault.Precondition, "ANY", "Because it is so.")
	for method, c := range map[string]struct {
		path string
		form url.Values
	}{
		"RecordWaste": {"/stock/oil/waste", url.Values{"amount": {"7.25"}, "unit": {"L"}, "cause": {"spilt"}}}, "MoveLot": {"/stock/oil/put", url.Values{"amount": {"7.25"}}},
		"SetOffer": {"/stock/oil/offer", url.Values{"from.1": {"1"}, "price.1": {"7.25"}}}, "MakeMix": {"/stock/oil/mix", url.Values{"by": {"recipes/1"}, "amount": {"7.25"}}},
		"RenameProduct": {"/stock/oil/rename", url.Values{"was": {"Hard <b>wood</b> oil"}, "name": {"7.25"}}}, "CorrectLotCost": {"/stock/oil/cost", url.Values{"cost": {"7.25"}}},
		"SetPackages": {"/stock/oil/packages", url.Values{"was": {"four-litre can: 4 L"}, "label": {"keg"}, "amount": {"7.25"}, "unit": {"L"}}},
		"AddSupplier": {"/stock/suppliers", url.Values{"name": {"7.25"}, "days": {"1"}}}, "SavePlace": {"/stock/places", url.Values{"word": {"7.25"}}}, "AddProduct": {"/stock/sources", url.Values{"name": {"7.25"}}},
		"SetRestockPolicy": {"/stock/policy", url.Values{"looks": {"7.25"}}},
	} {
		s.refusing[method] = no
		status, body := r.post(c.path, c.form)
		if status != http.StatusUnprocessableEntity {
			t.Errorf("%s: %d, want 422", c.path, status)
		}
		r.sees(body, "Because it is so.", `value="7.25"`)
		if !slices.ContainsFunc(unfolded.FindAllString(body, -1), func(form string) bool { return strings.Contains(form, `value="7.25"`) }) {
			t.Errorf("%s: the form that was refused is not open", c.path)
		}
		delete(s.refusing, method)
	}
	body := r.get("/stock/oil")
	r.sees(body, "Oak tint", "as mix 3 of")
	for _, not := range []string{"Of another", "as mix 4 of"} {
		if strings.Contains(body, not) {
			t.Errorf("the page offers %q", not)
		}
	}
}

// What must be said is asked for before anything is sent.
func TestDeeds_SayingTooLittle(t *testing.T) {
	s := stocked()
	r := pages(t, s)
	for path, want := range map[string]string{"/stock/oil/waste": "Say how much was lost.", "/stock/oil/cost": "Say what it cost", "/stock/oil/offer": "Say what one costs.", "/stock/oil/mix": "Say how much was mixed."} {
		status, body := r.post(path, url.Values{"cause": {"spilt"}})
		if status != http.StatusBadRequest {
			t.Errorf("%s: %d, want 400", path, status)
		}
		r.sees(body, want)
	}
	status, body := r.post("/stock/oil/packages", url.Values{"label": {"keg"}, "amount": {""}, "unit": {"L"}})
	if status != http.StatusBadRequest {
		t.Errorf("packages: %d, want 400", status)
	}
	r.sees(body, "Say how much is in each package.", `value="keg"`)
}

// Of two who say in what it is sold, the second sees what the first said, and nothing is lost.
func TestPackages_TwoOwners(t *testing.T) {
	s := stocked()
	r := pages(t, s)
	was := url.Values{"was": {"four-litre can: 4 L"}, "label": {"four-litre can", "keg", ""}, "amount": {"4", "25", ""}, "unit": {"L", "L", "L"}}
	if status, body := r.post("/stock/oil/packages", was); status != http.StatusSeeOther {
		t.Fatalf("the first: %d\n%s", status, body)
	}
	was["label"], was["amount"] = []string{"tin"}, []string{"1"}
	status, body := r.post("/stock/oil/packages", was)
	if status != http.StatusConflict {
		t.Fatalf("the second: %d, want 409", status)
	}
	r.sees(body, "<div>keg: 25 L</div>", "<div>tin: 1 L</div>", `name="was" value="keg: 25 L"`, `name="label" maxlength="60" value="tin"`)
	if got := s.read().Packages; len(got) != 2 {
		t.Errorf("the packages are %v", got)
	}
}

// The page of suppliers and places shows shares as people say them, and changes nothing by itself.
func TestSources(t *testing.T) {
	r := pages(t, stocked())
	r.sees(r.get("/stock/sources"), "Vatman &amp; Co", "Second shelf", "Nothing runs out 29 times in a hundred", `name="level" inputmode="decimal" maxlength="8" required value="29"`, "costs what came in first cost", `value="6.00"`)
	r.role = "lead"
	body := r.get("/stock/sources")
	for _, not := range []string{`action="/stock/policy"`, `action="/stock/counting"`} {
		if strings.Contains(body, not) {
			t.Errorf("a lead is offered %s", not)
		}
	}
}

// A machine that is due says so, to whoever runs it too; without machines the rest of the page is there.
func TestMachines(t *testing.T) {
	s := stocked()
	r := pages(t, s)
	r.role = "helper"
	r.sees(r.get("/stock/keeping"), "Turbine", "service due", "ran 51:00 h since its service. Due every 50 h.", "no service is noted", `action="/stock/keeping/served"`)
	s.refusing["ListEquipment"] = fault.New(fault.Unavailable, "AWAY", "It is away.")
	r.sees(r.get("/stock/keeping"), "This cannot be read at the moment", "Flammable liquids")
}
