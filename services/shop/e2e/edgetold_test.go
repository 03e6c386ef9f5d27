package e2e_test

import (
	"encoding/csv"
	"io"
	"net/http"
	"regexp"
	"slices"
	"strings"
	"testing"

	"google.golang.org/genproto/googleapis/api/annotations"
	"google.golang.org/protobuf/encoding/protojson"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"
	"google.golang.org/protobuf/reflect/protoregistry"

	"tackfree/pkg/access"
	typev1 "tackfree/proto/tackfree/type/v1"
	"tackfree/services/shop/internal/suite"
)

// reading is a call that a program gives with GET, and where.
type reading struct {
	method   protoreflect.MethodDescriptor
	template string
}

// readings are all calls of the contracts that answer once.
func readings() (all []reading) {
	protoregistry.GlobalFiles.RangeFiles(func(f protoreflect.FileDescriptor) bool {
		for i := range f.Services().Len() {
			for j := range f.Services().Get(i).Methods().Len() {
				m := f.Services().Get(i).Methods().Get(j)
				rule, _ := proto.GetExtension(m.Options(), annotations.E_Http).(*annotations.HttpRule)
				if rule.GetGet() != "" && !m.IsStreamingServer() && strings.HasPrefix(string(f.Package()), "tackfree.") {
					all = append(all, reading{m, rule.GetGet()})
				}
			}
		}
		return true
	})
	return all
}

// asked is what a program with a secret gets from an address of the edge.
func asked(t *testing.T, address, secret string) (status int, body string) {
	t.Helper()
	r, err := http.NewRequestWithContext(t.Context(), http.MethodGet, address, nil)
	if err != nil {
		t.Fatal(err)
	}
	r.Header.Set("Authorization", "Bearer "+secret)
	got, err := http.DefaultClient.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = got.Body.Close() }()
	b, err := io.ReadAll(got.Body)
	if err != nil {
		t.Fatal(err)
	}
	return got.StatusCode, string(b)
}

var variable = regexp.MustCompile(`\{[^=}]*=([^}]*)\}`)

// fill puts names of the shop in the place of a template's variables; false: of one it has none.
func fill(template string, known map[string]string) (path string, all bool) {
	all = true
	return variable.ReplaceAllStringFunc(template, func(v string) string {
		name, has := known[variable.FindStringSubmatch(v)[1]]
		all = all && has
		return name
	}), all
}

// Whatever list or thing a helper's program asks the edge for, as JSON or as a table: what the contract keeps from
// helpers is not in it, no pay, no purchase price, no profit, neither as a zero nor as a column with something in it.
func TestEdge_TellsHelpersNoMoney(t *testing.T) {
	s := openServed(t, func(o *suite.Options) { o.Pages = "127.0.0.1:0" })
	play(t, s.Shop, func(int, int) {})
	owner := s.claimed(t)
	mateo := s.signedIn(t, owner, "Mateo")
	pieces, err := s.Shop.AllPieces(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	products, err := s.Shop.AllProducts(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	known := map[string]string{"people/*": mateo.Person, "pieces/*": pieces[0].Name, "listings/*": strings.Replace(pieces[0].Name, "pieces/", "listings/", 1), "products/*": products[0].Name}
	answered, tables, owned := 0, 0, 0
	for _, r := range readings() {
		path, all := fill(r.template, known)
		if !all {
			continue
		}
		address := s.PagesURL() + path + "?person=" + mateo.Person
		if !hasField(r.method.Input(), "person") || strings.Contains(r.template, "{person") {
			address = s.PagesURL() + path
		}
		if status, body := asked(t, address, mateo.SessionSecret); status == http.StatusOK {
			answered++
			checkJSON(t, path, r.method.Output(), body)
		}
		join := "?"
		if strings.Contains(address, "?") {
			join = "&"
		}
		if list := listOf(r.method.Output()); list != nil && strings.HasPrefix(string(r.method.Name()), "List") {
			if status, body := asked(t, address+join+"format=csv", mateo.SessionSecret); status == http.StatusOK {
				tables++
				checkTable(t, path, list.Message(), body)
			}
			if _, body := asked(t, address+join+"format=csv", owner.SessionSecret); slices.ContainsFunc(moneyIn(list.Message(), body), func(v string) bool { return v != "" }) {
				owned++
			}
		}
	}
	if answered < 40 || tables < 20 || owned < 5 {
		t.Errorf("a helper gets %d answers and %d tables, and an owner %d tables with money in them: too few to tell", answered, tables, owned)
	}
}

func hasField(m protoreflect.MessageDescriptor, name protoreflect.Name) bool {
	return m.Fields().ByName(name) != nil
}

// listOf is the list that an answer is.
func listOf(m protoreflect.MessageDescriptor) protoreflect.FieldDescriptor {
	for i := range m.Fields().Len() {
		if f := m.Fields().Get(i); f.IsList() && f.Message() != nil {
			return f
		}
	}
	return nil
}

// checkJSON looks for what is kept from helpers in an answer, at whatever depth.
func checkJSON(t *testing.T, path string, of protoreflect.MessageDescriptor, body string) {
	t.Helper()
	kind, err := protoregistry.GlobalTypes.FindMessageByName(of.FullName())
	if err != nil {
		t.Fatal(err)
	}
	m := kind.New()
	if err := protojson.Unmarshal([]byte(body), m.Interface()); err != nil {
		t.Fatalf("%s: %v: %s", path, err, body)
	}
	if !proto.Equal(m.Interface(), access.Told(typev1.Role_ROLE_HELPER, m.Interface()).(proto.Message)) {
		t.Errorf("%s tells a helper what is kept from helpers: %s", path, body)
	}
	if strings.Contains(body, `"currencyCode"`) && strings.Contains(body, `"nanos"`) {
		t.Errorf("%s tells a helper money: %s", path, body)
	}
}

// keptColumns are the columns of a row in which something stands that is kept from helpers, by their beginnings.
func keptColumns(of protoreflect.MessageDescriptor, prefix string, depth int) (kept []string) {
	for i := range of.Fields().Len() {
		f := of.Fields().Get(i)
		switch name := prefix + string(f.Name()); {
		case access.ToldTo(f) > typev1.Role_ROLE_HELPER:
			kept = append(kept, name)
		case f.Message() != nil && !f.IsList() && !f.IsMap() && depth < 5:
			kept = append(kept, keptColumns(f.Message(), name+".", depth+1)...)
		}
	}
	return kept
}

// moneyIn is what stands in the columns of a table that are kept from helpers.
func moneyIn(of protoreflect.MessageDescriptor, body string) (cells []string) {
	rows, err := csv.NewReader(strings.NewReader(body)).ReadAll()
	if err != nil || len(rows) < 2 {
		return nil
	}
	for i, column := range rows[0] {
		isOf := func(kept string) bool { return column == kept || strings.HasPrefix(column, kept+".") }
		if slices.ContainsFunc(keptColumns(of, "", 0), isOf) {
			for _, row := range rows[1:] {
				cells = append(cells, row[i])
			}
		}
	}
	return cells
}

func checkTable(t *testing.T, path string, of protoreflect.MessageDescriptor, body string) {
	t.Helper()
	if cells := moneyIn(of, body); slices.ContainsFunc(cells, func(v string) bool { return v != "" }) {
		t.Errorf("%s as a table tells a helper %q", path, cells)
	}
}
