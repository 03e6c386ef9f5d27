package door

import (
	"net/http"

	"tackfree/pkg/fault"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/gateway/internal/web"
)

// showClaim asks a new shop's owner for a name and a passphrase. The one-time key is behind the # of
// the link, which no server and no log ever sees; a script puts it into the form. A shop that has its owner says so.
func showClaim(w http.ResponseWriter, a *web.Asked) error {
	return showClaimWith(w, a, asked{}, nil)
}

func showClaimWith(w http.ResponseWriter, a *web.Asked, it asked, refused error) error {
	state, err := a.Kit.Suite.SignIn.GetSignInState(a.Context(), &workflowv1.GetSignInStateRequest{})
	if err != nil {
		return err
	}
	it.Unclaimed = !state.HasOwner
	return a.ShowRefused(w, "claim", a.Voice.T("claim.title"), it, refused)
}

func claim(w http.ResponseWriter, a *web.Asked) error {
	if err := a.ReadForm(w); err != nil {
		return err
	}
	it := asked{Name: a.Typed("name")}
	if a.PostFormValue("secret") != a.PostFormValue("again") {
		return showClaimWith(w, a, it, fault.New(fault.Invalid, "PASSPHRASES_DIFFER", "The two passphrases are not the same. Type them once more."))
	}
	r, err := a.Kit.Suite.SignIn.ClaimShop(a.Context(), &workflowv1.ClaimShopRequest{Key: a.Typed("key"), DisplayName: it.Name,
		Passphrase: a.PostFormValue("secret"), Device: device(a)})
	if fault.Of(err) != nil {
		return showClaimWith(w, a, it, err)
	}
	if err != nil {
		return err
	}
	return enter(w, a, r.Admission, "/day")
}
