// Package commissions is what clients order, and who they are.
//
//	/commissions               what needs somebody (package orders) and all by their state
//	/commissions/{id}          estimate, its versions side by side (versions), change orders, what is to be paid
//	   ├─ new, revise, change    a form of lines (draft): suggested by intake, typed, more of them ──POST──▶ intake
//	   ├─ approve, decline, bring, answer, finish ──POST──▶ intake
//	   ├─ cancel                 what would be owed, figure by figure, and only then ──POST──▶ intake
//	   └─ *.pdf                  letters (pkg/printed/commissioned)
//	/clients, /clients/{id}    who they are, their pieces and commissions
//	/commissions/terms, /letterhead   what holds of estimates that say nothing else; whose letters they are
//
// Leads see them as the services let them; terms and letterhead are changed by owners.
package commissions

import (
	"embed"
	"net/http"

	"tackfree/services/gateway/internal/web"
)

//go:embed *.html *.css
var files embed.FS

// Page is the pages of commissions and clients.
func Page() web.Page {
	routes := map[string]web.Handler{
		"GET /commissions":                          showList,
		"GET /commissions/new":                      showNew,
		"POST /commissions/new":                     begin,
		"GET /commissions/terms":                    showTerms,
		"POST /commissions/terms":                   web.ForOwners(setTerms),
		"GET /commissions/{id}":                     showOne,
		"GET /commissions/{id}/revise":              showRevise,
		"POST /commissions/{id}/revise":             revise,
		"GET /commissions/{id}/change":              showChange,
		"POST /commissions/{id}/change":             addChange,
		"POST /commissions/{id}/approve":            approve,
		"POST /commissions/{id}/decline":            decline,
		"POST /commissions/{id}/answer":             answerChange,
		"POST /commissions/{id}/bring":              bring,
		"POST /commissions/{id}/finish":             closeIt,
		"GET /commissions/{id}/cancel":              showCancel,
		"POST /commissions/{id}/cancel":             cancel,
		"GET /commissions/{id}/estimate.pdf":        estimatePDF,
		"GET /commissions/{id}/changes/{order}/pdf": changePDF,
		"GET /commissions/{id}/invoice.pdf":         invoicePDF,
		"GET /clients":                              showClients,
		"GET /clients/new":                          showNewClient,
		"POST /clients/new":                         addClient,
		"GET /clients/{id}":                         showClient,
		"POST /clients/{id}":                        changeClient,
		"POST /clients/{id}/retire":                 retireClient,
		"GET /letterhead":                           showLetterhead,
		"POST /letterhead":                          web.ForOwners(setLetterhead),
	}
	for pattern, h := range routes {
		routes[pattern] = web.ForLeads(h)
	}
	return web.Page{Files: files, Routes: routes}
}

// page is one of the pages; what the others show is absent.
type page struct {
	Tab     string
	List    *list
	One     *one
	Draft   *draft
	Cancel  *cancelling
	Clients *clientList
	Client  *clientPage
	Terms   *sheet
	Head    *sheet
}

// Tabs are the pages that can be gone to.
func (page) Tabs() []string {
	return []string{"commissions", "clients", "commissions/terms", "letterhead"}
}

// show answers with a page, and with why something was refused.
func show(w http.ResponseWriter, a *web.Asked, title string, p page, refused error) error {
	return a.ShowRefused(w, "commissions", title, p, refused)
}
