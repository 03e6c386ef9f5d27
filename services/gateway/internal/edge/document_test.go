package edge_test

import (
	"encoding/json"
	"math/rand/v2"
	"net/http"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/getkin/kin-openapi/openapi3"
	"google.golang.org/protobuf/encoding/protojson"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"

	typev1 "tackfree/proto/tackfree/type/v1"
)

// document reads what is served, and validates it.
func document(t *testing.T) *openapi3.T {
	t.Helper()
	h, _ := setup(t)
	w := serve(h, ask(http.MethodGet, "/openapi.json", "", "Authorization", ""))
	if w.Code != http.StatusOK || w.Header().Get("Content-Type") != "application/json" {
		t.Fatalf("GET /openapi.json: %d %v", w.Code, w.Header())
	}
	doc, err := openapi3.NewLoader().LoadFromData(w.Body.Bytes())
	if err != nil {
		t.Fatal(err)
	}
	if err := doc.Validate(t.Context(), openapi3.EnableMultiError()); err != nil {
		t.Fatal(err)
	}
	return doc
}

// operations are those of the document by the method that they are of.
func operations(t *testing.T, doc *openapi3.T) map[protoreflect.FullName][]*openapi3.Operation {
	t.Helper()
	byID := map[string]protoreflect.MethodDescriptor{}
	for _, m := range methods() {
		byID[string(m.Parent().Name())+"_"+string(m.Name())] = m
	}
	all := map[protoreflect.FullName][]*openapi3.Operation{}
	for path, item := range doc.Paths.Map() {
		for verb, o := range item.Operations() {
			m := byID[strings.TrimSuffix(o.OperationID, "_1")]
			if m == nil {
				t.Fatalf("%s %s: no method is called %s", verb, path, o.OperationID)
			}
			all[m.FullName()] = append(all[m.FullName()], o)
		}
	}
	return all
}

func TestDocument_HasEveryRoute(t *testing.T) {
	all := operations(t, document(t))
	routed := map[protoreflect.FullName]int{}
	for _, b := range bindings() {
		routed[b.method.FullName()]++
	}
	for name, n := range routed {
		if len(all[name]) != n {
			t.Errorf("%s is in the document %d times, want %d", name, len(all[name]), n)
		}
	}
	if len(all) != len(routed) {
		t.Errorf("the document has %d methods, want %d", len(all), len(routed))
	}
}

var name = regexp.MustCompile(`\{[^}]*\}`)

// Every operation of the document is there.
func TestDocument_IsRouted(t *testing.T) {
	doc := document(t)
	h, s := setup(t)
	for path, item := range doc.Paths.Map() {
		for verb := range item.Operations() {
			w := serve(h, ask(verb, name.ReplaceAllString(path, "7"), map[bool]string{true: "{}"}[verb != http.MethodGet]))
			if w.Code == http.StatusNotFound || w.Code == http.StatusMethodNotAllowed {
				t.Errorf("%s %s: %d %s", verb, path, w.Code, w.Body)
			}
			s.last(t)
		}
	}
}

// The document says what answers are: JSON, lines, events, tables, errors; and who may ask.
func TestDocument_SaysHow(t *testing.T) {
	for full, all := range operations(t, document(t)) {
		m := methodOf(full)
		access := proto.GetExtension(m.Options(), typev1.E_Access).(*typev1.Access)
		for _, o := range all {
			want := []string{"application/json"}
			switch {
			case m.IsStreamingServer():
				want = []string{"application/x-ndjson", "text/event-stream"}
			case strings.HasPrefix(string(m.Name()), "List"):
				want = append(want, "text/csv")
			}
			if got := kinds(o.Responses.Value("200").Value.Content); !slices.Equal(got, want) {
				t.Errorf("%s answers %v, want %v", full, got, want)
			}
			if o.Responses.Value("default").Ref != "#/components/responses/Error" {
				t.Errorf("%s does not say how it fails", full)
			}
			if m.IsStreamingClient() && !slices.Equal(kinds(o.RequestBody.Value.Content), []string{"application/x-ndjson"}) {
				t.Errorf("%s takes %v", full, kinds(o.RequestBody.Value.Content))
			}
			if isOpen := o.Security != nil && len(*o.Security) == 0; isOpen != access.Open {
				t.Errorf("%s: anybody may: %t", full, isOpen)
			}
			if role := strings.ToLower(strings.TrimPrefix(access.Least.String(), "ROLE_")); !access.Open && !strings.Contains(o.Description, "Least role: "+role) {
				t.Errorf("%s does not say that it is for a %s: %s", full, role, o.Description)
			}
		}
	}
}

func methodOf(full protoreflect.FullName) protoreflect.MethodDescriptor {
	all := methods()
	return all[slices.IndexFunc(all, func(m protoreflect.MethodDescriptor) bool { return m.FullName() == full })]
}

func kinds(c openapi3.Content) (all []string) {
	for kind := range c {
		all = append(all, kind)
	}
	slices.Sort(all)
	return all
}

// What comes out, full and empty, and what goes in is as the document says.
func TestDocument_DescribesMessages(t *testing.T) {
	random, ways := rand.New(rand.NewPCG(1, 2)), map[protoreflect.MethodDescriptor]binding{}
	for _, b := range bindings() {
		ways[b.method] = b
	}
	for full, all := range operations(t, document(t)) {
		m := methodOf(full)
		answer, request := newOf(t, m.Output()), newOf(t, m.Input())
		h, s := setup(t)
		s.answer = func(_ string, _, reply proto.Message) error {
			proto.Merge(reply, answer.Interface())
			return nil
		}
		for range 2 {
			if !m.IsStreamingServer() && !m.IsStreamingClient() {
				b := ways[m]
				target, _ := fillPath(random, b.template)
				w := serve(h, ask(b.verb, target, map[bool]string{true: "{}"}[b.verb != http.MethodGet]))
				fits(t, all[0].Responses.Value("200").Value.Content["application/json"].Schema, w.Body.Bytes(), full)
			}
			fill(random, answer, false, 0)
		}
		if body := all[0].RequestBody; body != nil {
			fill(random, request, false, 0)
			_, inPath := fillPath(random, ways[m].template)
			for field := range inPath {
				setPath(request, field, "")
			}
			text, err := protojson.Marshal(request.Interface())
			if err != nil {
				t.Fatal(err)
			}
			for _, kind := range body.Value.Content {
				fits(t, kind.Schema, text, full)
				if asked := kind.Schema.Value.Properties["requestId"] != nil; asked != slices.Contains(kind.Schema.Value.Required, "requestId") {
					t.Errorf("%s: requestId is not required", full)
				}
			}
		}
	}
}

// fits checks JSON against a schema, in which every field that is there must be.
func fits(t *testing.T, schema *openapi3.SchemaRef, text []byte, of protoreflect.FullName) {
	t.Helper()
	var v map[string]any
	if err := json.Unmarshal(text, &v); err != nil {
		t.Fatalf("%s: %s: %v", of, text, err)
	}
	if _, asked := schema.Value.Properties["requestId"]; asked {
		v["requestId"] = "0190f0a0-0000-7000-8000-000000000000"
	}
	if err := schema.Value.VisitJSON(v, openapi3.EnableJSONSchema2020()); err != nil {
		t.Errorf("%s: %s is not what the document says: %v", of, text, err)
	}
	for key := range v {
		if schema.Value.Properties[key] == nil {
			t.Errorf("%s: the document does not know %s", of, key)
		}
	}
}
