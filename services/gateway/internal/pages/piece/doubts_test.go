package piece_test

import (
	"net/http"
	"net/http/httptest"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"

	costingv1 "tackfree/proto/tackfree/costing/v1"
)

// Every reason that the books can give for a cost that is not final is said in both languages, with what it is about.
func TestDoubts_InBothLanguages(t *testing.T) {
	source, err := os.ReadFile("../../../../../services/costing/internal/costing/provisional.go")
	if err != nil {
		t.Fatal(err)
	}
	given := regexp.MustCompile(`doubt\("([A-Z_]+)", "([^"]*)"`).FindAllStringSubmatch(string(source), -1)
	if len(given) < 12 {
		t.Fatalf("only %d reasons were read", len(given))
	}
	b := setup(t)
	cost := b.answers["GetPieceCost"].(*costingv1.GetPieceCostResponse).PieceCost
	for _, g := range given {
		details := slices.Repeat([]string{"2026-03-02"}, strings.Count(g[2], "%s"))
		cost.ProvisionalReasons = []string{"as the books say it"}
		cost.ProvisionalCauses = []*costingv1.ProvisionalCause{{Reason: g[1], Details: details}}
		for language, day := range map[string]string{"en": "2 Mar 2026", "es": "2 mar 2026"} {
			r := httptest.NewRequestWithContext(t.Context(), http.MethodGet, "/pieces/401/part/money", nil)
			r.Header.Set("Accept-Language", language)
			w := b.send(r, "owner")
			b.keeps(w, "as the books say it", "%!", "MISSING", "EXTRA")
			if got := strings.Count(w.Body.String(), day); len(details) > 0 && !strings.Contains(w.Body.String(), day) {
				t.Errorf("%s in %s: %d of %d details are said", g[1], language, got, len(details))
			}
		}
	}
	cost.ProvisionalCauses[0].Reason = "OF_A_LATER_RELEASE"
	b.says(b.get("owner", "/pieces/401/part/money"), http.StatusOK, "as the books say it")
}
