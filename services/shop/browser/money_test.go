package browser_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	moneyv1 "google.golang.org/genproto/googleapis/type/money"

	costingv1 "tackfree/proto/tackfree/costing/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	"tackfree/services/shop/internal/suite"
)

// moneyAs signs the owner in at a page of money.
func moneyAs(t *testing.T, s *suite.Suite, width int64, path string) *tab {
	t.Helper()
	b := window(t, s.PagesURL(), width)
	b.forgive = append(b.forgive, "/day")
	b.signIn(owner, ownerSecret)
	b.open(path)
	return b
}

// soldKinds are the kinds of which a piece was sold; the books hear of a sale a moment later.
var soldKinds = map[string]bool{}

// sold sells a piece that was worked on, of a kind that has not been sold yet, with the fee of a channel.
func sold(t *testing.T, s *suite.Suite, price int64, channel string) *costingv1.PieceCost {
	t.Helper()
	r, err := s.Shop.Costing.ListPieceCosts(byOwner(t), &costingv1.ListPieceCostsRequest{PageSize: 1000})
	if err != nil {
		t.Fatal(err)
	}
	for i := range r.PieceCosts { // the last that came in are in nobody else's story
		p := r.PieceCosts[len(r.PieceCosts)-1-i]
		if soldKinds[p.Kind] || p.Commission || p.Sums.LabourTime.AsDuration() < time.Minute {
			continue
		}
		if _, err := s.Shop.Sales.SellPiece(byOwner(t), &salesv1.SellPieceRequest{RequestId: newID(), Piece: p.Piece, Price: &moneyv1.Money{CurrencyCode: "USD", Units: price},
			Fee: &moneyv1.Money{CurrencyCode: "USD", Units: 3}, Channel: channel}); err != nil {
			t.Fatal(err)
		}
		soldKinds[p.Kind] = true
		return p
	}
	t.Fatal("no piece is left to sell")
	return nil
}

// fetched gives what a path of the shop answers to a script of the page.
func (b *tab) fetched(path string) (position, file, body string) {
	b.t.Helper()
	ask[bool](b, fmt.Sprintf(`window.got = null, fetch(%q).then(async (r) => { window.got = [r.headers.get('X-Journal-Position') || '', r.headers.get('Content-Disposition'), await r.text()]; }), true`, path))
	b.see("the answer of "+path, `window.got`)
	got := ask[[]string](b, `window.got`)
	return got[0], got[1], got[2]
}

func TestMoney_Looks(t *testing.T) {
	s := floor(t)
	sold(t, s, 640, "market <b>hall</b>")
	loss := sold(t, s, 20, "direct")
	b := moneyAs(t, s, desk, "/money?by=piece")
	b.see("both pieces", `document.querySelectorAll('.laths rect').length >= 2`)
	b.see("the loss: its sign, and hatched to the left", fmt.Sprintf(`[...document.querySelectorAll('tbody tr')].some((r) => r.innerText.includes(%q) && r.innerText.includes('−')) &&
		document.querySelector('.laths .below').getAttribute('fill').startsWith('url(#')`, loss.Title))
	b.open("/money?by=kind&from=2020-01-31")
	if _, _, table := b.fetched(ask[string](b, `document.querySelector('main a[href^="/v1/earnings"]').getAttribute('href')`)); !strings.HasPrefix(table, "key,title,") || !strings.Contains(table, loss.Kind) {
		t.Errorf("what was earned, as a table:\n%s", table)
	}
	looks(t, b, "money", "/money")
	looks(t, b, "money-pieces", "/money?by=piece")
	looks(t, b, "money-work", "/money/work")
	looks(t, b, "money-finish", "/money/work?by=finish")
	looks(t, b, "money-hand", "/money/hand")
	looks(t, b, "money-pay", "/money/pay")
	looks(t, b, "money-months", "/money/months")
	month := ask[string](b, `document.querySelector('tbody a').getAttribute('href')`)
	looks(t, b, "money-month", month)
	looks(t, b, "money-close", month+"/close")
	looks(t, b, "money-books", "/money/books")
	looks(t, b, "money-rates", "/money/rates")
}

// What is sold in the shop shows among what was earned by itself, whatever its channel is called.
func TestMoney_ChangesLive(t *testing.T) {
	s := floor(t)
	b := moneyAs(t, s, desk, "/money?by=channel")
	ask[bool](b, `window.untouched = true`)
	sold(t, s, 500, "attic <i>sale</i>")
	b.see("the sale, without a reload", `window.untouched && [...document.querySelectorAll('tbody th')].some((h) => h.innerText.includes('attic <i>sale</i>'))`)
	b.see("its lath", `[...document.querySelectorAll('.laths text')].some((t) => t.textContent.startsWith('attic'))`)
	b.fair()
}

// A lead has no page of money, and no word of what is on it.
func TestMoney_ForTheOwner(t *testing.T) {
	s := floor(t)
	b := window(t, s.PagesURL(), phone)
	b.forgive = append(b.forgive, "/day", "403")
	b.signIn(lead, leadSecret)
	b.open("/money/pay")
	b.see("that it is not theirs", `document.body.innerText.includes('for the owner') && !document.querySelector('table')`)
}

// A rate that begins on a day that has one asks whether it takes its place, keeps what was typed, and then does.
func TestMoney_SetPay(t *testing.T) {
	s := floor(t)
	b := moneyAs(t, s, phone, "/money/rates")
	b.forgive = append(b.forgive, "409", "422", "400")
	form := `form[action="/money/rates/pay"]`
	fill := func(amount string) {
		b.do(click(`details:has(`+form+`) > summary`), chromedp.WaitVisible(form+" button"))
		ask[string](b, `(() => { const p = document.querySelector('`+form+` [name=person]'); p.value = [...p.options].find((o) => o.text === 'Bao').value; return p.value; })()`)
		b.do(keys(form+" [name=amount]", amount), click(form+" button"))
	}
	fill("19,25")
	b.told("Kept. The books follow.")
	fill("20.75")
	b.see("the question, and what was typed", `document.readyState === 'complete' && document.querySelector('.wrong') && document.querySelector('`+form+` [name=replaces]') && document.querySelector('`+form+` [name=amount]').value === '20.75'`)
	b.fair()
	b.picture("money-rates-asked")
	b.do(click(form+" [name=replaces]"), click(form+" button"))
	b.told("Kept. The books follow.")
	b.see("the rate of now", `[...document.querySelectorAll('[aria-labelledby=h-pay] tbody tr')].some((r) => r.innerText.includes('Bao') && r.innerText.includes('20.75'))`)
}

// What was spent is entered and taken back; what it was called is text, whatever it is.
func TestMoney_Spent(t *testing.T) {
	s := floor(t)
	b := moneyAs(t, s, phone, "/money/rates")
	form := `form[action="/money/rates/spent"]`
	b.do(click(`details:has(`+form+`) > summary`), chromedp.WaitVisible(form+" button"), keys(form+" [name=what]", "Rent <script>window.ran = 1</script>"),
		keys(form+" [name=amount]", "850"), click(form+" button"))
	b.told("Kept. The books follow.")
	b.see("what it was, as text", `document.querySelector('[aria-labelledby=h-spent] li').innerText.includes('Rent <script>') && window.ran === undefined`)
	back := `form[action="/money/rates/back"]`
	b.do(click(`details:has(`+back+`) > summary`), keys(back+" [name=reason]", "of another shop"), click(back+" button"))
	b.told("Kept. The books follow.")
	b.see("both of it", `document.querySelectorAll('[aria-labelledby=h-spent] .undone').length === 1 && document.querySelector('[aria-labelledby=h-spent]').innerText.includes('of another shop')`)
}

// A week is locked after a second thought that says what it means; its table goes along as a file.
func TestMoney_LockAWeek(t *testing.T) {
	s := floor(t)
	b := moneyAs(t, s, phone, "/money/pay")
	b.see("that it runs", `document.querySelector('h2 .state').innerText === 'not over yet' && !document.querySelector('a.do')`)
	_, _, table := b.fetched(ask[string](b, `document.querySelector('a[href^="/money/pay.csv"]').getAttribute('href')`))
	if !strings.HasPrefix(table, "week,person,name,labour_hours") || strings.Count(table, ",USD,no\n") < 5 {
		t.Errorf("the week's table:\n%s", table)
	}
	const settled = `document.querySelector('[data-live]').dataset.etag` // what is looked at anew once after the page came is in its place
	b.see("the week of now, settled", settled)
	b.do(click(".turn a:first-child"), chromedp.WaitVisible("a.do"))
	b.see("the week before, settled", settled)
	b.do(click("a.do"), chromedp.WaitVisible(".means"))
	locking := ask[string](b, `location.pathname + location.search`)
	looks(t, b, "money-lock", locking)
	b.open(locking)
	b.do(click(`form[action="/money/pay/lock"] button`))
	b.told("The week is locked.")
	b.see("that it is", `document.querySelector('h2 .state').innerText === 'locked' && !document.querySelector('a.do')`)
}

// A month that is not over is not closed; the page says so and keeps what was chosen.
func TestMoney_CloseTooEarly(t *testing.T) {
	s := floor(t)
	now := time.Now().Format("2006-01")
	b := moneyAs(t, s, desk, "/money/months/"+now+"/close")
	b.forgive = append(b.forgive, "422", "409", "400")
	b.do(click(`[value=prorated]`), click(`form button.do`))
	b.see("why not, and what was chosen", `document.readyState === 'complete' && document.querySelector('.wrong') && document.querySelector('[value=prorated]').checked`)
	b.fair()
}

// The books are compared, which finds them right; the journal comes as a table that says how far it goes.
func TestMoney_Books(t *testing.T) {
	s := floor(t)
	b := moneyAs(t, s, desk, "/money/books")
	b.do(click("#compare button"))
	b.see("that they are right", `document.readyState === 'complete' && document.querySelector('#found .done') && document.querySelector('#found').innerText.includes('differences: 0')`)
	b.fair()
	b.picture("money-compared")
	position, file, body := b.fetched("/money/journal.csv")
	if !strings.HasPrefix(body, "date,entry,account,") || strings.Count(body, "\n") < 100 || position == "" || !strings.Contains(file, "journal-to-"+position+".csv") {
		t.Errorf("the journal: position %s, %s, %d lines", position, file, strings.Count(body, "\n"))
	}
	if _, _, rest := b.fetched("/money/journal.csv?after=" + position); !strings.HasPrefix(rest, "date,") || strings.Count(rest, "\n") > 20 {
		t.Errorf("after position %s there is more: %d lines", position, strings.Count(rest, "\n"))
	}
}
