package server_test

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"google.golang.org/genproto/googleapis/type/date"
	"google.golang.org/protobuf/testing/protocmp"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
)

func policyOf(etag string) *materialsv1.SetRestockPolicyRequest {
	return &materialsv1.SetRestockPolicyRequest{RequestId: svctest.NewID(), ServiceLevel: 0.99, DaysBetweenLooks: 7, OrderCost: dollars(12_50), HoldingShare: 0.3, Etag: etag}
}

// What is usual is said until somebody chooses.
func TestServer_SetRestockPolicy(t *testing.T) {
	b := buying(t, 0)
	read := func() *materialsv1.RestockPolicy {
		r, err := b.GetRestockPolicy(t.Context(), &materialsv1.GetRestockPolicyRequest{})
		if err != nil {
			t.Fatal(err)
		}
		return r.Policy
	}
	usual := &materialsv1.RestockPolicy{ServiceLevel: 0.95, DaysBetweenLooks: 1, OrderCost: dollars(8_00), HoldingShare: 0.25, Etag: `"1"`}
	if diff := cmp.Diff(usual, read(), protocmp.Transform()); diff != "" {
		t.Errorf("at first (-want +got):\n%s", diff)
	}
	r, err := b.SetRestockPolicy(svctest.Ctx(t), policyOf(`"1"`))
	if err != nil {
		t.Fatal(err)
	}
	want := &materialsv1.RestockPolicy{ServiceLevel: 0.99, DaysBetweenLooks: 7, OrderCost: dollars(12_50), HoldingShare: 0.3, Etag: `"2"`}
	for _, got := range []*materialsv1.RestockPolicy{r.Policy, read()} {
		if diff := cmp.Diff(want, got, protocmp.Transform()); diff != "" {
			t.Errorf("chosen (-want +got):\n%s", diff)
		}
	}
	refusedWith(t, svctest.Refused(t, b.Service, b.SetRestockPolicy, policyOf(`"1"`), fault.Conflict, "ETAG_MISMATCH"), "etag")
}

func TestServer_SetRestockPolicy_Refuses(t *testing.T) {
	b := buying(t, 0)
	for field, change := range map[string]func(*materialsv1.SetRestockPolicyRequest){
		"service_level":      func(r *materialsv1.SetRestockPolicyRequest) { r.ServiceLevel = 0.4 },
		"days_between_looks": func(r *materialsv1.SetRestockPolicyRequest) { r.DaysBetweenLooks = 0 },
		"holding_share":      func(r *materialsv1.SetRestockPolicyRequest) { r.HoldingShare = 0 },
	} {
		r := policyOf("")
		change(r)
		refusedWith(t, svctest.Refused(t, b.Service, b.SetRestockPolicy, r, fault.Invalid, "OUT_OF_RANGE"), field)
	}
	r := policyOf("")
	r.OrderCost.CurrencyCode = "EUR"
	refusedWith(t, svctest.Refused(t, b.Service, b.SetRestockPolicy, r, fault.Invalid, "CURRENCY_NOT_THE_SHOPS"), "order_cost")
}

func refusedWith(t *testing.T, f *fault.Fault, field string) {
	t.Helper()
	if len(f.Fields) != 1 || f.Fields[0].Path != field {
		t.Errorf("%s is at %v, want %s", f.Reason, f.Fields, field)
	}
}

// Half a litre is on hand and 600 mL are wanted in two days, of what is sold by 250 mL: everything
// is in litres, as the product is counted.
func TestServer_ListRestockAdvice_InTheUnitOfTheProduct(t *testing.T) {
	b := buying(t, 0)
	dye := b.product("Walnut dye", "0.5")
	store := b.supplier("Hardware store", 1)
	b.offers(store, dye, "250 mL bottle", "0.25", 12_00)
	stage := b.needs(dye, "0.6", 2)
	got := b.advice(dye)
	want := &materialsv1.RestockAdvice{
		Product: id.Name("products", dye), ProductName: "Walnut dye", OnHand: litresOf("0.5"), Reserved: litresOf("0.6"), OnOrder: litresOf("0"),
		DaysOfCover: 2, UseADay: litresOf("0"), LeadDays: 1, LeadDaysDeviation: 0.25, OrderNow: true, OrderByDate: &date.Date{Year: 2026, Month: 3, Day: 2},
		Halt: &materialsv1.RestockAdvice_Halt{Stage: stage, Title: "Topcoat of the dresser", Piece: strings.SplitAfter(stage, "/stages")[0][:len("pieces/")+36],
			Date: &date.Date{Year: 2026, Month: 3, Day: 4}, Lacks: litresOf("0.1")},
		Purchase: &materialsv1.RestockAdvice_Purchase{Supplier: id.Name("suppliers", store), SupplierName: "Hardware store", PackageLabel: "250 mL bottle", Packages: 1,
			Price: dollars(12_00), Cost: dollars(12_00), Quantity: litresOf("0.25")},
		Why: "0.5 L on hand, 0.6 L reserved up to 4 Mar, 0 L on order; about 0 L a day is used beside plans and a delivery takes about 1 day: Topcoat of the dresser would lack 0.1 L on 4 Mar.",
	}
	if diff := cmp.Diff(want, got, protocmp.Transform()); diff != "" {
		t.Errorf("ListRestockAdvice (-want +got):\n%s", diff)
	}
}

// What presses comes first; the rest is left out if asked.
func TestServer_ListRestockAdvice_ByUrgency(t *testing.T) {
	b := buying(t, 0)
	store := b.supplier("Hardware store", 3)
	for name, days := range map[string]int{"Stain": 20, "Varnish": 2, "Lacquer": 9} {
		p := b.product(name, "1")
		b.offers(store, p, "gallon", "3.785411784", 45_00)
		b.needs(p, "2", days)
	}
	b.product("Wax", "1")
	for only, want := range map[bool]string{false: "Varnish, Lacquer, Stain, Wax", true: "Varnish, Lacquer, Stain"} {
		r, err := b.ListRestockAdvice(t.Context(), &materialsv1.ListRestockAdviceRequest{OnlyPressing: only})
		if err != nil {
			t.Fatal(err)
		}
		var got []string
		for _, a := range r.Advice {
			got = append(got, a.ProductName)
		}
		if strings.Join(got, ", ") != want {
			t.Errorf("pressing %v: %v, want %s", only, got, want)
		}
	}
	if _, err := b.ListRestockAdvice(t.Context(), &materialsv1.ListRestockAdviceRequest{Product: id.Name("products", id.New())}); !fault.Is(err, "PRODUCT_NOT_FOUND") {
		t.Errorf("of a product that is not there = %v", err)
	}
}

// recipe says that a product is mixed of two others, half and half.
func (b *buyer) recipe(makes, one, other id.ID) id.ID {
	b.t.Helper()
	recipe := id.New()
	b.exec(`INSERT INTO recipe (id, display_name, name_key, makes_id, keeps_minutes, note, version) VALUES ($1, 'Honey', 'honey', $2, 0, '', 1)`, recipe, makes)
	b.exec(`INSERT INTO recipe_part (recipe_id, number, product_id, parts, to_each) VALUES ($1, 0, $2, 1, 0), ($1, 1, $3, 1, 0)`, recipe, one, other)
	return recipe
}

// What is mixed in the shop is mixed and not ordered; asked of a part alone, what stages need of
// the mix is known all the same.
func TestServer_ListRestockAdvice_Mixes(t *testing.T) {
	b := buying(t, 0)
	toner, lacquer, dye := b.product("Toner", "0.5"), b.product("Lacquer", "0.5"), b.product("Dye", "9")
	recipe := b.recipe(toner, lacquer, dye)
	b.offers(b.supplier("Hardware store", 1), lacquer, "gallon", "3.785411784", 45_00)
	b.needs(toner, "3.5", 1)
	if got := b.advice(lacquer); got.Halt == nil || got.Halt.Title != "Topcoat of the dresser, with Toner" || got.Reserved.Value != "1.5" || !got.OrderNow || got.Mixing != nil {
		t.Errorf("lacquer: %v", got)
	}
	got := b.advice(toner)
	want := &materialsv1.RestockAdvice_Mixing{Recipe: id.Name("recipes", recipe), RecipeName: "Honey", Quantity: litresOf("3"), ByDate: &date.Date{Year: 2026, Month: 3, Day: 2}}
	if diff := cmp.Diff(want, got.Mixing, protocmp.Transform()); diff != "" || got.OrderNow || got.OrderByDate != nil || got.Halt != nil {
		t.Errorf("toner: %v\n%s", got, diff)
	}
	if why := "0.5 L on hand, 3.5 L reserved up to 3 Mar, 0 L on order; about 0 L a day is used beside plans and it is mixed by recipe Honey: there is too little for what is next."; got.Why != why {
		t.Errorf("Why = %q, want %q", got.Why, why)
	}
}
