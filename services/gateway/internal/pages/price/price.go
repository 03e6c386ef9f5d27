// Package price is what to ask for one piece and when to ask less, and what the shop reckons with in selling.
//
//	/money/price/{tag}   sales: advice ─▶ steps (what to ask from which day on)
//	                                   ─▶ ways side by side, curve of what is sold by a day (chart)
//	                                   ─▶ what the price is made of (effects), sales alike
//	                     a guess, a channel or a price that is tried stand in the address
//	                     the first step is taken by a form ──POST──▶ sales: listed, or asked anew
//	/money/terms         what a day of floor costs, fees, markdowns, and what the owner believes of each kind
//
// Forecasts are those of sales. Here they are drawn, of whole numbers, each drawing beside a table that says the same.
package price

import (
	"embed"
	"net/http"

	"tackfree/services/gateway/internal/web"
)

//go:embed *.html *.css
var files embed.FS

// Page is the pages of prices.
func Page() web.Page {
	routes := map[string]web.Handler{
		"GET /money/price/{tag}":      showAdvice,
		"POST /money/price/{tag}/ask": ask,
		"GET /money/terms":            showTerms,
		"POST /money/terms":           setTerms,
	}
	for pattern, h := range routes {
		routes[pattern] = web.ForOwners(h)
	}
	return web.Page{Files: files, Routes: routes}
}

// show answers with a page, and with why something was refused.
func show(w http.ResponseWriter, a *web.Asked, title string, p page, refused error) error {
	return a.ShowRefused(w, "price", title, p, refused)
}

// page is one of the two pages; the other is absent.
type page struct {
	Advice *advised
	Terms  *terms
}
