package door

import (
	"context"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"google.golang.org/grpc"

	"tackfree/pkg/clients"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/gateway/internal/web"
)

// shop has an owner or not, and lets in whoever has a secret.
type shop struct {
	workflowv1.SignInServiceClient
	intakev1.IntakeServiceClient
	owned bool
}

func (s shop) GetSignInState(context.Context, *workflowv1.GetSignInStateRequest, ...grpc.CallOption) (*workflowv1.GetSignInStateResponse, error) {
	return &workflowv1.GetSignInStateResponse{HasOwner: s.owned}, nil
}

func (s shop) GetShop(context.Context, *intakev1.GetShopRequest, ...grpc.CallOption) (*intakev1.GetShopResponse, error) {
	return &intakev1.GetShopResponse{CurrencyCode: "USD", TimeZone: "UTC"}, nil
}

func (s shop) Renew(_ context.Context, secret string) (web.Access, error) {
	role := map[string]typev1.Role{"lead": typev1.Role_ROLE_LEAD, "helper": typev1.Role_ROLE_HELPER}[secret]
	return web.Access{User: web.User{Person: "people/1", Name: "Nell", Role: role}, Token: "t", Expires: time.Now().Add(time.Hour)}, nil
}

// get asks for a page as whoever has a secret, "" for nobody, and gives the status, the page and where it leads.
func (s shop) get(t *testing.T, secret, path string) (status int, page, to string) {
	t.Helper()
	kit := web.New(&web.Kit{Suite: &clients.Suite{SignIn: s, Intake: s}, Keeper: &web.Keeper{Door: s, Now: time.Now}, Logger: slog.New(slog.DiscardHandler), Now: time.Now})
	kit.Handle(Page())
	r := httptest.NewRequestWithContext(t.Context(), http.MethodGet, path, nil)
	if secret != "" {
		r.AddCookie(&http.Cookie{Name: "tackfree_session", Value: secret})
	}
	w := httptest.NewRecorder()
	kit.Handler().ServeHTTP(w, r)
	return w.Code, w.Body.String(), w.Header().Get("Location")
}

// A shop is offered to whoever may become its owner as long as it has none; after that it says where to sign in.
func TestClaim_OfAShopWithAnOwner(t *testing.T) {
	for owned, says := range map[bool]string{false: `name="key"`, true: "This shop has its owner already."} {
		status, page, _ := shop{owned: owned}.get(t, "", "/claim")
		if status != http.StatusOK || !strings.Contains(page, says) {
			t.Errorf("owned %t: status %d, want %q in\n%s", owned, status, says, page)
		}
		if form, link := strings.Contains(page, `action="/claim"`), strings.Contains(page, `href="/sign-in"`); form == owned || link != owned {
			t.Errorf("owned %t: the form is there: %t, the way to sign in: %t", owned, form, link)
		}
	}
}

// Who has signed in is asked no second time who they are: they go to where they wanted, or to the page that is theirs.
func TestSignIn_OfWhoHas(t *testing.T) {
	for _, c := range []struct{ secret, path, to string }{
		{"lead", "/sign-in", "/"}, {"lead", "/", "/day"}, {"helper", "/", "/bench"},
		{"helper", "/sign-in?then=%2Fpieces", "/pieces"}, {"helper", "/sign-in?then=%2F%2Felsewhere.example", "/"},
	} {
		if status, _, to := (shop{}).get(t, c.secret, c.path); status != http.StatusSeeOther || to != c.to {
			t.Errorf("%s at %s: status %d to %q, want %q", c.secret, c.path, status, to, c.to)
		}
	}
	if status, page, _ := (shop{owned: true}).get(t, "", "/sign-in"); status != http.StatusOK || !strings.Contains(page, `action="/sign-in"`) {
		t.Errorf("nobody at /sign-in: status %d:\n%s", status, page)
	}
}
