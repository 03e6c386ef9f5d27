package web

import (
	"crypto/hmac"
	"crypto/sha256"
	"encoding/base64"
	"errors"
	"io"
	"mime"
	"net/http"
	"strings"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
)

// The fields that each form has beside its own.
const (
	formField    = "form"       // that it was shown by this shop to this session
	requestField = "request_id" // so that a form sent twice is done once
)

// longestForm is the most that a form may bring. Photos come another way.
const longestForm = 256 << 10

// formKey is what forms of a session carry: it follows from the session's secret, so that any copy of
// the gateway knows it, and no other site does.
func formKey(secret string) string {
	m := hmac.New(sha256.New, []byte(secret))
	m.Write([]byte("form"))
	return base64.RawURLEncoding.EncodeToString(m.Sum(nil))
}

// FormKey is what the forms of whoever asks carry: their session's, or before they have one their browser's.
func (a *Asked) FormKey() string {
	if a.User.SignedIn() {
		return formKey(a.secret)
	}
	return formKey(a.guest)
}

// FormHeader is where scripts send it.
const FormHeader = "X-Tackfree-Form"

// checkForm refuses what changes something and does not carry the key that this shop gave with its page.
func (a *Asked) checkForm(w http.ResponseWriter) error {
	if a.Method == http.MethodGet || a.Method == http.MethodHead {
		return nil
	}
	given := a.Header.Get(FormHeader)
	if given == "" && a.isUpload() {
		return a.checkUpload()
	}
	if given == "" {
		if err := a.ReadForm(w); err != nil {
			return err
		}
		given = a.PostFormValue(formField)
	}
	if !hmac.Equal([]byte(given), []byte(a.FormKey())) || !a.User.SignedIn() && a.guest == "" {
		return a.stale()
	}
	return nil
}

// stale tells why a form is not taken.
func (a *Asked) stale() error {
	if a.User.SignedIn() {
		return errStaleForm
	}
	return errStrangeForm
}

// otherSites tells by what a browser says of a request whether another site's page sent it.
var otherSites = http.NewCrossOriginProtection()

// sameSite refuses what changes something and comes from another site's page, whatever key it brings.
func sameSite(r *http.Request) error {
	if otherSites.Check(r) != nil {
		return errOtherSite
	}
	return nil
}

// ReadForm reads a form that is not too long.
func (a *Asked) ReadForm(w http.ResponseWriter) error {
	if kind, _, _ := mime.ParseMediaType(a.Header.Get("Content-Type")); kind != "application/x-www-form-urlencoded" {
		return errNotAForm
	}
	a.Body = http.MaxBytesReader(w, a.Body, longestForm)
	err := a.ParseForm()
	if errors.As(err, new(*http.MaxBytesError)) {
		return errLongForm
	}
	if err != nil {
		return errNotAForm
	}
	return nil
}

// Typed gives a field of the form without the blanks around it.
func (a *Asked) Typed(field string) string { return strings.TrimSpace(a.PostFormValue(field)) }

// RequestID gives the id under which the form's command is done once.
func (a *Asked) RequestID() string {
	if given := a.PostFormValue(requestField); given != "" {
		return given
	}
	return id.New().String()
}

// After sends the browser on to another page after a form, with something to say there: a key of the catalogue.
func (a *Asked) After(w http.ResponseWriter, to, said string) error {
	if said != "" {
		http.SetCookie(w, a.Kit.cookie(saidCookie, said, saidLasts))
	}
	http.Redirect(w, a.Request, to, http.StatusSeeOther)
	return nil
}

// Later is After for a script, which goes there itself.
func (a *Asked) Later(w http.ResponseWriter, to, said string) error {
	http.SetCookie(w, a.Kit.cookie(saidCookie, said, saidLasts))
	w.Header().Set("Content-Type", "text/plain; charset=utf-8")
	_, err := io.WriteString(w, to)
	return err
}

var (
	errSignIn      = fault.New(fault.Unauthenticated, "NOT_SIGNED_IN", "You are not signed in any more. Sign in and do it again.")
	errStaleForm   = fault.New(fault.Denied, "FORM_STALE", "This page was opened before you signed in, or by somebody else. Open it again and send it once more; nothing was changed.")
	errStrangeForm = fault.New(fault.Denied, "FORM_STRANGE", "This page was opened too long ago, or your browser keeps no cookies of this shop. Open it again and send it once more; nothing was changed.")
	errOtherSite   = fault.New(fault.Denied, "FORM_OF_ANOTHER_SITE", "Another site's page sent this. Open this shop's own page and do it there; nothing was changed.")
	errLongForm    = fault.New(fault.Exhausted, "FORM_TOO_LONG", "That is more than a form may hold, 256 kB. Nothing was changed.")
	errNotAForm    = fault.New(fault.Invalid, "FORM_UNREADABLE", "What was sent is not a form that this page can read. Nothing was changed.")
	errNoPage      = fault.New(fault.NotFound, "PAGE_NOT_FOUND", "There is no page at this address.")
)
