package web

import (
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
	"time"
)

func TestPage_WhoIsSignedInSeesIt(t *testing.T) {
	d := newDesk(t)
	w := d.ask("GET", "/note", "nells", "")
	if w.Code != 200 || !strings.Contains(w.Body.String(), "Notes of Nell") {
		t.Fatalf("%d: %s", w.Code, w.Body)
	}
	for header, want := range map[string]string{"Content-Security-Policy": "default-src 'none'", "X-Content-Type-Options": "nosniff", "Cache-Control": "no-store", "Referrer-Policy": "same-origin"} {
		if !strings.Contains(w.Header().Get(header), want) {
			t.Errorf("%s is %q", header, w.Header().Get(header))
		}
	}
	if strings.Contains(w.Header().Get("Content-Security-Policy"), "unsafe") {
		t.Error("the policy allows what is written into the page")
	}
}

func TestPage_OthersAreBroughtToTheDoorAndBack(t *testing.T) {
	d := newDesk(t)
	for _, secret := range []string{"", "somebody else's"} {
		w := d.ask("GET", "/note?note=a", secret, "")
		if w.Code != http.StatusSeeOther || w.Header().Get("Location") != "/sign-in?then="+url.QueryEscape("/note?note=a") {
			t.Errorf("%d to %q", w.Code, w.Header().Get("Location"))
		}
	}
	if w := d.ask("POST", "/note", "", "note=x"); w.Code != http.StatusUnauthorized {
		t.Errorf("a form of nobody: %d", w.Code)
	}
}

func TestForm(t *testing.T) {
	d := newDesk(t)
	key := url.QueryEscape(formKey("nells"))
	if w := d.ask("POST", "/note", "nells", "note=dry&form="+key); w.Code != http.StatusSeeOther {
		t.Errorf("a form: %d %s", w.Code, w.Body)
	}
	for name, body := range map[string]string{"none": "note=x", "another session's": "note=x&form=" + url.QueryEscape(formKey("others")), "half": "note=x&form=" + key[:10]} {
		w := d.ask("POST", "/note", "nells", body)
		if w.Code != http.StatusForbidden || !strings.Contains(w.Body.String(), "Open it again") {
			t.Errorf("a key that is %s: %d", name, w.Code)
		}
	}
	if w := d.ask("POST", "/note", "nells", "form="+key+"&note="+strings.Repeat("x", 5<<20)); w.Code != http.StatusRequestEntityTooLarge || !strings.Contains(w.Body.String(), "256 kB") {
		t.Errorf("five megabytes: %d", w.Code)
	}
	asJSON := func(r *http.Request) { r.Header.Set("Content-Type", "application/json") }
	if w := d.ask("POST", "/note", "nells", "{}", asJSON); w.Code != http.StatusBadRequest {
		t.Errorf("JSON: %d", w.Code)
	}
	if w := d.ask("POST", "/note", "nells", "form="+key); w.Code != http.StatusBadRequest || !strings.Contains(w.Body.String(), "Write something.") {
		t.Errorf("a refused one: %d %s", w.Code, w.Body)
	}
}

// Another site's page changes nothing here, also for who has not signed in; a link from it leads here, and a program
// that is no browser says nothing of sites.
func TestForm_OfAnotherSite(t *testing.T) {
	d := newDesk(t)
	for name, c := range map[string]struct {
		method, header, value string
		code                  int
	}{
		"from another site":       {"POST", "Sec-Fetch-Site", "cross-site", http.StatusForbidden},
		"by an older browser":     {"POST", "Origin", "http://elsewhere.example", http.StatusForbidden},
		"from here":               {"POST", "Sec-Fetch-Site", "same-origin", http.StatusSeeOther},
		"from here, older":        {"POST", "Origin", "http://example.com", http.StatusSeeOther},
		"by what is no browser":   {"POST", "Accept", "text/html", http.StatusSeeOther},
		"a link from another one": {"GET", "Sec-Fetch-Site", "cross-site", http.StatusOK},
	} {
		w := d.askAsGuest(c.method, "/preferences", "language=es&units=metric&clock=24&theme=light", func(r *http.Request) { r.Header.Set(c.header, c.value) })
		if w.Code != c.code || (w.Code == http.StatusForbidden) != strings.Contains(w.Body.String(), "nothing was changed") || w.Code == http.StatusForbidden && len(w.Result().Cookies()) > 0 {
			t.Errorf("%s: %d, want %d: %s", name, w.Code, c.code, w.Body)
		}
	}
}

// Before anybody has signed in, forms carry the key of their browser, and no other one's.
func TestForm_BeforeSigningIn(t *testing.T) {
	d := newDesk(t)
	another := d.ask("GET", "/preferences", "", "").Result().Cookies()
	for name, w := range map[string]*httptest.ResponseRecorder{
		"no key, no cookie": d.ask("POST", "/preferences", "", "language=es"),
		"a key of nothing":  d.ask("POST", "/preferences", "", "language=es&form="+formKey("")),
		"no key":            d.ask("POST", "/preferences", "", "language=es", withCookies(another)),
		"another's key":     d.askAsGuest("POST", "/preferences", "language=es", withCookies(another)),
	} {
		if w.Code != http.StatusForbidden || !strings.Contains(w.Body.String(), "FORM_STRANGE") || len(w.Result().Cookies()) > 0 {
			t.Errorf("%s: %d %s", name, w.Code, w.Body)
		}
	}
	if w := d.askAsGuest("POST", "/preferences", "language=es"); w.Code != http.StatusSeeOther {
		t.Errorf("the browser's own: %d %s", w.Code, w.Body)
	}
	if c := another[0]; !c.HttpOnly || c.SameSite != http.SameSiteLaxMode || len(c.Value) < 26 {
		t.Errorf("the browser's secret is kept as %+v", c)
	}
}

func TestPage_WhatIsTypedIsInert(t *testing.T) {
	d := newDesk(t)
	w := d.ask("GET", "/note?note="+url.QueryEscape(`"><script>alert(1)</script>`), "nells", "")
	if strings.Contains(w.Body.String(), "<script>alert") {
		t.Error("it would run")
	}
}

func TestSaid_OnceAndOnlyWhatTheCatalogueSays(t *testing.T) {
	d := newDesk(t)
	said := func(value string) func(*http.Request) {
		return func(r *http.Request) { r.AddCookie(&http.Cookie{Name: saidCookie, Value: value}) }
	}
	w := d.ask("GET", "/note", "nells", "", said("preferences.saved"))
	if !strings.Contains(w.Body.String(), `class="said"`) || !strings.Contains(strings.Join(w.Header().Values("Set-Cookie"), ""), saidCookie+"=;") {
		t.Error("it is not said, or would be again")
	}
	if w := d.ask("GET", "/note", "nells", "", said("pay 500 to me")); strings.Contains(w.Body.String(), "pay 500") {
		t.Error("a cookie is said as it is")
	}
}

func TestExplain(t *testing.T) {
	d := newDesk(t)
	w := d.ask("GET", "/broke", "nells", "")
	if w.Code != 500 || strings.Contains(w.Body.String(), "secret of the machine") || !strings.Contains(w.Body.String(), "written down") {
		t.Errorf("a fault of ours: %d %s", w.Code, w.Body)
	}
	if w := d.ask("GET", "/nowhere", "nells", ""); w.Code != 404 || !strings.Contains(w.Body.String(), "no page at this address") {
		t.Errorf("nowhere: %d", w.Code)
	}
	script := func(r *http.Request) { r.Header.Set("Sec-Fetch-Dest", "empty") }
	if w := d.ask("GET", "/broke", "nells", "", script); !strings.HasPrefix(w.Body.String(), `{"error"`) {
		t.Errorf("to a script: %s", w.Body)
	}
	d.down, d.now = true, d.now.Add(time.Hour)
	if w := d.ask("GET", "/note", "nells", ""); w.Code != 503 || !strings.Contains(w.Body.String(), "cannot be reached") {
		t.Errorf("while the services are away: %d", w.Code)
	}
}

func TestKeeper_RenewsBeforeTheEndAndForgets(t *testing.T) {
	d := newDesk(t)
	for range 3 {
		d.ask("GET", "/note", "nells", "")
	}
	if n := d.renewed.Load(); n != 1 {
		t.Errorf("renewed %d times in a moment", n)
	}
	d.now = d.now.Add(5*time.Minute - early)
	d.ask("GET", "/note", "nells", "")
	if n := d.renewed.Load(); n != 2 {
		t.Errorf("renewed %d times when it was about to end", n)
	}
	delete(d.people, "nells")
	d.now = d.now.Add(5 * time.Minute)
	if w := d.ask("GET", "/note", "nells", ""); w.Code != http.StatusSeeOther {
		t.Errorf("after the session ended: %d", w.Code)
	}
}

func TestShowPart_NotTwice(t *testing.T) {
	d := newDesk(t)
	w := d.ask("GET", "/part", "nells", "")
	again := d.ask("GET", "/part", "nells", "", func(r *http.Request) { r.Header.Set("If-None-Match", w.Header().Get("ETag")) })
	if w.Body.String() != "part" || again.Code != http.StatusNotModified || again.Body.Len() > 0 {
		t.Errorf("%q, then %d", w.Body, again.Code)
	}
}

func TestPreferences(t *testing.T) {
	d := newDesk(t)
	w := d.askAsGuest("POST", "/preferences", "language=es&units=imperial&clock=12&theme=dark&then="+url.QueryEscape("//elsewhere.example/x"))
	if w.Code != http.StatusSeeOther || w.Header().Get("Location") != "/" {
		t.Fatalf("%d to %q", w.Code, w.Header().Get("Location"))
	}
	cookies := w.Result().Cookies()
	got := d.ask("GET", "/preferences", "", "", withCookies(cookies)).Body.String()
	for _, want := range []string{`lang="es"`, `data-theme="dark"`, `value="12" checked`, `value="imperial" checked`} {
		if !strings.Contains(got, want) {
			t.Errorf("the page has no %s", want)
		}
	}
}

func TestBack(t *testing.T) {
	a := &Asked{}
	for to, want := range map[string]string{"/day": "/day", "/pieces/7?x=1": "/pieces/7?x=1", "": "/", "https://elsewhere.example": "/", "//elsewhere.example": "/", `/\elsewhere.example`: "/", "day": "/"} {
		if got := a.Back(to); got != want {
			t.Errorf("Back(%q) = %q, want %q", to, got, want)
		}
	}
}

func TestStatic(t *testing.T) {
	d := newDesk(t)
	w := d.ask("GET", "/static/note.css", "", "")
	if w.Code != 200 || !strings.HasPrefix(w.Header().Get("Content-Type"), "text/css") {
		t.Errorf("a style: %d %s", w.Code, w.Header().Get("Content-Type"))
	}
	again := d.ask("GET", "/static/note.css", "", "", func(r *http.Request) { r.Header.Set("If-None-Match", w.Header().Get("ETag")) })
	if again.Code != http.StatusNotModified {
		t.Errorf("again: %d", again.Code)
	}
	for _, path := range []string{"/static/note.html", "/static/none.css", "/static/..%2fweb.go", "/static/base%2fbase.css"} {
		if w := d.ask("GET", path, "", ""); w.Code != 404 {
			t.Errorf("%s: %d", path, w.Code)
		}
	}
}
