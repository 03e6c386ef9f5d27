package browser_test

import (
	"fmt"
	"testing"

	"github.com/chromedp/chromedp"
	moneyv1 "google.golang.org/genproto/googleapis/type/money"

	intakev1 "tackfree/proto/tackfree/intake/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	"tackfree/services/shop/internal/suite"
)

// forStock is a bench of one part that was bought just now.
func forStock(t *testing.T, s *suite.Suite, title string) *intakev1.Piece {
	t.Helper()
	r, err := s.Shop.Intake.TakeInPiece(byOwner(t), &intakev1.TakeInPieceRequest{RequestId: newID(), Title: title, Kind: "bench", Size: typev1.PieceSize_PIECE_SIZE_MEDIUM,
		Origin: &intakev1.TakeInPieceRequest_Purchase{Purchase: &intakev1.Purchase{Price: &moneyv1.Money{CurrencyCode: "USD", Units: 60}, Source: "flea market"}}, Parts: []*intakev1.Part{{Label: "seat"}}})
	if err != nil {
		t.Fatal(err)
	}
	return r.Piece
}

// A piece is advised on by what its owner believes of the kind, another price is tried beside the advice, and the
// advice is taken: the piece is listed at it.
func TestPrice_TakesTheAdvice(t *testing.T) {
	s := floor(t)
	p := forStock(t, s, "Price <i>me</i>")
	b := moneyAs(t, s, desk, "/money/terms?kind="+p.Kind)
	b.see("the kind that was asked about", fmt.Sprintf(`[...document.querySelectorAll('[name=kind]')].some((i) => i.value === %q)`, p.Kind))
	ask[string](b, fmt.Sprintf(`(() => { const row = [...document.querySelectorAll('.belief')].find((r) => r.querySelector('[name=kind]').value === %q);
		row.querySelector('[name=low]').value = '260'; row.querySelector('[name=high]').value = '480'; row.querySelector('[name=days]').value = '30'; document.querySelector('[name=medium]').value = '1.20'; return row.innerText; })()`, p.Kind))
	b.do(click("main form > button"))
	b.see("what is believed, kept", `document.querySelector('.said') && [...document.querySelectorAll('[name=high]')].some((i) => i.value === '480')`)

	path := fmt.Sprintf("/money/price/%d", p.Tag)
	b.open(pageOf(p))
	b.see("the way from its page", fmt.Sprintf(`document.querySelector('a[href=%q]')`, path))
	b.open(path)
	b.see("what to ask and when to ask less", `document.querySelector('.large') && document.querySelectorAll('section.band table tbody tr').length >= 3 && document.querySelector('h1').innerText.includes('Price <i>me</i>')`)
	b.see("a line for each way, and its row in both tables", `document.querySelectorAll('.curve .way').length === document.querySelectorAll('#ways tbody tr').length && document.querySelectorAll('#ways tbody tr').length >= 3`)
	rows := ask[int](b, `document.querySelectorAll('#ways tbody tr').length`)
	b.do(keys("[name=trying]", "999"), click("#h-try ~ form button"))
	b.see("the price that is tried", fmt.Sprintf(`document.querySelectorAll('#ways tbody tr').length === %d && document.querySelector('#ways').innerText.includes('999')`, rows+1))
	if leaves := ask[[]float64](b, `[...document.querySelectorAll('#ways tbody tr')].map((r) => parseFloat(r.cells[1].innerText.replace(/,/g, '').replace('−', '-')))`); leaves[0] < leaves[len(leaves)-1] {
		t.Errorf("the advice leaves less than 999 tried: %v", leaves)
	}
	advised := b.text(".large")
	b.do(keys(".take [name=channel]", "showroom"), click(".take button"))
	b.see("it is listed", `document.querySelector('.said') && document.querySelector('.take [name=reason]')`)
	l, err := s.Shop.Sales.GetListing(byOwner(t), &salesv1.GetListingRequest{Name: "listings/" + p.Name[len("pieces/"):]})
	if err != nil {
		t.Fatal(err)
	}
	if asked := fmt.Sprintf("%d.%02d USD", l.Listing.AskingPrice.GetUnits(), l.Listing.AskingPrice.GetNanos()/10_000_000); asked != advised || l.Listing.Channel != "showroom" {
		t.Errorf("listed at %s in %q, advised %s", asked, l.Listing.Channel, advised)
	}
	b.fill("price", "333")
	b.do(click(".take button"))
	b.see("it is asked anew", `document.querySelector('.said') && document.body.innerText.includes('333.00')`)
}

func TestPrice_Looks(t *testing.T) {
	s := floor(t)
	p := forStock(t, s, "A bench to look at")
	if _, err := s.Shop.Sales.CreateListing(byOwner(t), &salesv1.CreateListingRequest{RequestId: newID(), Piece: p.Name, Channel: "market hall", AskingPrice: &moneyv1.Money{CurrencyCode: "USD", Units: 520}}); err != nil {
		t.Fatal(err)
	}
	sold(t, s, 410, "market hall")
	path := fmt.Sprintf("/money/price/%d?low=300&high=520&trying=450", p.Tag)
	b := moneyAs(t, s, desk, path)
	b.see("five ways", `document.querySelectorAll('#ways tbody tr').length === 5`)
	looks(t, b, "price", path)
	b.do(chromedp.EmulateViewport(phone, 800))
	b.open(path)
	b.see("the ways whole on a phone", `document.querySelector('#ways') && [...document.querySelectorAll('main .scroll')].every((r) => r.scrollWidth <= r.clientWidth)`)
	b.do(chromedp.EmulateViewport(desk, 800))
	looks(t, b, "price-terms", "/money/terms")
}
