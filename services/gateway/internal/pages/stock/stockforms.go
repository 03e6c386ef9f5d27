package stock

import (
	"net/http"
	"net/url"

	"tackfree/pkg/fault"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	"tackfree/services/gateway/internal/edits"
	"tackfree/services/gateway/internal/typed"
	"tackfree/services/gateway/internal/web"
)

// formsOf fills the page's forms. That of the details has what the product says now, or what somebody
// typed and thinks over.
func (p *onePage) formsOf(again refusedForm) forms {
	f := p.Forms
	f.ID, f.Product, f.Lots = idOf(p.Product.Name), p.Product, p.Lots
	f.Units, f.Open, f.Typed = typed.UnitsLike(p.Product.Unit), again.name, again.typed
	values := valuesOf(p.Product.Details)
	f.Was, f.WasMark = values.Encode(), markOf(p.Product)
	if again.name == "describe" {
		values = again.typed
		if again.was != nil {
			f.Was = again.was.Encode()
		}
	}
	f.Details, f.Cautions = shownDetails(values), shownCautions(values)
	f.Sides = sidesOf(again.sides)
	f.Packed, f.WasPacked = packedOf(p.Product, again), packageLines(p.Product.Packages)
	f.Offers, f.Breaks, f.Causes = p.Offers, breaks, causes
	f.Stages, f.Slips = stagesOf(p.History), slipsOf(p.Entries())
	return f
}

// stagesOf are the stages at which some of it was used lately, the last first.
func stagesOf(history []*materialsv1.Movement) (out []*materialsv1.Movement) {
	seen := map[string]bool{}
	for _, m := range history {
		if m.Stage != "" && !m.Undone && !seen[m.Stage] {
			seen[m.Stage] = true
			out = append(out, m)
		}
	}
	return out
}

// slipsOf are the entries that can be undone. What was issued is taken back on the page of its piece, and
// a mix is undone whole.
func slipsOf(all []entry) (out []entry) {
	for _, e := range all {
		switch e.Word {
		case "issue", "take_back", "mixing", "undo":
		default:
			if !e.Undone {
				out = append(out, e)
			}
		}
	}
	return out
}

// receive notes that something came in.
func receive(w http.ResponseWriter, a *web.Asked) error {
	f := &typed.Form{Values: a.PostForm, Voice: a.Voice}
	line := &materialsv1.DeliveryLine{Product: "products/" + a.PathValue("id"), Cost: f.Money("cost"), Place: a.Typed("place"), ExpireDate: f.Day("expires"),
		BatchCode: a.Typed("batch"), OrderLine: a.Typed("line")}
	if label := a.Typed("package"); label != "" {
		line.Amount = &materialsv1.DeliveryLine_Packages{Packages: &materialsv1.ReceiveStockRequest_Packages{Label: label, Count: f.Whole("packages")}}
	} else {
		line.Amount = &materialsv1.DeliveryLine_Quantity{Quantity: f.Quantity("amount", "unit")}
	}
	err := f.Err()
	if err == nil && line.Cost == nil {
		err = fault.New(fault.Invalid, "COST_MISSING", "%s", a.Voice.T("product.receive.cost.missing"))
	}
	if err == nil {
		_, err = a.Kit.Suite.Stock.ReceiveDelivery(a.Context(), &materialsv1.ReceiveDeliveryRequest{RequestId: a.RequestID(),
			Lines: []*materialsv1.DeliveryLine{line}, Freight: f.Money("freight"), Supplier: a.Typed("supplier")})
	}
	return changed(w, a, "receive", "product.received", err)
}

// count notes what was there when somebody counted.
func count(w http.ResponseWriter, a *web.Asked) error {
	f := &typed.Form{Values: a.PostForm, Voice: a.Voice}
	r := &materialsv1.CountStockRequest{RequestId: a.RequestID(), Product: "products/" + a.PathValue("id"), Lot: a.Typed("lot"), Quantity: f.Quantity("amount", "unit"), Reason: a.Typed("reason")}
	err := f.Err()
	if err == nil && r.Quantity == nil {
		err = fault.New(fault.Invalid, "QUANTITY_MISSING", "%s", a.Voice.T("product.count.missing"))
	}
	if err == nil {
		_, err = a.Kit.Suite.Stock.CountStock(a.Context(), r)
	}
	return changed(w, a, "count", "product.counted", err)
}

// markOf is a product's restock threshold as text; empty: it has none.
func markOf(p *materialsv1.Product) string {
	if p.RestockThreshold == nil {
		return ""
	}
	return p.RestockThreshold.Value + " " + p.RestockThreshold.Unit
}

// setThreshold says below what the product is low. Whoever sees that somebody else set it meanwhile decides anew.
func setThreshold(w http.ResponseWriter, a *web.Asked) error {
	f := &typed.Form{Values: a.PostForm, Voice: a.Voice}
	mark := f.Quantity("amount", "unit")
	if err := f.Err(); err != nil {
		return changed(w, a, "threshold", "", err)
	}
	was := url.Values{"threshold": {a.Typed("was")}}
	return unlessChanged(w, a, asChange{form: "threshold", said: "product.threshold.kept", fields: []edits.Field{{Name: "threshold"}}, was: was,
		mine: url.Values{"threshold": {written(mark)}},
		now:  func(p *materialsv1.Product) url.Values { return url.Values{"threshold": {markOf(p)}} },
		send: func(p *materialsv1.Product) error {
			_, err := a.Kit.Suite.Materials.SetRestockThreshold(a.Context(), &materialsv1.SetRestockThresholdRequest{RequestId: a.RequestID(), Product: p.Name,
				RestockThreshold: mark, Etag: p.Etag})
			return err
		}})
}
