package plan

import (
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

	typev1 "tackfree/proto/tackfree/type/v1"
)

// What has no place in the plan says so in the reader's language: what is to be done, and why it has none.
func TestPage_UnplacedInSpanish(t *testing.T) {
	p := some()
	u := p.Unplaced[0]
	u.Title, u.Kind, u.Text = "hardware-on", "hardware_on", "Nobody who can do hardware-on has working days: Ada. Say when they work."
	u.Said = &typev1.Said{Reason: "NO_WORKING_DAYS", Figures: map[string]string{"stage": u.Title, "kind": u.Kind, "people": "Ada"}}
	r := httptest.NewRequestWithContext(t.Context(), http.MethodGet, "/plan", nil)
	r.Header.Set("Accept-Language", "es")
	_, shown := serve(t, &shop{role: typev1.Role_ROLE_LEAD, plan: p}).do(r)
	if want := "Nadie que pueda con poner herrajes tiene días de trabajo: Ada. Di cuándo trabajan."; !strings.Contains(shown, want) || strings.Contains(shown, "hardware-on") {
		t.Errorf("the page does not say %q", want)
	}
}

// Two coats of one part are told apart.
func TestBarOf_TwoCoats(t *testing.T) {
	first, second := some().Stages[1], some().Stages[1]
	first.Title, second.Title = "topcoat-1 (top)", "topcoat-2 (top)"
	if a, b := barOf(first, voice()).What, barOf(second, voice()).What; a != "topcoat coat 1, top" || b != "topcoat coat 2, top" {
		t.Errorf("two coats are %q and %q", a, b)
	}
}
