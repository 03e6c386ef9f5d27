// Package door lets people in and out: signing in, claiming a new shop for its owner.
package door

import (
	"context"
	"embed"
	"net/http"

	"tackfree/pkg/fault"
	typev1 "tackfree/proto/tackfree/type/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/gateway/internal/web"
)

//go:embed *.html *.js
var files embed.FS

// Door renews access at workflow.
type Door struct{ workflowv1.SignInServiceClient }

// Renew implements web.Door.
func (d Door) Renew(ctx context.Context, secret string) (web.Access, error) {
	r, err := d.RenewAccess(ctx, &workflowv1.RenewAccessRequest{Secret: secret})
	if err != nil {
		return web.Access{}, err
	}
	return accessOf(r.Admission), nil
}

func accessOf(m *workflowv1.Admission) web.Access {
	return web.Access{User: web.User{Person: m.Person, Name: m.DisplayName, Role: m.Role, ReadOnly: m.ReadOnly},
		Token: m.AccessToken, Expires: m.AccessExpireTime.AsTime()}
}

// Page is the door's pages.
func Page() web.Page {
	return web.Page{Files: files,
		Open: map[string]web.Handler{
			"GET /{$}": home, "GET /sign-in": show, "POST /sign-in": signIn, "GET /claim": showClaim, "POST /claim": claim,
		},
		Routes: map[string]web.Handler{"POST /sign-out": signOut},
	}
}

// home brings each to the page that is theirs: a helper to the bench, others to the day.
func home(w http.ResponseWriter, a *web.Asked) error {
	to := "/sign-in"
	switch {
	case a.User.Leads():
		to = "/day"
	case a.User.SignedIn():
		to = "/bench"
	}
	http.Redirect(w, a.Request, to, http.StatusSeeOther)
	return nil
}

// asked is what somebody typed, without its secret, and where they go from here.
type asked struct {
	Name, Then string
	Unclaimed  bool // nobody owns the shop
}

// show asks who somebody is; those who have signed in go on, to where they wanted or to the page that is theirs.
func show(w http.ResponseWriter, a *web.Asked) error {
	then := a.Back(a.URL.Query().Get("then"))
	if a.User.SignedIn() {
		return a.After(w, then, "")
	}
	return showWith(w, a, asked{Then: then}, nil)
}

func showWith(w http.ResponseWriter, a *web.Asked, it asked, refused error) error {
	state, err := a.Kit.Suite.SignIn.GetSignInState(a.Context(), &workflowv1.GetSignInStateRequest{})
	if err != nil {
		return err
	}
	it.Unclaimed = !state.HasOwner
	return a.ShowRefused(w, "door", a.Voice.T("door.title"), it, refused)
}

func signIn(w http.ResponseWriter, a *web.Asked) error {
	if err := a.ReadForm(w); err != nil {
		return err
	}
	it := asked{Name: a.Typed("name"), Then: a.Back(a.Typed("then"))}
	r, err := a.Kit.Suite.SignIn.SignIn(a.Context(), &workflowv1.SignInRequest{DisplayName: it.Name, Secret: a.Typed("secret"), Device: device(a)})
	if fault.Of(err) != nil {
		return showWith(w, a, it, err)
	}
	if err != nil {
		return err
	}
	return enter(w, a, r.Admission, it.Then)
}

func enter(w http.ResponseWriter, a *web.Asked, m *workflowv1.Admission, then string) error {
	a.Welcome(w, m.SessionSecret, accessOf(m))
	if then == "/" && m.Role == typev1.Role_ROLE_HELPER {
		then = "/bench"
	}
	return a.After(w, then, "")
}

// device names what somebody signs in with, so that they know it in the list of their sessions.
func device(a *web.Asked) string {
	agent := a.UserAgent()
	if len(agent) > 80 {
		agent = agent[:80]
	}
	return agent
}

func signOut(w http.ResponseWriter, a *web.Asked) error {
	secret := a.Leave(w)
	if _, err := a.Kit.Suite.SignIn.SignOut(a.Context(), &workflowv1.SignOutRequest{SessionSecret: secret}); err != nil {
		return err
	}
	return a.After(w, "/sign-in", "door.left")
}
