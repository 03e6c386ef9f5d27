package stock_test

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

	"google.golang.org/grpc"

	"tackfree/pkg/clients"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	"tackfree/services/gateway/internal/pages/stock"
	"tackfree/services/gateway/internal/web"
)

// noon is the moment by which all answers here are made: a Wednesday.
var noon = time.Date(2026, 3, 18, 17, 0, 0, 0, time.UTC)

// door lets anybody in whose secret is a role's name.
type door struct{}

func (door) Renew(_ context.Context, secret string) (web.Access, error) {
	role := map[string]typev1.Role{"helper": typev1.Role_ROLE_HELPER, "lead": typev1.Role_ROLE_LEAD, "owner": typev1.Role_ROLE_OWNER}[secret]
	return web.Access{User: web.User{Person: "people/1", Name: "Nadia", Role: role}, Token: secret, Expires: noon.Add(time.Hour)}, nil
}

// intake knows what the shop's figures are in, and its pieces.
type intake struct{ intakev1.IntakeServiceClient }

func (intake) GetShop(context.Context, *intakev1.GetShopRequest, ...grpc.CallOption) (*intakev1.GetShopResponse, error) {
	return &intakev1.GetShopResponse{CurrencyCode: "EUR", TimeZone: "Europe/Madrid"}, nil
}

func (intake) GetPiece(_ context.Context, r *intakev1.GetPieceRequest, _ ...grpc.CallOption) (*intakev1.GetPieceResponse, error) {
	return &intakev1.GetPieceResponse{Piece: &intakev1.Piece{Name: r.Name, Tag: 412}}, nil
}

// pages serves the pages of stock over a shelf.
func pages(t *testing.T, s *shelf) *reader {
	t.Helper()
	s.t = t
	suite := &clients.Suite{Intake: intake{}, Materials: materials{shelf: s}, Restock: restock{shelf: s}, Storage: storage{shelf: s}, Stock: entries{shelf: s}, Orders: orders{shelf: s},
		Catalogue: catalogue{shelf: s}, Suppliers: suppliers{shelf: s}, Needs: needs{shelf: s}, Mixes: mixes{shelf: s}, Equipment: equipment{shelf: s}}
	now := func() time.Time { return noon }
	kit := web.New(&web.Kit{Suite: suite, Keeper: &web.Keeper{Door: door{}, Now: now}, Logger: slog.New(slog.DiscardHandler), Now: now})
	kit.Handle(stock.Page())
	server := httptest.NewServer(kit.Handler())
	t.Cleanup(server.Close)
	return &reader{t: t, at: server.URL, role: "owner"}
}

// reader reads pages and fills in forms.
type reader struct {
	t              *testing.T
	at, role, lang string
}

func (r *reader) do(method, path string, form url.Values) (int, string) {
	r.t.Helper()
	req, err := http.NewRequestWithContext(r.t.Context(), method, r.at+path, strings.NewReader(form.Encode()))
	if err != nil {
		r.t.Fatal(err)
	}
	req.AddCookie(&http.Cookie{Name: "tackfree_session", Value: r.role})
	req.Header.Set("Accept-Language", r.lang)
	if form != nil {
		req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	}
	client := &http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	answer, err := client.Do(req)
	if err != nil {
		r.t.Fatal(err)
	}
	defer answer.Body.Close()
	b, err := io.ReadAll(answer.Body)
	if err != nil {
		r.t.Fatal(err)
	}
	if strings.Contains(string(b), "[stock.") || strings.Contains(string(b), "[can.") || strings.Contains(string(b), "[product.") || strings.Contains(string(b), "[sources.") || strings.Contains(string(b), "%!") {
		r.t.Errorf("%s has a text that is in no catalogue:\n%s", path, regexp.MustCompile(`\[[a-z_.]+\]|.{40}%!.*`).FindString(string(b)))
	}
	return answer.StatusCode, string(b)
}

func (r *reader) get(path string) string {
	r.t.Helper()
	status, body := r.do(http.MethodGet, path, nil)
	if status != http.StatusOK {
		r.t.Fatalf("GET %s = %d\n%s", path, status, body)
	}
	return body
}

var key = regexp.MustCompile(`data-form="([^"]*)"`)

// post sends a form with the key that pages give.
func (r *reader) post(path string, form url.Values) (int, string) {
	r.t.Helper()
	form.Set("form", key.FindStringSubmatch(r.get("/stock"))[1])
	return r.do(http.MethodPost, path, form)
}

func (r *reader) sees(body string, want ...string) {
	r.t.Helper()
	for _, w := range want {
		if !strings.Contains(body, w) {
			r.t.Errorf("the page does not say %q", w)
		}
	}
}
