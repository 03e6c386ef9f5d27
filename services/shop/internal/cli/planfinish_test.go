package cli

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

const plans = "../../../../testdata/plans/"

func planFinish(t *testing.T, args ...string) (out, errs string, code int) {
	t.Helper()
	var o, e bytes.Buffer
	code = Run(t.Context(), append([]string{"plan-finish"}, args...), &o, &e)
	return o.String(), e.String(), code
}

// The example's plan is the one that was looked at and found good.
func TestPlanFinish_Example(t *testing.T) {
	want, err := os.ReadFile(plans + "dresser.txt")
	if err != nil {
		t.Fatal(err)
	}
	out, errs, code := planFinish(t, plans+"dresser.json")
	if diff := cmp.Diff(string(want), out); code != 0 || diff != "" {
		t.Errorf("plan-finish exits %d: %s (-golden +got):\n%s", code, errs, diff)
	}
	explained, _, _ := planFinish(t, plans+"dresser.json", "--explain")
	if !strings.Contains(explained, "the wood would bleed into the light paint") {
		t.Errorf("--explain prints:\n%s", explained)
	}
}

func TestPlanFinish_JSON(t *testing.T) {
	out, errs, code := planFinish(t, plans+"dresser.json", "--json")
	var got planned
	if err := json.Unmarshal([]byte(out), &got); code != 0 || err != nil {
		t.Fatalf("plan-finish --json exits %d: %s, %v", code, errs, err)
	}
	last := got.Stages[len(got.Stages)-1]
	if len(got.Stages) != 57 || last.Key != "inspect" || got.Stages[6].Grit != "P150" || got.Stages[9].Product != "brown oil stain" || got.Stages[9].Wait != 480 {
		t.Errorf("%d stages, the last %+v", len(got.Stages), last)
	}
}

func TestPlanFinish_Refuses(t *testing.T) {
	good, err := os.ReadFile(plans + "dresser.json")
	if err != nil {
		t.Fatal(err)
	}
	for name, c := range map[string]struct{ from, to, want string }{
		"Unknown field":    {`"light"`, `"bright"`, `unknown field "bright"`},
		"Unknown use":      {`"stain": {`, `"varnish": {`, "there is no such use"},
		"No unit":          {`"8.6ft2"`, `"8.6"`, "has no unit of area"},
		"No such time":     {`"recoat": "8h"`, `"recoat": "a while"`, "products.stain"},
		"No such wood":     {`"veneer_mm": 0.5, "species": "oak"`, `"veneer_mm": 0.5, "species": "formica"`, "parts[0].species: \"formica\" is no wood that the rules know"},
		"Missing product":  {`"look": "stain"`, `"look": "natural oil"`, "wants a product"},
		"Stain on plastic": {`"material": "veneer", "veneer_mm": 0.5`, `"material": "laminate"`, "Only wood takes a stain"},
		"No JSON":          {`"piece":`, `piece:`, "invalid character"},
	} {
		file := filepath.Join(t.TempDir(), "piece.json")
		if err := os.WriteFile(file, []byte(strings.Replace(string(good), c.from, c.to, 1)), 0o600); err != nil {
			t.Fatal(err)
		}
		if out, errs, code := planFinish(t, file); code == 0 || !strings.Contains(errs, c.want) || out != "" {
			t.Errorf("%s: exits %d: %s%s, want %q", name, code, out, errs, c.want)
		}
	}
	if _, errs, code := planFinish(t, "nowhere.json"); code == 0 || !strings.Contains(errs, "nowhere.json") {
		t.Errorf("no file: exits %d: %s", code, errs)
	}
}
