package browser_test

import (
	"path"
	"testing"

	moneyv1 "google.golang.org/genproto/googleapis/type/money"

	intakev1 "tackfree/proto/tackfree/intake/v1"
	"tackfree/services/shop/internal/suite"
)

// ordering is a shop with its letterhead and terms, and a client of it.
func ordering(t *testing.T, s *suite.Suite) *intakev1.Client {
	t.Helper()
	ctx := byOwner(t)
	head := &intakev1.Letterhead{ShopName: "Reedmere Refinishing", Address: []string{"14 Mill Lane"}, Paper: intakev1.Letterhead_PAPER_A4}
	if _, err := s.Shop.Intake.SetLetterhead(ctx, &intakev1.SetLetterheadRequest{RequestId: newID(), Letterhead: head}); err != nil {
		t.Fatal(err)
	}
	terms := &intakev1.CommissionTerms{Rate: &moneyv1.Money{CurrencyCode: "USD", Units: 65}, MarkupPercent: "35", TaxPercent: "8.875", DepositPercent: "50", CancelRule: intakev1.CancelRule_CANCEL_RULE_WORK_DONE_AND_PERCENT, CancelPercent: "20"}
	if _, err := s.Shop.Commissions.SetCommissionTerms(ctx, &intakev1.SetCommissionTermsRequest{RequestId: newID(), Terms: terms}); err != nil {
		t.Fatal(err)
	}
	r, err := s.Shop.Clients.AddClient(ctx, &intakev1.AddClientRequest{RequestId: newID(), Details: &intakev1.ClientDetails{DisplayName: "Ana <i>Ruiz</i>", Phone: "555 0101", Address: []string{"4 Mill Lane"}}})
	if err != nil {
		t.Fatal(err)
	}
	return r.Client
}

// From the client to the estimate, a second version, the approval, a change order and what is owed: all of it typed, and
// each page looked over.
func TestCommissions_FromClientToChangeOrder(t *testing.T) {
	s := floor(t)
	client := ordering(t, s)
	at := "/clients/" + path.Base(client.Name)
	b := moneyAs(t, s, desk, at)
	b.open("/commissions/new?client=" + path.Base(client.Name))
	ask[string](b, `(() => { const set = (n, i, v) => { document.querySelectorAll('[name=' + n + ']')[i].value = v; };
		set('description', 0, 'Refinish a <b>walnut</b> table'); set('what', 0, 'Strip and refinish'); set('hours', 0, '8 - 10 - 14'); set('what', 1, 'Varnish'); set('sort', 1, 'material'); set('amount', 1, '43.37'); return ''; })()`)
	b.do(click("main form button[value=more]"))
	b.see("more lines, with what was typed", `document.querySelectorAll('.line').length >= 10 && document.querySelectorAll('[name=what]')[1].value === 'Varnish'`)
	b.do(click("main form button[value=keep]"))
	b.see("the commission", `document.querySelector('#estimate') && document.querySelector('h1').innerText.includes('<b>walnut</b>') && document.querySelector('.said')`)
	one := ask[string](b, `location.pathname`)

	b.do(click(`a[href=` + "'" + one + `/revise']`))
	b.see("the newest version in the form", `document.querySelectorAll('[name=hours]')[0].value.includes('10')`)
	ask[string](b, `(() => { document.querySelector('[name=reason]').value = 'less gloss'; document.querySelectorAll('[name=hours]')[0].value = '7 - 9 - 12'; return ''; })()`)
	b.do(click("main form button[value=keep]"))
	b.see("versions side by side", `document.querySelectorAll('table.beside thead th').length === 3 && document.querySelectorAll('table.beside .changed').length > 0`)

	b.do(click("#approve summary"), click("#approve [name=how][value=by_phone]"), click("#approve button"))
	b.see("approved", `document.querySelector('#invoice') && !document.querySelector('#approve')`)
	b.do(click(`a[href=` + "'" + one + `/change']`))
	b.see("the form of a change order", `document.querySelectorAll('.line').length >= 3`)
	ask[string](b, `(() => { document.querySelector('[name=reason]').value = 'worm in a leg'; document.querySelectorAll('[name=what]')[0].value = 'A new leg'; document.querySelectorAll('[name=hours]')[0].value = '2'; return ''; })()`)
	b.do(click("main form button[value=keep]"))
	b.see("the change order", `document.querySelector('#changes')`)
	b.open(one + "/cancel")
	b.see("what would be owed, figure by figure", `document.querySelectorAll('main table tbody tr').length >= 5 && document.querySelector('[name=reason]')`)

	for name, page := range map[string]string{"commissions": "/commissions", "commission": one, "commission-revise": one + "/change", "commission-cancel": one + "/cancel", "commission-new": "/commissions/new?client=" + path.Base(client.Name),
		"clients": "/clients", "client": at, "client-new": "/clients/new", "commission-terms": "/commissions/terms", "letterhead": "/letterhead"} {
		looks(t, b, name, page)
	}
	b.speaks("es")
	b.open(one)
	b.see("the same in Spanish", `document.body.innerText.includes('Presupuesto, versión 2')`)
	b.fair()
}
