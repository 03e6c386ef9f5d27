package stock

import (
	"net/http"
	"net/url"

	"tackfree/pkg/fault"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	"tackfree/services/gateway/internal/edits"
	"tackfree/services/gateway/internal/web"
)

// asChange is a change of a product that somebody made of what they had read.
type asChange struct {
	form, said string
	fields     []edits.Field
	was, mine  url.Values
	now        func(*materialsv1.Product) url.Values
	send       func(*materialsv1.Product) error // with the etag of that reading
}

// tries is how often a change is sent: a product's etag is another with each can that is taken of it,
// which is no change of what the form is about.
const tries = 5

// unlessChanged sends a change, unless somebody else changed the same form's fields after it was opened:
// then it shows both and keeps neither.
func unlessChanged(w http.ResponseWriter, a *web.Asked, c asChange) error {
	var err error
	for range tries {
		r, missing := a.Kit.Suite.Materials.GetProduct(a.Context(), &materialsv1.GetProductRequest{Name: "products/" + a.PathValue("id")})
		if missing != nil {
			return missing
		}
		now := c.now(r.Product)
		if edits.Changed(c.fields, c.was, now, c.mine) {
			return showProductWith(w, a, c.again(a, now), fault.New(fault.Conflict, "CHANGED_MEANWHILE", "%s", a.Voice.T("edits.changed")))
		}
		if err = c.send(r.Product); !fault.Is(err, "ETAG_MISMATCH") {
			break
		}
	}
	if fault.Of(err) != nil {
		return showProductWith(w, a, refusedForm{name: c.form, typed: a.PostForm, was: c.was}, err)
	}
	if err != nil {
		return err
	}
	return a.After(w, "/stock/"+a.PathValue("id"), c.said)
}

// again is the form to be thought over: filled with what each changed, from what it says now on.
func (c asChange) again(a *web.Asked, now url.Values) refusedForm {
	merged := edits.Merge(c.fields, c.was, now, c.mine)
	if c.form != "describe" { // the others have one thing to say, which is what was typed
		merged = a.PostForm
	}
	return refusedForm{name: c.form, typed: merged, was: now, sides: edits.Compare(c.fields, c.was, now, c.mine)}
}

func written(q *typev1.Quantity) string {
	if q == nil {
		return ""
	}
	return q.Value + " " + q.Unit
}

// side is a field on which readings differ, for the page.
type side struct {
	Key  string // of its label
	Side edits.Side
}

func sidesOf(all []edits.Side) (out []side) {
	for _, s := range all {
		out = append(out, side{Key: "stock.detail." + s.Name, Side: s})
	}
	return out
}
