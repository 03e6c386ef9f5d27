package browser_test

import (
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"tackfree/pkg/caller"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
)

// in is a field of the form whose address ends so.
func in(form, field string) string { return `form[action$="/` + form + `"] [name="` + field + `"]` }

// press sends a form.
func (b *tab) press(form string) {
	b.t.Helper()
	b.do(click(`form[action$="/` + form + `"] button`))
}

// pick takes the choice of a list that has a text in it.
func (b *tab) pick(field, text string) {
	b.t.Helper()
	b.see("the choice "+text, `(() => { const s = document.querySelector('`+field+`'); const o = s && [...s.options].find((o) => o.text.includes('`+text+`')); if (o) s.value = o.value; return !!o; })()`)
}

// A new supplier, a place and a product are written down, and what the one asks for the other; then a can comes in,
// is opened, carried elsewhere and partly lost, and the loss was a slip.
func TestStockForms_FromSupplierToWaste(t *testing.T) {
	s := floor(t)
	b := window(t, s.PagesURL(), phone)
	b.forgive = append(b.forgive, "/day", "409", "400")
	b.signIn(lead, leadSecret)

	b.open("/stock/sources")
	b.do(click(`[aria-labelledby=h-suppliers] > details > summary`))
	add := `[aria-labelledby=h-suppliers] > details form `
	b.do(keys(add+"[name=name]", "Varnish <i>of</i> the North"), keys(add+"[name=days]", "two"), click(add+"button"))
	b.see("that it is no number", `document.querySelector('.wrong').innerText.includes("two")`)
	b.retype(add+"[name=days]", "3")
	b.do(click(add + "button"))
	b.told("The supplier is kept.")
	b.see("the supplier as text", `document.querySelector('[aria-labelledby=h-suppliers]').innerText.includes('Varnish <i>of</i> the North')`)

	b.do(click(`[aria-labelledby=h-places] > details > summary`))
	add = `[aria-labelledby=h-places] > details form `
	b.do(keys(add+"[name=word]", "stain-cupboard"), keys(add+"[name=name]", "Stain cupboard"), click(add+"button"))
	b.told("The place is kept.")

	b.do(click(`[aria-labelledby=h-new] summary`))
	add = `form[action$="/sources"] `
	b.do(keys(add+"[name=name]", "Walnut stain of the north"), keys(add+"[name=label]", "litre can"), keys(add+"[name=amount]", "1"), click(add+"button"))
	b.told("It is in the list.")
	product := ask[string](b, "location.pathname")

	b.unfold("offer")
	b.pick(in("offer", "supplier"), "the North")
	b.do(keys(in("offer", "price.1"), "21.50"))
	b.press("offer")
	b.told("The price is kept.")
	b.see("what it costs", `document.querySelector('[aria-labelledby=h-offers]').innerText.includes('21.50')`)

	b.unfold("receive")
	b.do(keys(in("receive", "packages"), "4"), keys(in("receive", "cost"), "86"))
	b.press("receive")
	b.told("Noted: it came in.")
	b.unfold("open")
	b.press("open")
	b.told("Noted: it is open.")
	b.unfold("put")
	b.pick(in("put", "lot"), "open")
	b.pick(in("put", "place"), "Stain cupboard")
	b.press("put")
	b.told("Noted where it stands now.")
	b.unfold("waste")
	b.pick(in("waste", "cause"), "spilt")
	b.do(keys(in("waste", "amount"), "0.25"))
	b.press("waste")
	b.told("Noted: that much is gone.")
	b.see("what is left of the open one", `[...document.querySelectorAll('[aria-labelledby=h-lots] li')].some((li) => li.innerText.includes("25.4 fl oz") && li.innerText.includes('open') && li.innerText.includes('Stain cupboard'))`)
	looks(t, b, "product-handled", product)
	b.do(chromedp.EmulateViewport(phone, 800))
	b.open(product)
	b.unfold("undo")
	b.pick(in("undo", "entry"), "thrown away")
	b.do(keys(in("undo", "reason"), "it was water"))
	b.press("undo")
	b.told("Undone: it counts no more.")
	p, err := s.Shop.Materials.GetProduct(caller.With(t.Context(), caller.Caller{Actor: owner}), &materialsv1.GetProductRequest{Name: "products/" + strings.TrimPrefix(product, "/stock/")})
	if err != nil {
		t.Fatal(err)
	}
	if q := p.Product.OnHand; q.Value != "4" || q.Unit != "L" {
		t.Errorf("there is %v, want all four litres again", q)
	}
	looks(t, b, "sources", "/stock/sources")
	looks(t, b, "keeping-machines", "/stock/keeping")
}

// Of two who rename a product the second is told; nobody's name is overwritten unread.
func TestStockForms_TwoNames(t *testing.T) {
	s := floor(t)
	path, _ := product(t, s, "Oil of two names")
	one, two := window(t, s.PagesURL(), desk), window(t, s.PagesURL(), desk)
	for _, b := range []*tab{one, two} {
		b.forgive = append(b.forgive, "/day", "409")
		b.signIn(owner, ownerSecret)
		b.open(path)
		b.unfold("rename")
	}
	one.retype(in("rename", "name"), "Hemp oil")
	one.press("rename")
	one.told("It is called that now.")
	two.retype(in("rename", "name"), "Tung oil")
	two.press("rename")
	two.see("both names", `(document.querySelector('[aria-labelledby=h-sides]') || document.body).innerText.includes('Hemp oil') && document.querySelector('h1').innerText === 'Hemp oil'`)
	two.press("rename")
	two.told("It is called that now.")
	two.see("the name thought over", `document.querySelector('h1').innerText === 'Tung oil'`)
}

// A piece comes in on a phone, gets its stages, is put up for sale, sold and comes back; what cannot be is said in the reader's language.
func TestPieceForms_FromDoorToRefund(t *testing.T) {
	s := floor(t)
	b := window(t, s.PagesURL(), phone)
	b.forgive = append(b.forgive, "/day", "400", "422")
	b.signIn(owner, ownerSecret)
	b.open("/pieces")
	b.do(click(`a[href="/pieces/new"]`), chromedp.WaitVisible(`form[action$="/new"] button`))
	b.do(keys(in("new", "title"), "Ash <b>bench</b> from a barn"), keys(in("new", "price"), "40"))
	b.pick(in("new", "kind"), "bench")
	b.retype(`fieldset.parts .part [name=label]`, "seat")
	b.do(keys(`fieldset.parts .part [name=length]`, "120"), keys(`fieldset.parts .part [name=width]`, "30"), click(`[name=origin][value=bought]`))
	b.fair()
	b.picture("takein-typed")
	b.press("new")
	b.see("that it needs a source", `document.querySelector('.wrong') && document.querySelector('[name=title]').value.includes('<b>bench</b>')`)
	b.do(keys(in("new", "source"), "barn sale"))
	b.press("new")
	b.told("It is in.")
	path := ask[string](b, "location.pathname")
	b.see("its title as text", `document.querySelector('h1').innerText.includes('Ash <b>bench</b> from a barn')`)
	if ask[bool](b, `!!document.querySelector('#do-plan')`) {
		b.unfold("plan")
		b.press("plan")
		b.told("The stages are laid out.")
	} else {
		t.Error("no route is offered for a piece that has no stages")
	}
	b.unfold("list")
	b.do(keys(in("list", "asking"), "320"), keys(in("list", "channel"), "shop window"))
	b.press("list")
	b.told("It is up for sale.")
	b.unfold("asking")
	b.retype(in("asking", "asking"), "290")
	b.do(keys(in("asking", "reason"), "spring"))
	b.press("asking")
	b.told("The asking price is another.")

	b.open("/preferences?then=" + path)
	b.do(click(`[name=language][value=es]`), click("main form button"))
	b.see("the piece again", `location.pathname === '`+path+`'`)
	b.unfold("sell")
	b.do(keys(in("sell", "tax"), "900"))
	b.press("sell")
	b.see("why not, in Spanish", `document.querySelector('.wrong').innerText.includes('El impuesto nunca es más que el precio') && document.querySelector('#do-sell').open`)
	b.fair()
	b.picture("piece-sell-refused")
	b.retype(in("sell", "tax"), "21")
	b.press("sell")
	b.told("Anotado: está vendida.")
	b.unfold("refund")
	b.do(keys(in("refund", "price"), "290"), keys(in("refund", "tax"), "21"), click(`#do-refund [name="back"][value="yes"]`), keys(in("refund", "reason"), "una pata coja"))
	b.press("refund")
	b.told("Anotado: el dinero se ha devuelto al comprador, y la pieza está otra vez en el taller.")
	b.see("that it can be sold again", `!!document.querySelector('#do-list')`)
	looks(t, b, "piece-forms", path)
	looks(t, b, "takein", "/pieces/new")
}
