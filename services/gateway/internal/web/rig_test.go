package web

import (
	"context"
	"errors"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"sync/atomic"
	"testing"
	"testing/fstest"
	"time"

	"google.golang.org/grpc"

	"tackfree/pkg/clients"
	"tackfree/pkg/fault"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
)

// desk is a shop's desk of pages with people who have signed in: by secret.
type desk struct {
	*Kit
	now     time.Time
	people  map[string]User
	renewed atomic.Int64
	down    bool
	http    http.Handler
}

// Renew implements Door.
func (d *desk) Renew(_ context.Context, secret string) (Access, error) {
	d.renewed.Add(1)
	u, ok := d.people[secret]
	switch {
	case d.down:
		return Access{}, fault.New(fault.Unavailable, "AWAY", "Workflow cannot be reached at the moment.")
	case !ok:
		return Access{}, fault.New(fault.Unauthenticated, "SESSION_ENDED", "The session has ended. Sign in again.")
	}
	return Access{u, "token of " + u.Name, d.now.Add(5 * time.Minute)}, nil
}

type intake struct{ intakev1.IntakeServiceClient }

func (intake) GetShop(context.Context, *intakev1.GetShopRequest, ...grpc.CallOption) (*intakev1.GetShopResponse, error) {
	return &intakev1.GetShopResponse{CurrencyCode: "USD", TimeZone: "America/Chicago"}, nil
}

var nell = User{Person: "people/1", Name: "Nell", Role: typev1.Role_ROLE_HELPER}

// newDesk makes a desk with one page, on which somebody can leave a note.
func newDesk(t *testing.T) *desk {
	t.Helper()
	d := &desk{now: time.Date(2026, 3, 4, 18, 0, 0, 0, time.UTC), people: map[string]User{"nells": nell}}
	clock := func() time.Time { return d.now }
	d.Kit = New(&Kit{Suite: &clients.Suite{Intake: intake{}}, Keeper: &Keeper{Door: d, Now: clock}, Logger: slog.New(slog.DiscardHandler), Now: clock})
	d.Handle(Page{
		Files: fstest.MapFS{"note.html": {Data: []byte(`{{define "main"}}<h1>{{$.Title}}</h1><form method="post">{{template "hidden" $}}<input name="note" value="{{$.Data}}"></form>{{end}}{{define "one"}}{{$.Data}}{{end}}`)},
			"note.css": {Data: []byte("p{}")}},
		Routes: map[string]Handler{
			"GET /note": func(w http.ResponseWriter, a *Asked) error {
				return a.Show(w, "note", "Notes of "+a.User.Name, a.URL.Query().Get("note"))
			},
			"GET /part":  func(w http.ResponseWriter, a *Asked) error { return a.ShowPart(w, "note", "one", "part") },
			"GET /broke": func(http.ResponseWriter, *Asked) error { return errors.New("secret of the machine") },
			"POST /note": func(w http.ResponseWriter, a *Asked) error {
				if a.Typed("note") == "" {
					return a.ShowRefused(w, "note", "Notes", "", fault.New(fault.Invalid, "NOTE_EMPTY", "Write something."))
				}
				return a.After(w, "/note?note="+url.QueryEscape(a.Typed("note")), "preferences.saved")
			},
		},
	})
	d.http = d.Handler()
	return d
}

// ask asks as whoever has a session's secret.
func (d *desk) ask(method, path, secret, body string, change ...func(*http.Request)) *httptest.ResponseRecorder {
	r := httptest.NewRequest(method, path, strings.NewReader(body))
	if body != "" {
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	}
	if secret != "" {
		r.AddCookie(&http.Cookie{Name: sessionCookie, Value: secret})
	}
	for _, c := range change {
		c(r)
	}
	w := httptest.NewRecorder()
	d.http.ServeHTTP(w, r)
	return w
}

// withCookies makes a browser have these cookies and no others.
func withCookies(cookies []*http.Cookie) func(*http.Request) {
	return func(r *http.Request) {
		r.Header.Del("Cookie")
		for _, c := range cookies {
			r.AddCookie(&http.Cookie{Name: c.Name, Value: c.Value})
		}
	}
}

// askAsGuest asks as a browser in which nobody has signed in, with the key of the page that it looked at before.
func (d *desk) askAsGuest(method, path, body string, change ...func(*http.Request)) *httptest.ResponseRecorder {
	cookies := d.ask("GET", "/preferences", "", "").Result().Cookies()
	for _, c := range cookies {
		if c.Name == guestCookie {
			body += "&form=" + formKey(c.Value)
		}
	}
	return d.ask(method, path, "", body, append([]func(*http.Request){withCookies(cookies)}, change...)...)
}
