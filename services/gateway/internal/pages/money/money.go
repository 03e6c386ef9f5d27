// Package money is the owner's money: what an hour of hands has earned, what work took against its plan, what
// stands unfinished, what is owed to whom for a week, the months, the books themselves and what they reckon with.
//
//	answers ─▶ earned (per hour), work (plan, rework), hand (in process, tied up) ─▶ chart ─▶ templates
//	payroll ─▶ pay ▸ a second thought ▸ lock; table for a spreadsheet
//	months  ─▶ months ▸ statement of one ▸ a second thought ▸ close
//	books   ─▶ books: compare, journal as it comes
//	rates   ─▶ rates: of pay, burden, overhead
//
// Figures are those of costing. Here they are put beside each other, and drawn: charts are made of whole
// numbers, and each has a table beside it that says the same.
package money

import (
	"embed"
	"net/http"

	"tackfree/services/gateway/internal/web"
)

//go:embed *.html *.css *.js
var files embed.FS

// pageSize is the most that a service gives at once.
const pageSize = 1000

// Page is the pages of money.
func Page() web.Page {
	routes := map[string]web.Handler{
		"GET /money":                        show("earned", loadEarned, func(p *page, it *earned) { p.Earned = it }),
		"GET /money/part/earned":            part("earned", loadEarned),
		"GET /money/work":                   show("work", loadWork, func(p *page, it *work) { p.Work = it }),
		"GET /money/part/work":              part("work", loadWork),
		"GET /money/hand":                   show("hand", loadHand, func(p *page, it *hand) { p.Hand = it }),
		"GET /money/part/hand":              part("hand", loadHand),
		"GET /money/pay":                    show("pay", loadPay, func(p *page, it *pay) { p.Pay = it }),
		"GET /money/part/pay":               part("pay", loadPay),
		"GET /money/pay.csv":                payCSV,
		"GET /money/pay/lock":               showLock,
		"POST /money/pay/lock":              lock,
		"GET /money/months":                 show("months", loadMonths, func(p *page, it *months) { p.Months = it }),
		"GET /money/part/months":            part("months", loadMonths),
		"GET /money/months/{month}":         showMonth,
		"GET /money/months/{month}/close":   showClose,
		"POST /money/months/{month}/close":  closeMonth,
		"POST /money/months/{month}/reopen": reopenMonth,
		"GET /money/books":                  showBooks,
		"POST /money/books/verify":          verify,
		"POST /money/books/retry":           retry,
		"GET /money/journal.csv":            journalCSV,
		"GET /money/rates":                  showRates,
		"POST /money/rates/{deed}":          setRate,
	}
	for pattern, h := range routes {
		routes[pattern] = web.ForOwners(h)
	}
	return web.Page{Files: files, Routes: routes}
}

// page is one of the pages; what the others show is absent.
type page struct {
	Tab    string
	Earned *earned
	Work   *work
	Hand   *hand
	Pay    *pay
	Lock   *pay
	Months *months
	Month  *statement
	Close  *closing
	Books  *books
	Rates  *rates
}

// Tabs are the pages in the order in which an owner asks.
func (page) Tabs() []string {
	return []string{"earned", "work", "hand", "pay", "months", "books", "rates"}
}

// title is what a page is called.
func title(a *web.Asked, tab string) string { return a.Voice.T("money.title." + tab) }

// show answers with a page of which the whole is one part.
func show[T any](tab string, load func(*web.Asked) (T, error), into func(*page, *T)) web.Handler {
	return func(w http.ResponseWriter, a *web.Asked) error {
		it, err := load(a)
		if err != nil {
			return err
		}
		p := page{Tab: tab}
		into(&p, &it)
		return a.Show(w, "money", title(a, tab), p)
	}
}

// part answers with that part alone.
func part[T any](tab string, load func(*web.Asked) (T, error)) web.Handler {
	return func(w http.ResponseWriter, a *web.Asked) error {
		it, err := load(a)
		if err != nil {
			return err
		}
		return a.ShowPart(w, "money", tab, &it)
	}
}

// counts lets templates count with the numbers of the contract.
type counts struct{}

// Int is the number as the catalogue counts.
func (counts) Int(n int32) int { return int(n) }
