package people

import (
	"net/http"

	"tackfree/pkg/fault"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/gateway/internal/web"
)

// done answers a form about how somebody is let in.
func done(w http.ResponseWriter, a *web.Asked, said string, err error) error {
	if fault.Of(err) != nil {
		return showPersonWith(w, a, nil, err)
	}
	if err != nil {
		return err
	}
	return a.After(w, "/people/"+a.PathValue("id"), said)
}

func setRole(w http.ResponseWriter, a *web.Asked) error {
	_, err := a.Kit.Suite.SignIn.SetRole(a.Context(), &workflowv1.SetRoleRequest{RequestId: a.RequestID(), Person: "people/" + a.PathValue("id"), Role: roleOf(a.Typed("role"))})
	return done(w, a, "person.role.kept", err)
}

// setPin gives a helper a PIN. What was typed is shown in no answer.
func setPin(w http.ResponseWriter, a *web.Asked) error {
	_, err := a.Kit.Suite.SignIn.SetPin(a.Context(), &workflowv1.SetPinRequest{Person: "people/" + a.PathValue("id"), Pin: a.Typed("pin"), OldSecret: a.PostFormValue("old")})
	return done(w, a, "person.pin.kept", err)
}

func setPassphrase(w http.ResponseWriter, a *web.Asked) error {
	if a.PostFormValue("passphrase") != a.PostFormValue("once_more") {
		return done(w, a, "", fault.New(fault.Invalid, "PASSPHRASES_DIFFER", "%s", a.Voice.T("person.passphrases.differ")))
	}
	_, err := a.Kit.Suite.SignIn.SetPassphrase(a.Context(), &workflowv1.SetPassphraseRequest{Person: "people/" + a.PathValue("id"), Passphrase: a.PostFormValue("passphrase"),
		OldSecret: a.PostFormValue("old")})
	return done(w, a, "person.passphrase.kept", err)
}

func unlock(w http.ResponseWriter, a *web.Asked) error {
	_, err := a.Kit.Suite.SignIn.UnlockSignIn(a.Context(), &workflowv1.UnlockSignInRequest{RequestId: a.RequestID(), Person: "people/" + a.PathValue("id")})
	return done(w, a, "person.unlocked", err)
}

// endSession shuts a device out; its last access goes on for the few minutes that it has.
func endSession(w http.ResponseWriter, a *web.Asked) error {
	_, err := a.Kit.Suite.SignIn.EndSession(a.Context(), &workflowv1.EndSessionRequest{RequestId: a.RequestID(), Session: a.Typed("session")})
	return done(w, a, "person.session.ended", err)
}
