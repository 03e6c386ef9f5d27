package edge_test

import (
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"google.golang.org/genproto/googleapis/api/annotations"
	"google.golang.org/protobuf/encoding/protojson"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"
	"google.golang.org/protobuf/reflect/protoregistry"
	"google.golang.org/protobuf/testing/protocmp"

	typev1 "tackfree/proto/tackfree/type/v1"
)

// methods are all of the contracts.
func methods() (all []protoreflect.MethodDescriptor) {
	protoregistry.GlobalFiles.RangeFiles(func(f protoreflect.FileDescriptor) bool {
		for i := range f.Services().Len() {
			for j := range f.Services().Get(i).Methods().Len() {
				if strings.HasPrefix(string(f.Package()), "tackfree.") {
					all = append(all, f.Services().Get(i).Methods().Get(j))
				}
			}
		}
		return true
	})
	return all
}

// binding is one way to give a call.
type binding struct {
	method         protoreflect.MethodDescriptor
	verb, template string
}

func bindings() (all []binding) {
	for _, m := range methods() {
		rule, _ := proto.GetExtension(m.Options(), annotations.E_Http).(*annotations.HttpRule)
		if rule == nil {
			continue
		}
		for _, r := range append([]*annotations.HttpRule{rule}, rule.AdditionalBindings...) {
			for verb, template := range map[string]string{http.MethodGet: r.GetGet(), http.MethodPost: r.GetPost(), http.MethodPut: r.GetPut(), http.MethodPatch: r.GetPatch()} {
				if template != "" {
					all = append(all, binding{m, verb, template})
				}
			}
		}
	}
	return all
}

var variable = regexp.MustCompile(`\{([a-z_.]+)=([^}]*)\}`)

// Every method has a route and says who may; only the event logs have none, for all producers serve
// the same and they are for services. No two have the same route.
func TestRoutes_EveryMethodHasOne(t *testing.T) {
	if len(methods()) < 200 {
		t.Fatalf("only %d methods were seen", len(methods()))
	}
	for _, m := range methods() {
		isLog := m.Parent().FullName() == "tackfree.events.v1.EventLogService"
		if proto.HasExtension(m.Options(), annotations.E_Http) == isLog {
			t.Errorf("%s: has a route: %t", m.FullName(), isLog)
		}
		if !proto.HasExtension(m.Options(), typev1.E_Access) {
			t.Errorf("%s does not say who may give it", m.FullName())
		}
	}
	seen := map[string]protoreflect.FullName{}
	for _, b := range bindings() {
		shape := b.verb + " " + variable.ReplaceAllString(b.template, "$2")
		if other, taken := seen[shape]; taken {
			t.Errorf("%s and %s are both at %s", other, b.method.FullName(), shape)
		}
		seen[shape] = b.method.FullName()
	}
}

// A read changes nothing and a command is no link: what changes something is no GET. A proposed plan is no read: it is
// kept until it is published, and looking for it takes all that the machine has.
func TestRoutes_ReadsAreGets(t *testing.T) {
	for _, b := range bindings() {
		name, command := string(b.method.Name()), b.method.Input().Fields().ByName("request_id") != nil
		read := false
		for _, verb := range []string{"Get", "List", "Watch", "Export", "Explain", "ProposeOrders", "Price", "Compare", "Download"} {
			read = read || strings.HasPrefix(name, verb)
		}
		if read != (b.verb == http.MethodGet) || command && b.verb == http.MethodGet {
			t.Errorf("%s is %s", b.method.FullName(), b.verb)
		}
	}
}

// Whatever a route is given reaches its method, and no other, as it was given.
func TestRoutes_ReachTheirMethod(t *testing.T) {
	h, s := setup(t)
	random := rand.New(rand.NewPCG(7, 11))
	for _, b := range bindings() {
		for range 3 {
			want := newOf(t, b.method.Input())
			target, names := fillPath(random, b.template)
			fill(random, want, b.verb == http.MethodGet, 0)
			for field, value := range names {
				setPath(want, field, value)
			}
			w := serve(h, request(t, b, target, want, names))
			if b.method.IsStreamingServer() || b.method.IsStreamingClient() {
				w.Code = http.StatusOK // how a stream ends is looked at elsewhere
			}
			got := s.last(t)
			if full := fullName(b.method); w.Code != http.StatusOK || got.method != full || !strings.HasPrefix(full, "/tackfree."+got.service+".") {
				t.Fatalf("%s %s: %d %s reached %s of %s, want %s", b.verb, target, w.Code, w.Body, got.method, got.service, full)
			}
			if diff := cmp.Diff(want.Interface(), got.request, protocmp.Transform()); diff != "" {
				t.Errorf("%s %s: -given +got\n%s", b.verb, target, diff)
			}
		}
	}
}

func fullName(m protoreflect.MethodDescriptor) string {
	return fmt.Sprintf("/%s/%s", m.Parent().FullName(), m.Name())
}

// request gives a call: of a read as parameters, of another as a body.
func request(t *testing.T, b binding, target string, m protoreflect.Message, names map[string]string) *http.Request {
	t.Helper()
	if b.verb == http.MethodGet {
		query := url.Values{}
		parameters(query, "", m, names)
		if len(query) > 0 {
			target += "?" + query.Encode()
		}
		return ask(b.verb, target, "")
	}
	without := proto.Clone(m.Interface()).ProtoReflect()
	for field := range names {
		setPath(without, field, "")
	}
	text, err := protojson.Marshal(without.Interface())
	if err != nil {
		t.Fatal(err)
	}
	return ask(b.verb, target, string(text))
}

// parameters writes a message as a query, with names as JSON has them.
func parameters(query url.Values, prefix string, m protoreflect.Message, names map[string]string) {
	m.Range(func(f protoreflect.FieldDescriptor, v protoreflect.Value) bool {
		key := prefix + f.JSONName()
		if _, inPath := names[string(f.Name())]; inPath {
			return true
		}
		switch {
		case f.IsList():
			for i := range v.List().Len() {
				query.Add(key, text(f, v.List().Get(i)))
			}
		case f.Message() == nil:
			query.Set(key, text(f, v))
		case strings.HasPrefix(string(f.Message().FullName()), "google.protobuf."):
			b, err := protojson.Marshal(v.Message().Interface())
			if err != nil {
				panic(err)
			}
			var plain string
			if err := json.Unmarshal(b, &plain); err != nil {
				panic(err)
			}
			query.Set(key, plain)
		default:
			parameters(query, key+".", v.Message(), nil)
		}
		return true
	})
}

func text(f protoreflect.FieldDescriptor, v protoreflect.Value) string {
	if f.Enum() != nil {
		return string(f.Enum().Values().ByNumber(v.Enum()).Name())
	}
	return v.String()
}
