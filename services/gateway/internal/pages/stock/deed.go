package stock

import (
	"net/http"

	materialsv1 "tackfree/proto/tackfree/materials/v1"
	"tackfree/services/gateway/internal/typed"
	"tackfree/services/gateway/internal/web"
)

// deed answers a form about one product: give sends what was typed, said is what is said after it.
func deed(form, said string, give func(*web.Asked, *typed.Form) error) web.Handler {
	return func(w http.ResponseWriter, a *web.Asked) error {
		return changed(w, a, form, said, give(a, &typed.Form{Values: a.PostForm, Voice: a.Voice}))
	}
}

// openCan opens so many packages of a lot, or so much of it; all of it where neither is said.
func openCan(a *web.Asked, f *typed.Form) error {
	r := &materialsv1.OpenPackageRequest{RequestId: a.RequestID(), Lot: f.Text("lot")}
	if label := f.Text("package"); label != "" {
		r.Amount = &materialsv1.OpenPackageRequest_Packages{Packages: &materialsv1.ReceiveStockRequest_Packages{Label: label, Count: max(f.Whole("packages"), 1)}}
	} else if some := f.Quantity("amount", "unit"); some != nil {
		r.Amount = &materialsv1.OpenPackageRequest_Quantity{Quantity: some}
	}
	if err := f.Err(); err != nil {
		return err
	}
	_, err := a.Kit.Suite.Stock.OpenPackage(a.Context(), r)
	return err
}

func moveLot(a *web.Asked, f *typed.Form) error {
	r := &materialsv1.MoveLotRequest{RequestId: a.RequestID(), Lot: f.Text("lot"), Quantity: f.Quantity("amount", "unit"), Place: f.Text("place")}
	if err := f.Err(); err != nil {
		return err
	}
	_, err := a.Kit.Suite.Stock.MoveLot(a.Context(), r)
	return err
}

// causes are why material may be thrown away, in the order of the form.
var causes = []string{"gun_cleaning", "hose", "left_over", "expired", "spoilt", "spilt"}

var causeOf = map[string]materialsv1.WasteCause{
	"gun_cleaning": materialsv1.WasteCause_WASTE_CAUSE_GUN_CLEANING, "hose": materialsv1.WasteCause_WASTE_CAUSE_HOSE,
	"left_over": materialsv1.WasteCause_WASTE_CAUSE_LEFT_OVER, "expired": materialsv1.WasteCause_WASTE_CAUSE_EXPIRED,
	"spoilt": materialsv1.WasteCause_WASTE_CAUSE_SPOILT, "spilt": materialsv1.WasteCause_WASTE_CAUSE_SPILT,
}

func throwAway(a *web.Asked, f *typed.Form) error {
	r := &materialsv1.RecordWasteRequest{RequestId: a.RequestID(), Product: "products/" + a.PathValue("id"), Quantity: f.Quantity("amount", "unit"),
		Cause: causeOf[f.Text("cause")], Lot: f.Text("lot"), Stage: f.Text("stage"), Note: f.Text("note")}
	if err := f.Err(); err != nil {
		return err
	}
	if r.Quantity == nil {
		return missing(a, "QUANTITY_MISSING", "product.waste.missing")
	}
	_, err := a.Kit.Suite.Stock.RecordWaste(a.Context(), r)
	return err
}

func setAside(a *web.Asked, f *typed.Form) error {
	_, err := a.Kit.Suite.Stock.CloseLot(a.Context(), &materialsv1.CloseLotRequest{RequestId: a.RequestID(), Lot: f.Text("lot"), Reason: f.Text("reason")})
	return err
}

// correctCost says what a lot really cost; what went out of it since is counted anew.
func correctCost(a *web.Asked, f *typed.Form) error {
	cost := f.Money("cost")
	if err := f.Err(); err != nil {
		return err
	}
	if cost == nil {
		return missing(a, "COST_MISSING", "product.receive.cost.missing")
	}
	_, err := a.Kit.Suite.Stock.CorrectLotCost(a.Context(), &materialsv1.CorrectLotCostRequest{RequestId: a.RequestID(), Lot: f.Text("lot"), Cost: cost, Reason: f.Text("reason")})
	return err
}

// undo says that an entry was a slip.
func undo(a *web.Asked, f *typed.Form) error {
	_, err := a.Kit.Suite.Stock.UndoEntry(a.Context(), &materialsv1.UndoEntryRequest{RequestId: a.RequestID(), Entry: f.Text("entry"), Reason: f.Text("reason")})
	return err
}
