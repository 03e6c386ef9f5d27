package web

import (
	"net/http"

	"tackfree/pkg/fault"
)

// What those are told whose page it is not. The services refuse them too; this spares them a page of
// which nothing is left.
var (
	errForLeads  = fault.New(fault.Denied, "PAGE_FOR_LEADS", "This page is for the lead and the owner of the shop. Your own work is under My bench.")
	errForOwners = fault.New(fault.Denied, "PAGE_FOR_OWNERS", "This page is for the owner of the shop.")
)

// ForLeads keeps a page to leads and owners.
func ForLeads(h Handler) Handler { return only(User.Leads, errForLeads, h) }

// ForOwners keeps a page to owners.
func ForOwners(h Handler) Handler { return only(User.Owns, errForOwners, h) }

func only(may func(User) bool, refused error, h Handler) Handler {
	return func(w http.ResponseWriter, a *Asked) error {
		if !may(a.User) {
			return refused
		}
		return h(w, a)
	}
}
