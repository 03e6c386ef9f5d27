// Package people is who works in the shop: what they can do, when they are there, what they are on, and
// how they and other programs are let in.
//
//	/people ─────────── everybody, with their week drawn and what they are on now
//	  ├─ /people/{id} ── one: skills, hours, days off; role, PIN or passphrase, devices
//	  ├─ /people/new ─── somebody new
//	  └─ /people/programs  programs that are let in, whose secrets are shown once
//
// Pay is not here. Who may change what the services decide; the pages leave away what they would refuse.
package people

import (
	"context"
	"embed"
	"net/http"
	"path"

	"tackfree/pkg/clients"
	typev1 "tackfree/proto/tackfree/type/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/gateway/internal/web"
)

//go:embed *.html *.css
var files embed.FS

// Page is the pages of people.
func Page() web.Page {
	return web.Page{Files: files, Routes: map[string]web.Handler{
		"GET /people":                   showList,
		"GET /people/part/list":         partList,
		"GET /people/me":                toMe,
		"GET /people/new":               showNew,
		"POST /people":                  add,
		"GET /people/{id}":              showPerson,
		"POST /people/{id}":             change,
		"POST /people/{id}/role":        setRole,
		"POST /people/{id}/pin":         setPin,
		"POST /people/{id}/passphrase":  setPassphrase,
		"POST /people/{id}/unlock":      unlock,
		"POST /people/{id}/end-session": endSession,
		"GET /people/programs":          showPrograms,
		"POST /people/programs":         createProgram,
		"POST /people/programs/revoke":  revokeProgram,
	}}
}

// many is how much of a list is asked for at once: what services give at most.
const many = 1000

// roles are what somebody can be in the shop, as forms have them.
var roles = []role{
	{"helper", typev1.Role_ROLE_HELPER}, {"lead", typev1.Role_ROLE_LEAD}, {"owner", typev1.Role_ROLE_OWNER},
}

type role struct {
	Word string
	Role typev1.Role
}

func roleOf(word string) typev1.Role {
	for _, r := range roles {
		if r.Word == word {
			return r.Role
		}
	}
	return typev1.Role_ROLE_UNSPECIFIED
}

func wordOf(it typev1.Role) string {
	for _, r := range roles {
		if r.Role == it {
			return r.Word
		}
	}
	return "nobody"
}

func everybody(ctx context.Context, s *clients.Suite) ([]*workflowv1.Person, error) {
	return clients.All(ctx, func(ctx context.Context, token string) ([]*workflowv1.Person, string, error) {
		r, err := s.People.ListPeople(ctx, &workflowv1.ListPeopleRequest{PageSize: many, PageToken: token})
		return r.GetPeople(), r.GetNextPageToken(), err
	})
}

// toMe brings somebody to their own page.
func toMe(w http.ResponseWriter, a *web.Asked) error {
	http.Redirect(w, a.Request, "/people/"+path.Base(a.User.Person), http.StatusSeeOther)
	return nil
}
