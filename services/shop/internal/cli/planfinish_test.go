package cli

import (
	"bytes"
	"encoding/json"
	"math"
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

// The examples' plans are those that were looked at and found good.
func TestPlanFinish_Examples(t *testing.T) {
	t.Parallel()
	for name, because := range map[string][]string{"dresser": {"the wood would bleed into the light paint", "the film is looked at in raking light"},
		"sideboard": {"the pores are brushed out along the grain", "a crosshatch and tape try it", "drawers, doors, locks and pulls are tried"}} {
		want, err := os.ReadFile(plans + name + ".txt")
		if err != nil {
			t.Fatal(err)
		}
		out, errs, code := planFinish(t, plans+name+".json")
		if diff := cmp.Diff(string(want), out); code != 0 || diff != "" {
			t.Errorf("%s: plan-finish exits %d: %s (-golden +got):\n%s", name, code, errs, diff)
		}
		explained, _, _ := planFinish(t, plans+name+".json", "--explain")
		for _, why := range because {
			if !strings.Contains(explained, why) {
				t.Errorf("%s: --explain does not say %q:\n%s", name, why, explained)
			}
		}
	}
}

func planJSON(t *testing.T, name string) (got planned) {
	t.Helper()
	out, errs, code := planFinish(t, plans+name+".json", "--json")
	if err := json.Unmarshal([]byte(out), &got); code != 0 || err != nil {
		t.Fatalf("plan-finish --json exits %d: %s, %v", code, errs, err)
	}
	return got
}

func TestPlanFinish_JSON(t *testing.T) {
	t.Parallel()
	got := planJSON(t, "dresser")
	last := got.Stages[len(got.Stages)-1]
	if len(got.Stages) != 60 || last.Key != "inspect" || last.Needs != "cured" || got.Stages[6].Grit != "P150" || got.Stages[9].Product != "brown oil stain" || got.Stages[9].Wait != 8*60 {
		t.Errorf("%d stages, the last %+v", len(got.Stages), last)
	}
	notes := map[string]string{}
	for _, f := range got.Findings {
		notes[f.Rule] = f.Title
		if f.Severity != "note" || got.Stages[f.Stage].Key == "" || f.Says == "" || f.Why == "" || f.Instead == "" {
			t.Errorf("finding %+v", f)
		}
	}
	if diff := cmp.Diff(map[string]string{"marks": "stain (top)", "silicone": "stain (top)"}, notes); diff != "" {
		t.Errorf("findings (-want +got):\n%s", diff)
	}
}

// What is worth knowing of a plan is said below it, each rule once.
func TestPlanFinish_Notes(t *testing.T) {
	t.Parallel()
	out, errs, code := planFinish(t, plans+"sideboard.json")
	if code != 0 || strings.Count(out, "NOTE") != 1 || !strings.Contains(out, "NOTE at stain (left door), stain (right door): Filler takes a stain otherwise") {
		t.Errorf("exits %d: %s\n%s", code, errs, out)
	}
}

// Two coats of 30 µm at 24 % solids by HVLP on 0.6 m²: 0.6 × 30 ÷ 240 ÷ 0.65 L each, and
// 40 mL in the gun, of what is thinned by 15 %.
func TestPlanFinish_Takes(t *testing.T) {
	t.Parallel()
	got := planJSON(t, "sideboard")
	each := 0.6*30/240/0.65 + 0.04/1.15
	coats := 0
	for _, s := range got.Stages {
		if s.Part == "legs" && s.Product == "satin lacquer" {
			coats++
			if math.Abs(s.Litres-each) > 1e-9 || s.Station != "booth" || s.Skill != "spray" || s.Key == "topcoat" && s.Latest != 48*60 {
				t.Errorf("%s takes %v L, want %v; %+v", s.Key, s.Litres, each, s)
			}
		}
	}
	for _, a := range got.Amounts {
		if a.ID == "lacquer" && (a.Coats != 8 || math.Abs(a.Litres-1.215) > 0.001) {
			t.Errorf("the piece takes %+v", a)
		}
	}
	if coats != 2 || len(got.Amounts) != 9 {
		t.Errorf("%d coats on the legs, %d products", coats, len(got.Amounts))
	}
}

func TestPlanFinish_Refuses(t *testing.T) {
	t.Parallel()
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
		"Own products":     {`"label": "top",`, `"label": "top", "products": {"paint": {"film": "1.5"}},`, "parts[0].products.paint"},
		"Own unknown use":  {`"label": "top",`, `"label": "top", "products": {"tar": {}},`, "parts[0].products.tar: there is no such use"},
		"No such method":   {`"name": "clear coat",`, `"name": "clear coat", "method": "bucket",`, "is no way to apply a coating"},
		"No family":        {`"family": "water-borne acrylic", "light"`, `"light"`, "products.paint.family"},
		"Named only":       {`"stain": {"name": "brown oil stain", "family": "alkyd or oil varnish", "recoat": "8h", "cure": "3d"}`, `"stain": "brown oil stain"`, "products.stain: \"brown oil stain\" is only named"},
		"No film":          {`"name": "clear coat",`, `"name": "clear coat", "film": "0um",`, "products.topcoat.film: dry film is 0 µm; it must be above 0 µm"},
		"No transfer":      {`"name": "clear coat",`, `"name": "clear coat", "transfer": "0%",`, "products.topcoat.transfer: transfer efficiency is 0 %; it must be above 0 %"},
		"No area":          {`"8.6ft2"`, `"0m2"`, "parts[0].area: area is 0 m²; it must be above 0 m²"},
		"No time":          {`"recoat": "8h"`, `"recoat": "0h"`, "products.stain.recoat: dry to recoat is 0 h; it must be above 0 h"},
		"Time left out":    {`"recoat": "8h", "cure": "3d"`, `"cure": "3d"`, "Nobody stated how long brown oil stain dries"},
		"No such defect":   {`"water ring"`, `"coffee"`, "parts[0].defects: \"coffee\" is no defect"},
		"No such year":     {`"painted_in": 0`, `"painted_in": 78`, "painted in is 78; it must be from 1600 to 2200"},
		"Not yet painted":  {`"painted_in": 0`, `"painted_in": 2199`, "parts[0].painted_in is 2199, which has not come yet"},
		"More after it":    {"\n  ]\n}", "\n  ]\n} {}", "there is more after the end of the piece"},
		"Garbage after it": {"\n  ]\n}", "\n  ]\n} sold", "there is more after the end of the piece"},
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
