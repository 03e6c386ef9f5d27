package scenario_test

import (
	"encoding/json"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/google/go-cmp/cmp"
	"google.golang.org/protobuf/encoding/protojson"
	"google.golang.org/protobuf/testing/protocmp"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/scenario"
	"tackfree/testdata/demo"
)

func TestRead_TheDemo(t *testing.T) {
	s, err := scenario.Read(demo.Files, "shop.json")
	if err != nil {
		t.Fatal(err)
	}
	if len(s.Routes) != 3 || scenario.Word(s.Routes[0]) != "painted" || len(s.Routes[0].Steps) != 8 {
		t.Errorf("the routes are %v", s.Routes)
	}
}

// What the service says of a route can be kept in a file and saved again, one route or all.
func TestReadRoutes_ReadsWhatTheListPrints(t *testing.T) {
	want := []*workflowv1.Route{
		{Name: "routes/oiled", Steps: []*workflowv1.Step{{Key: "oil-1", Kind: "topcoat_coat", Scope: workflowv1.Step_SCOPE_PART, AttendedMinutes: 25, UnattendedMinutes: 720}}},
		{Name: "routes/waxed", Steps: []*workflowv1.Step{{Key: "wax", Kind: "rub_out", Scope: workflowv1.Step_SCOPE_PIECE, After: []string{}, Skill: "finish"}}},
	}
	printed := protojson.MarshalOptions{Multiline: true, EmitUnpopulated: true}
	listed := &workflowv1.ListRoutesResponse{}
	for _, r := range want {
		listed.Routes = append(listed.Routes, &workflowv1.Route{Name: r.Name, Steps: r.Steps, Etag: `"3"`})
	}
	files := fstest.MapFS{
		"all.json": {Data: []byte(printed.Format(listed))},
		"one.json": {Data: []byte(printed.Format(listed.Routes[0]))},
	}
	for name, want := range map[string][]*workflowv1.Route{"all.json": want, "one.json": want[:1]} {
		got, err := scenario.ReadRoutes(files, name)
		if diff := cmp.Diff(want, got, protocmp.Transform()); err != nil || diff != "" {
			t.Errorf("ReadRoutes(%s) = %v (-want +got):\n%s", name, err, diff)
		}
	}
}

func TestReadRoutes_SaysWhatIsWrong(t *testing.T) {
	for text, want := range map[string]string{
		`{"name": "routes/oiled", "steps": [{"key": "oil", "on": "part"}]}`: `unknown field "on"`,
		`{"routes": [{"nam": "x"}]}`:                                        `unknown field "nam"`,
		`{"name": `:                                                         "unexpected",
		`[]`:                                                                "unexpected",
	} {
		_, err := scenario.ReadRoutes(fstest.MapFS{"r.json": {Data: []byte(text)}}, "r.json")
		if err == nil || !strings.Contains(err.Error(), want) || !strings.HasPrefix(err.Error(), "r.json: ") {
			t.Errorf("ReadRoutes(%s) = %v, want one that says %q", text, err, want)
		}
	}
}

// A story that names no instant, or no shop, is refused before anything is played.
func TestRead_Refuses(t *testing.T) {
	for want, change := range map[string]func(map[string]any){
		"step 1: the clocks in America/Chicago show 2026-11-01 01:30 twice": func(s map[string]any) { s["steps"] = at("2026-11-01 01:30") },
		"step 1: no clock in America/Chicago shows 2026-03-08 02:30":        func(s map[string]any) { s["steps"] = at("2026-03-08 02:30") },
		`"Chicago" is not an IANA time zone`:                                func(s map[string]any) { s["zone"] = "Chicago" },
		`"usd" is not an ISO 4217 currency code`:                            func(s map[string]any) { s["currency"] = "usd" },
		`unknown field "mood"`:                                              func(s map[string]any) { s["mood"] = "good" },
		"routes/gilded.json":                                                func(s map[string]any) { s["routes"] = []string{"gilded"} },
	} {
		story := map[string]any{"shop": "A shop", "currency": "USD", "zone": "America/Chicago"}
		change(story)
		b, err := json.Marshal(story)
		if err != nil {
			t.Fatal(err)
		}
		_, err = scenario.Read(fstest.MapFS{"s.json": {Data: b}}, "s.json")
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("Read = %v, want one that says %q", err, want)
		}
	}
}

func at(when string) []map[string]any {
	return []map[string]any{{"at": when, "scrap": map[string]string{"piece": "1", "reason": "split"}}}
}
