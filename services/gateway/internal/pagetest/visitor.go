// Package pagetest asks for pages as a browser does whose person has signed in. Test rig.
package pagetest

import (
	"context"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"net/url"
	"regexp"
	"strings"
	"testing"
	"time"

	"tackfree/pkg/clients"
	typev1 "tackfree/proto/tackfree/type/v1"
	"tackfree/services/gateway/internal/web"
)

// Visitor is somebody who has signed in.
type Visitor struct {
	t    testing.TB
	at   string
	form string // a page that has a form
	// Language is what their browser asks for, such as en-US; empty: nothing.
	Language string
}

// door lets everybody in, with one role.
type door struct {
	role typev1.Role
	now  time.Time
}

// Renew implements web.Door.
func (d door) Renew(context.Context, string) (web.Access, error) {
	return web.Access{User: web.User{Person: "people/1", Name: "Nell", Role: d.role}, Token: "t", Expires: d.now.Add(time.Hour)}, nil
}

// Visit serves pages over a suite, at an hour, to somebody of a role; form is a page of theirs that has
// a form.
func Visit(t testing.TB, page web.Page, suite *clients.Suite, role typev1.Role, now time.Time, form string) *Visitor {
	t.Helper()
	clock := func() time.Time { return now }
	kit := web.New(&web.Kit{Keeper: &web.Keeper{Door: door{role: role, now: now}, Now: clock}, Logger: slog.New(slog.DiscardHandler), Now: clock, Suite: suite})
	kit.Handle(page)
	server := httptest.NewServer(kit.Handler())
	t.Cleanup(server.Close)
	return &Visitor{t: t, at: server.URL, form: form}
}

// do asks and gives the status and the body, with where it leads.
func (v *Visitor) do(method, path string, fields url.Values) (int, string) {
	v.t.Helper()
	r, err := http.NewRequestWithContext(v.t.Context(), method, v.at+path, strings.NewReader(fields.Encode()))
	if err != nil {
		v.t.Fatal(err)
	}
	r.AddCookie(&http.Cookie{Name: "tackfree_session", Value: "secret"})
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	r.Header.Set("Accept-Language", v.Language)
	client := &http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	answer, err := client.Do(r)
	if err != nil {
		v.t.Fatal(err)
	}
	defer func() { _ = answer.Body.Close() }()
	b, err := io.ReadAll(answer.Body)
	if err != nil {
		v.t.Fatal(err)
	}
	return answer.StatusCode, string(b) + answer.Header.Get("Location")
}

// Get asks for a page.
func (v *Visitor) Get(path string) (int, string) { return v.do(http.MethodGet, path, nil) }

var formKey = regexp.MustCompile(`data-form="([^"]+)"`)

// Send sends a form with the key that pages of this session have.
func (v *Visitor) Send(path string, fields url.Values) (int, string) {
	v.t.Helper()
	_, body := v.Get(v.form)
	key := formKey.FindStringSubmatch(body)
	if key == nil {
		v.t.Fatalf("no form:\n%s", body)
	}
	fields.Set("form", key[1])
	return v.do(http.MethodPost, path, fields)
}

// Want checks an answer: its status, what it says and what it does not.
func Want(t testing.TB, what string, status, wantStatus int, body string, says, hides []string) {
	t.Helper()
	if status != wantStatus {
		t.Errorf("%s: status %d, want %d", what, status, wantStatus)
	}
	for _, s := range says {
		if !strings.Contains(body, s) {
			t.Errorf("%s does not say %q:\n%s", what, s, body)
		}
	}
	for _, s := range hides {
		if strings.Contains(body, s) {
			t.Errorf("%s says %q:\n%s", what, s, body)
		}
	}
}
