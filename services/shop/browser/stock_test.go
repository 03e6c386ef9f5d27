package browser_test

import (
	"context"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	moneyv1 "google.golang.org/genproto/googleapis/type/money"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/caller"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	"tackfree/services/shop/internal/suite"
)

// product adds a product of a test's own, sold by somebody, and gives its page.
func product(t *testing.T, s *suite.Suite, name string) (path, resource string) {
	t.Helper()
	ctx := caller.With(context.Background(), caller.Caller{Actor: owner})
	can := &materialsv1.Package{Label: "litre can", Content: &typev1.Quantity{Value: "1", Unit: "L"}}
	p, err := s.Shop.Materials.AddProduct(ctx, &materialsv1.AddProductRequest{RequestId: newID(), DisplayName: name, Unit: "L", Packages: []*materialsv1.Package{can}})
	if err != nil {
		t.Fatal(err)
	}
	sold, err := s.Shop.Suppliers.AddSupplier(ctx, &materialsv1.AddSupplierRequest{RequestId: newID(), DisplayName: "Supplier of " + name, LeadDays: 4})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := s.Shop.Suppliers.SetOffer(ctx, &materialsv1.SetOfferRequest{RequestId: newID(), Supplier: sold.Supplier.Name, Product: p.Product.Name, PackageLabel: can.Label,
		PriceBreaks: []*materialsv1.PriceBreak{{FromPackages: 1, Price: &moneyv1.Money{CurrencyCode: "USD", Units: 24}}}}); err != nil {
		t.Fatal(err)
	}
	return "/stock/" + strings.TrimPrefix(p.Product.Name, "products/"), p.Product.Name
}

// used lets most of ten litres have been spilt, so that more has to be ordered.
func used(ctx context.Context, t *testing.T, s *suite.Suite, resource string) {
	t.Helper()
	ago := func(days int) *timestamppb.Timestamp { return timestamppb.New(time.Now().AddDate(0, 0, -days)) }
	if _, err := s.Shop.Materials.ReceiveStock(ctx, &materialsv1.ReceiveStockRequest{RequestId: newID(), Product: resource, ReceiveTime: ago(20), Cost: &moneyv1.Money{CurrencyCode: "USD", Units: 240},
		Amount: &materialsv1.ReceiveStockRequest_Quantity{Quantity: &typev1.Quantity{Value: "10", Unit: "L"}}}); err != nil {
		t.Fatal(err)
	}
	if _, err := s.Shop.Stock.RecordWaste(ctx, &materialsv1.RecordWasteRequest{RequestId: newID(), Product: resource, Quantity: &typev1.Quantity{Value: "9.9", Unit: "L"}, WasteTime: ago(2),
		Cause: materialsv1.WasteCause_WASTE_CAUSE_SPILT}); err != nil {
		t.Fatal(err)
	}
}

// unfold opens a form of a product's page.
func (b *tab) unfold(form string) {
	b.t.Helper()
	b.do(click(`details:has(form[action$="/`+form+`"]) > summary`), chromedp.WaitVisible(`form[action$="/`+form+`"] button`))
}

// retype types something into a field in place of what it had.
func (b *tab) retype(field, text string) {
	b.t.Helper()
	b.do(over(field, text))
}

func TestStock_Looks(t *testing.T) {
	s := floor(t)
	b := window(t, s.PagesURL(), desk)
	b.forgive = append(b.forgive, "/day")
	b.signIn(owner, ownerSecret)
	looks(t, b, "stock", "/stock")
	looks(t, b, "orders", "/stock/orders")
	looks(t, b, "keeping", "/stock/keeping")
	b.open("/stock")
	looks(t, b, "product", ask[string](b, `document.querySelector('.cans h3 a').getAttribute('href')`))
}

// A restock mark that somebody sets shows in another window by itself, on the shelf and among what one should know.
func TestStock_ChangesLive(t *testing.T) {
	s := floor(t)
	path, _ := product(t, s, "Linen <b>wax</b> of this test")
	watching, working := window(t, s.PagesURL(), desk), window(t, s.PagesURL(), phone)
	for _, b := range []*tab{watching, working} {
		b.forgive = append(b.forgive, "/day")
		b.signIn(owner, ownerSecret)
	}
	watching.open("/stock")
	watching.see("the product as text", `document.querySelector('.cans').innerText.includes('Linen <b>wax</b> of this test')`)
	ask[bool](watching, `window.untouched = true`)
	working.open(path)
	working.unfold("receive")
	working.do(keys(`form[action$="/receive"] [name=packages]`, "2"), keys(`form[action$="/receive"] [name=cost]`, "48"), click(`form[action$="/receive"] button`))
	working.told("Noted: it came in.")
	working.unfold("threshold")
	working.do(keys(`form[action$="/threshold"] [name=amount]`, "5"), click(`form[action$="/threshold"] button`))
	working.told("The mark is kept.")
	watching.see("the alert, without a reload", `window.untouched && [...document.querySelectorAll('[aria-labelledby=h-alerts] li')].some((li) => li.innerText.includes('of this test'))`)
	watching.see("its mark on the shelf", `window.untouched && [...document.querySelectorAll('.cans > li')].some((li) => li.innerText.includes('of this test') && li.innerText.includes('below its mark'))`)
	looks(t, watching, "stock-short", "/stock")
}

// Of two owners who describe one product the second sees both versions, and neither loses anything.
func TestStock_TwoOwners(t *testing.T) {
	s := floor(t)
	path, resource := product(t, s, "Milk paint of two")
	one, two := window(t, s.PagesURL(), desk), window(t, s.PagesURL(), desk)
	for _, b := range []*tab{one, two} {
		b.forgive = append(b.forgive, "/day", "409")
		b.signIn(owner, ownerSecret)
		b.open(path)
		b.unfold("describe")
	}
	const keep = `form[action$="/describe"] button`
	one.do(keys(in("describe", "colour"), "bone"), keys(in("describe", "flash_point"), "38"), click(keep))
	one.told("What it is, is kept.")
	two.do(keys(in("describe", "colour"), "linen"), keys(in("describe", "note"), "<script>window.ran = 1</script>"), click(keep))
	two.see("both versions", `document.querySelector('[aria-labelledby=h-sides]') && document.querySelector('[aria-labelledby=h-sides]').innerText.includes('bone') && document.querySelector('[aria-labelledby=h-sides]').innerText.includes('linen')`)
	two.fair()
	two.picture("two-owners")
	two.do(click(keep))
	two.told("What it is, is kept.")
	p, err := s.Shop.Materials.GetProduct(caller.With(t.Context(), caller.Caller{Actor: owner}), &materialsv1.GetProductRequest{Name: resource})
	if err != nil {
		t.Fatal(err)
	}
	if d := p.Product.Details; d.Colour != "linen" || d.GetFlashPointCelsius() != 38 || !strings.Contains(d.Note, "<script>") {
		t.Errorf("it is now %v; want the colour of the second, the flash point of the first, the note as typed", d)
	}
	if ask[bool](two, `window.ran === 1`) {
		t.Error("a note runs as a script")
	}
}

// What is proposed is ordered with a click, comes in against the order, and counts against the limits of flammables.
func TestStock_OrderAndKeep(t *testing.T) {
	s := floor(t)
	path, resource := product(t, s, "Spirit varnish to order")
	ctx := caller.With(t.Context(), caller.Caller{Actor: owner})
	flash, boil := -4.0, 30.0 // category 1
	if _, err := s.Shop.Catalogue.DescribeProduct(ctx, &materialsv1.DescribeProductRequest{RequestId: newID(), Product: resource, Details: &typev1.ProductDetails{FlashPointCelsius: &flash, BoilingPointCelsius: &boil}}); err != nil {
		t.Fatal(err)
	}
	used(ctx, t, s, resource)
	b := window(t, s.PagesURL(), phone)
	b.forgive = append(b.forgive, "/day", "400")
	b.signIn(lead, leadSecret)
	b.open("/stock/orders")
	b.see("the proposal", `document.body.innerText.includes('Supplier of Spirit varnish to order')`)
	packages := `input[aria-label*="Spirit varnish to order"]`
	b.retype(packages, "0")
	b.do(click(`section:has(` + packages + `) button.do`))
	b.see("that nothing is in it", `document.querySelector('.wrong') !== null`)
	b.retype(packages, "120")
	b.do(click(`section:has(` + packages + `) button.do`))
	b.told("Noted as ordered.")
	b.see("the order", `[...document.querySelectorAll('h3')].some((h) => h.innerText.startsWith('Order ') && h.innerText.includes('Spirit varnish'))`)
	looks(t, b, "orders-placed", "/stock/orders")
	looks(t, b, "product-ordered", path)
	b.open(path)
	b.unfold("receive")
	b.do(keys(`form[action$="/receive"] [name=packages]`, "120"), keys(`form[action$="/receive"] [name=cost]`, "2880"))
	ask[bool](b, `(() => { const s = document.querySelector('[name=line]'); s.selectedIndex = 1; return true; })()`)
	b.do(click(`form[action$="/receive"] button`))
	b.told("Noted: it came in.")
	b.open("/stock/orders")
	b.see("nothing on order of it", `![...document.querySelectorAll('h3')].some((h) => h.innerText.startsWith('Order ') && h.innerText.includes('Spirit varnish'))`)
	b.open("/stock/keeping")
	b.see("that it is over the limit", `document.querySelector('.spilt') && document.querySelector('[aria-labelledby=h-flames]').innerText.includes('over the limit')`)
	looks(t, b, "keeping-over", "/stock/keeping")
	b.do(click(`[value=metal_can]`), click(`form[action$="/oily"] button`))
	b.see("that somebody saw to it", `document.body.innerText.includes('Hedda saw to it')`)
}
