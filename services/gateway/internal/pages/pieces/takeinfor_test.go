package pieces_test

import (
	"log/slog"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
	"time"

	"tackfree/pkg/clients"
	"tackfree/pkg/fault"
	"tackfree/services/gateway/internal/pages/pieces"
	"tackfree/services/gateway/internal/web"
)

// A piece that is taken in from a commission is that client's, and the commission gets it; where it does not take it,
// the piece is in all the same.
func TestTakeIn_ForACommission(t *testing.T) {
	c := &counter{}
	form := url.Values{"title": {"Chair"}, "kind": {"chair"}, "origin": {"client"}, "client": {"Ana <Ruiz>"}, "record": {"c1"}, "commission": {"o1"}, "bring_id": {"b2"}, "request_id": {"r1"}, "label": {"whole"}}
	status, _, header := send(t, c, "lead", "en", form)
	if status != http.StatusSeeOther || header.Get("Location") != "/commissions/o1" {
		t.Errorf("%d to %q", status, header.Get("Location"))
	}
	if r := c.asked.GetCommission(); r.ClientRecord != "clients/c1" || c.asked.RequestId != "r1" {
		t.Errorf("taken in by %v", c.asked)
	}
	if b := c.brought; b.Commission != "commissions/o1" || b.Piece != "pieces/p412" || b.RequestId != "b2" {
		t.Errorf("brought by %v", b)
	}
	c.unlike = fault.New(fault.Precondition, "COMMISSION_HAS_PIECE", "It has one.")
	status, _, header = send(t, c, "lead", "en", form)
	if status != http.StatusSeeOther || header.Get("Location") != "/pieces/412" || !strings.Contains(header.Get("Set-Cookie"), "takein.not.brought") {
		t.Errorf("%d to %q, saying %q", status, header.Get("Location"), header.Get("Set-Cookie"))
	}
}

// The form that is opened from a commission knows whose the piece is.
func TestTakeIn_OpenedFromACommission(t *testing.T) {
	kit := web.New(&web.Kit{Suite: &clients.Suite{Intake: &counter{}, Clients: &counter{}}, Keeper: &web.Keeper{Door: door{}, Now: time.Now}, Logger: slog.New(slog.DiscardHandler), Now: time.Now})
	kit.Handle(pieces.Page())
	r := httptest.NewRequestWithContext(t.Context(), http.MethodGet, "/pieces/new?client=c1&commission=o1", nil)
	r.AddCookie(&http.Cookie{Name: "tackfree_session", Value: "lead"})
	w := httptest.NewRecorder()
	kit.Handler().ServeHTTP(w, r)
	for _, want := range []string{`name="origin" value="client" required checked`, `name="client" maxlength="200" value="Ana &lt;Ruiz&gt;"`, `name="record" value="c1"`, `name="commission" value="o1"`, `name="bring_id"`} {
		if !strings.Contains(w.Body.String(), want) {
			t.Errorf("it does not say %q: %d %s", want, w.Code, w.Body)
		}
	}
}
