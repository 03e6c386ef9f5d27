package stock

import (
	"net/http"
	"strings"

	"github.com/shopspring/decimal"
	moneyv1 "google.golang.org/genproto/googleapis/type/money"

	"tackfree/pkg/fault"
	"tackfree/pkg/wire"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	"tackfree/services/gateway/internal/typed"
	"tackfree/services/gateway/internal/web"
	"tackfree/services/gateway/internal/words"
)

// missing is that a field has to say something, in a sentence of the catalogue.
func missing(a *web.Asked, reason, key string) error {
	return fault.New(fault.Invalid, reason, "%s", a.Voice.T(key))
}

// saveSupplier adds a supplier, or writes one anew that the form names.
func saveSupplier(w http.ResponseWriter, a *web.Asked) error {
	f := &typed.Form{Values: a.PostForm, Voice: a.Voice}
	name, days := a.Typed("supplier"), f.Whole("days")
	err := f.Err()
	switch {
	case err != nil:
	case name == "":
		_, err = a.Kit.Suite.Suppliers.AddSupplier(a.Context(), &materialsv1.AddSupplierRequest{RequestId: a.RequestID(), DisplayName: a.Typed("name"), LeadDays: days, Note: a.Typed("note")})
	default:
		_, err = a.Kit.Suite.Suppliers.ChangeSupplier(a.Context(), &materialsv1.ChangeSupplierRequest{RequestId: a.RequestID(), Supplier: name, DisplayName: a.Typed("name"),
			LeadDays: days, Note: a.Typed("note"), Retired: a.Typed("retired") != "", Etag: a.Typed("etag")})
	}
	return sources(w, a, strings.TrimSpace("supplier "+name), "sources.supplier.kept", err)
}

// placeKinds are what a place can be, in the order of the form.
var placeKinds = []string{"open", "cabinet", "room", "outdoors"}

var placeKind = map[string]materialsv1.Place_Kind{"open": materialsv1.Place_KIND_OPEN, "cabinet": materialsv1.Place_KIND_CABINET, "room": materialsv1.Place_KIND_ROOM,
	"outdoors": materialsv1.Place_KIND_OUTDOORS}

// savePlace writes a place, or writes it anew. A new one is known by the word that somebody chose for its tag.
func savePlace(w http.ResponseWriter, a *web.Asked) error {
	name, form := a.Typed("place"), "place "+a.Typed("place")
	if name == "" {
		name, form = "places/"+a.Typed("word"), "place"
	}
	_, err := a.Kit.Suite.Storage.SavePlace(a.Context(), &materialsv1.SavePlaceRequest{RequestId: a.RequestID(), Place: &materialsv1.Place{Name: name, DisplayName: a.Typed("name"),
		Kind: placeKind[a.Typed("kind")], FireArea: a.Typed("area"), Retired: a.Typed("retired") != "", Etag: a.Typed("etag")}})
	return sources(w, a, form, "sources.place.kept", err)
}

// policy is how the shop buys, as a form has it: shares in percent.
type policy struct{ Level, Looks, Cost, Holding, Etag string }

func policyOf(v *words.Voice, p *materialsv1.RestockPolicy) policy {
	if p == nil {
		return policy{}
	}
	return policy{Level: percent(p.ServiceLevel), Looks: decimal.NewFromFloat(p.DaysBetweenLooks).String(), Cost: moneyTyped(v, p.OrderCost), Holding: percent(p.HoldingShare), Etag: p.Etag}
}

// percent writes a share by the hundred, without what a binary fraction adds to it.
func percent(share float64) string {
	return decimal.NewFromFloat(share).Mul(decimal.NewFromInt(100)).String()
}

// moneyTyped writes an amount as a form takes it.
func moneyTyped(v *words.Voice, m *moneyv1.Money) string {
	amount, whole := wire.FromMoney(m, v.Currency.Digits)
	if m == nil || !whole {
		return ""
	}
	return v.Currency.Format(amount)
}

// figure is a number of a form; nothing typed is 0, which the service refuses where it means nothing.
func figure(f *typed.Form, field string) float64 {
	if n := f.Number(field); n != nil {
		return *n
	}
	return 0
}

func savePolicy(w http.ResponseWriter, a *web.Asked) error {
	f := &typed.Form{Values: a.PostForm, Voice: a.Voice}
	r := &materialsv1.SetRestockPolicyRequest{RequestId: a.RequestID(), ServiceLevel: figure(f, "level") / 100, DaysBetweenLooks: figure(f, "looks"),
		OrderCost: f.Money("cost"), HoldingShare: figure(f, "holding") / 100, Etag: a.Typed("etag")}
	err := f.Err()
	if err == nil {
		_, err = a.Kit.Suite.Restock.SetRestockPolicy(a.Context(), r)
	}
	return sources(w, a, "policy", "sources.policy.kept", byTheHundred(a, err))
}

// methods are how what stock cost can be counted.
var methods = map[string]materialsv1.CostMethod{"fifo": materialsv1.CostMethod_COST_METHOD_FIRST_IN_FIRST_OUT, "average": materialsv1.CostMethod_COST_METHOD_MOVING_AVERAGE}

func saveCounting(w http.ResponseWriter, a *web.Asked) error {
	_, err := a.Kit.Suite.Stock.SetStockPolicy(a.Context(), &materialsv1.SetStockPolicyRequest{RequestId: a.RequestID(), CostMethod: methods[a.Typed("method")], Etag: a.Typed("etag")})
	return sources(w, a, "counting", "sources.counting.kept", err)
}
