package edge_test

import (
	"errors"
	"net/http"
	"net/http/httptest"
	"slices"
	"strings"
	"testing"

	"google.golang.org/genproto/googleapis/type/date"

	"tackfree/pkg/fault"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	"tackfree/services/gateway/internal/edge"
)

// Who asks goes to the service as an access token, and nothing that a client puts into headers.
func TestAdmit_SendsTheTokenAndNothingElse(t *testing.T) {
	h, s := setup(t)
	serve(h, ask("GET", "/v1/pieces/tag:7", "", "Grpc-Metadata-Tackfree-Actor", "Odile", "Grpc-Metadata-Authorization", "Bearer odile",
		"Grpc-Metadata-X-Bin", "AA==", "Grpc-Timeout", "1n", "Tackfree-Actor", "Odile", "X-Forwarded-For", "10.9.9.9", "Cookie", "session=odile", "Traceparent", "x"))
	c := s.last(t)
	if c.token != "access of nell" {
		t.Errorf("the token is %q, want Nell's", c.token)
	}
	for key, values := range c.metadata {
		if known := []string{"x-forwarded-host", "x-forwarded-for"}; !slices.Contains(known, key) || strings.Contains(strings.Join(values, ""), "10.9.9.9") {
			t.Errorf("%s: %q went on", key, values)
		}
	}
	if got := c.request.(*intakev1.GetPieceRequest).Name; got != "pieces/tag:7" {
		t.Errorf("asked for %q", got)
	}
}

func TestAdmit_SaysWhoMayNot(t *testing.T) {
	h, s := setup(t)
	refused(t, h, s, ask("GET", "/v1/pieces", "", "Authorization", ""), 401, "SIGN_IN_NEEDED")
	refused(t, h, s, ask("GET", "/v1/pieces?x=1", "", "Authorization", ""), 401, "SIGN_IN_NEEDED")
	for _, c := range []struct {
		err    error
		status int
		reason string
	}{
		{fault.New(fault.Unauthenticated, "SESSION_ENDED", "It has."), 401, "SESSION_ENDED"},
		{errors.New("no such table"), 500, "INTERNAL"},
	} {
		h, s := setup(t, func(e *edge.Config) { e.Token = func(*http.Request) (string, error) { return "kept", c.err } })
		refused(t, h, s, ask("GET", "/v1/pieces", ""), c.status, c.reason)
	}
}

// What comes before somebody has signed in needs no token, and takes none.
func TestAdmit_Visitors(t *testing.T) {
	h, s := setup(t)
	for _, headers := range [][]string{{"Authorization", ""}, {"Authorization", "", "Cookie", "session=nell"}, {"Authorization", "Bearer nell"}} {
		if w := serve(h, ask("POST", "/v1/signIn", `{}`, headers...)); w.Code != http.StatusOK {
			t.Errorf("%d %s", w.Code, w.Body)
		}
		if c := s.last(t); c.token != "" {
			t.Errorf("a visitor's call went with %q", c.token)
		}
	}
	refused(t, h, s, ask("POST", "/v1/signIn", `{}`, "Authorization", "", "Content-Type", "text/plain"), 415, "CONTENT_TYPE")
}

// No other site can give a command by somebody's session.
func TestAdmit_OtherSites(t *testing.T) {
	h, s := setup(t)
	own := []string{"Authorization", "", "Cookie", "session=nell", "X-Requested-With", "tackfree", "Sec-Fetch-Site", "same-origin"}
	with := func(more ...string) []string { return append(slices.Clone(own), more...) }
	for name, c := range map[string]struct {
		headers []string
		taken   bool
	}{
		"OwnPage":       {own, true},
		"TypedByHand":   {with("Sec-Fetch-Site", "none"), true},
		"Bearer":        {[]string{"Sec-Fetch-Site", "cross-site"}, true},
		"NoHeader":      {with("X-Requested-With", ""), false},
		"OtherHeader":   {with("X-Requested-With", "XMLHttpRequest"), false},
		"CrossSite":     {with("Sec-Fetch-Site", "cross-site"), false},
		"SameSite":      {with("Sec-Fetch-Site", "same-site"), false},
		"OldBrowser":    {with("Sec-Fetch-Site", ""), false},
		"EmptyBearer":   {with("Authorization", "Bearer ", "X-Requested-With", ""), false},
		"BasicWithForm": {with("Authorization", "Basic bmVsbDp4", "X-Requested-With", ""), false},
	} {
		for _, target := range []string{"POST /v1/pieces/7:scrap", "POST /v1/books:rebuild", "PUT /v1/stations/7", "PATCH /v1/people/7"} {
			verb, path, _ := strings.Cut(target, " ")
			if !c.taken {
				refused(t, h, s, ask(verb, path, "{}", c.headers...), 403, "FROM_ANOTHER_SITE")
				continue
			}
			if w := serve(h, ask(verb, path, "{}", c.headers...)); w.Code != http.StatusOK {
				t.Errorf("%s %s: %d %s", name, target, w.Code, w.Body)
			}
			s.last(t)
		}
	}
	if w := serve(h, ask("GET", "/v1/pieces", "", "Authorization", "", "Cookie", "session=nell")); w.Code != http.StatusOK || s.last(t).token != "access of nell" {
		t.Errorf("a session cannot read: %d %s", w.Code, w.Body)
	}
}

// Other sites' pages may call only if they are named, and then without a session.
func TestOrigins(t *testing.T) {
	plain, _ := setup(t)
	named, s := setup(t, func(c *edge.Config) { c.Origins = []string{"https://desk.example"} })
	preflight := func(origin string) *http.Request {
		r := httptest.NewRequest("OPTIONS", "/v1/pieces", nil)
		r.Header.Set("Origin", origin)
		r.Header.Set("Access-Control-Request-Method", "POST")
		return r
	}
	for name, c := range map[string]struct {
		h       http.Handler
		request *http.Request
		status  int
		allowed string
	}{
		"Off":            {plain, ask("GET", "/v1/pieces", "", "Origin", "https://desk.example"), 200, ""},
		"OffPreflight":   {plain, preflight("https://desk.example"), 405, ""},
		"Named":          {named, ask("GET", "/v1/pieces", "", "Origin", "https://desk.example"), 200, "https://desk.example"},
		"NamedPreflight": {named, preflight("https://desk.example"), 204, "https://desk.example"},
		"Other":          {named, ask("GET", "/v1/pieces", "", "Origin", "https://desk.example.evil.example"), 200, ""},
		"OtherPreflight": {named, preflight("http://desk.example"), 405, ""},
		"Null":           {named, preflight("null"), 405, ""},
	} {
		w := serve(c.h, c.request)
		if got := w.Header().Get("Access-Control-Allow-Origin"); w.Code != c.status || got != c.allowed {
			t.Errorf("%s: %d, allowed %q, want %d %q", name, w.Code, got, c.status, c.allowed)
		}
		for header := range w.Header() {
			if strings.HasPrefix(header, "Access-Control-") && (c.allowed == "" || header == "Access-Control-Allow-Credentials") {
				t.Errorf("%s: %s is sent", name, header)
			}
		}
		if wants := c.h == named; slices.Contains(w.Header().Values("Vary"), "Origin") != wants {
			t.Errorf("%s: Vary is %v", name, w.Header().Values("Vary"))
		}
	}
	s.calls = nil
	refused(t, named, s, ask("POST", "/v1/pieces", "{}", "Origin", "https://desk.example", "Authorization", "", "Cookie", "session=nell"), 403, "FROM_ANOTHER_SITE")
}

// A day can be written as people write it, and as the contract has it.
func TestQuery_Days(t *testing.T) {
	h, s := setup(t)
	for _, query := range []string{"date=2026-03-02", "date.year=2026&date.month=3&date.day=2"} {
		if w := serve(h, ask("GET", "/v1/payrollWeek?"+query, "")); w.Code != http.StatusOK {
			t.Errorf("%s: %d %s", query, w.Code, w.Body)
		}
		got := s.last(t).request.(*costingv1.GetPayrollWeekRequest).Date
		if want := (&date.Date{Year: 2026, Month: 3, Day: 2}); got.GetYear() != want.Year || got.GetMonth() != want.Month || got.GetDay() != want.Day {
			t.Errorf("%s is %v", query, got)
		}
	}
}

func TestNew_NeedsEveryService(t *testing.T) {
	if _, err := edge.New(edge.Config{Conns: failing}); err == nil || !strings.Contains(err.Error(), "costing") {
		t.Errorf("New without connections = %v", err)
	}
}
