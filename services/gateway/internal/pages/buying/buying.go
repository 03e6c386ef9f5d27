// Package buying is what an owner has in hand before a piece at a sale: what is seen goes in with one thumb,
// and what it may cost at most comes back on one screen.
//
//	/buying          sighting: a form, begun where the last one ended ──GET──▶ /buying/advice
//	/buying/advice   answer: verdict, most to pay, ranges, of twenty such pieces (dots), what decides (drivers)
//	                   ├─ asked again at another price: the same address with another price in it
//	                   └─ kept, bought or left ──POST──▶ intake ─▶ the piece, or
//	/buying/seen     what was seen, and the advice of then
//	/buying/sources  what came of the pieces of each source, compared
//	/buying/terms    what an hour is to earn, and what fetching costs
//
// An answer keeps nothing, so all that was typed stands in its address: it can be loaded again, and sent to
// somebody. Services decide and reckon; geometry is made here, of whole numbers.
package buying

import (
	"embed"
	"net/http"

	"tackfree/services/gateway/internal/web"
)

//go:embed *.html *.css
var files embed.FS

// Page is the pages of buying.
func Page() web.Page {
	routes := map[string]web.Handler{
		"GET /buying":                   showSighting,
		"GET /buying/advice":            advise,
		"POST /buying/keep":             keep,
		"GET /buying/seen":              showSeen,
		"GET /buying/seen/{id}":         showOne,
		"POST /buying/seen/{id}/bought": bought,
		"POST /buying/seen/{id}/left":   left,
		"GET /buying/sources":           showSources,
		"GET /buying/terms":             showTerms,
		"POST /buying/terms":            setTerms,
	}
	for pattern, h := range routes {
		routes[pattern] = web.ForOwners(h)
	}
	return web.Page{Files: files, Routes: routes}
}

// page is one of the pages; what the others show is absent.
type page struct {
	Tab     string
	Form    *form
	Answer  *answer
	Seen    *seen
	Terms   *terms
	Sources *sources
}

// Tabs are the pages that can be gone to.
func (page) Tabs() []string { return []string{"look", "seen", "sources", "terms"} }

// Address is where a tab is.
func (page) Address(tab string) string {
	if tab == "look" {
		return "/buying"
	}
	return "/buying/" + tab
}

// show answers with a page, and with why something was refused.
func show(w http.ResponseWriter, a *web.Asked, title string, p page, refused error) error {
	return a.ShowRefused(w, "buying", title, p, refused)
}
