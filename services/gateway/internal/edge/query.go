package edge

import (
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"time"

	"github.com/grpc-ecosystem/grpc-gateway/v2/runtime"
	"github.com/grpc-ecosystem/grpc-gateway/v2/utilities"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"
	"google.golang.org/protobuf/reflect/protoregistry"

	"tackfree/pkg/fault"
)

// noFields is a filter that lets every field be set.
var noFields = utilities.NewDoubleArray(nil)

// query reads the parameters of a call, each of which must be one that it knows and can be read.
// Faults: PARAMETER_UNKNOWN, PARAMETER_MALFORMED.
func (r *route) query(u *url.URL, names map[string]string) (url.Values, error) {
	given, err := url.ParseQuery(u.RawQuery)
	if err != nil {
		return nil, fault.New(fault.Invalid, "PARAMETER_MALFORMED", "What follows the ? cannot be read: %s.", err)
	}
	if format := given.Get("format"); r.list != nil && given.Has("format") {
		if format != "csv" && format != "json" {
			return nil, fault.New(fault.Invalid, "PARAMETER_MALFORMED", "format cannot be %q, only csv or json.", format).At("format")
		}
		given.Del("format")
	}
	read := url.Values{}
	for key, values := range given {
		field := fieldAt(r.method.Input(), key)
		_, inPath := names[pathOf(field)]
		if field == nil || inPath || r.verb != http.MethodGet {
			return nil, r.unknown(key)
		}
		if err := set(read, r.method.Input(), field, values); err != nil {
			return nil, fault.New(fault.Invalid, "PARAMETER_MALFORMED", "%s cannot be %q.", key, strings.Join(values, ", ")).At(pathOf(field)).Because(err)
		}
	}
	return read, nil
}

func (r *route) unknown(key string) error {
	where := "it takes none after the ?"
	if r.verb == http.MethodGet {
		where = "see /openapi.json for those it takes"
	}
	return fault.New(fault.Invalid, "PARAMETER_UNKNOWN", "This call has no parameter %q; %s.", key, where).With("parameter", key)
}

// fieldAt is the way to a field that is named by the contract or as in JSON, such as from_date.year;
// nil if there is none.
func fieldAt(m protoreflect.MessageDescriptor, key string) (way []protoreflect.FieldDescriptor) {
	for name := range strings.SplitSeq(key, ".") {
		if m == nil {
			return nil
		}
		f := m.Fields().ByName(protoreflect.Name(name))
		if f == nil {
			f = m.Fields().ByJSONName(name)
		}
		if f == nil {
			return nil
		}
		way, m = append(way, f), f.Message()
	}
	return way
}

func pathOf(way []protoreflect.FieldDescriptor) string {
	names := make([]string, len(way))
	for i, f := range way {
		names[i] = string(f.Name())
	}
	return strings.Join(names, ".")
}

// set adds a parameter, if the mux will be able to read it. A day may be written 2026-03-02, which
// the mux cannot read.
func set(read url.Values, of protoreflect.MessageDescriptor, way []protoreflect.FieldDescriptor, values []string) error {
	key, one := pathOf(way), url.Values{}
	if last := way[len(way)-1]; last.Message() != nil && last.Message().FullName() == "google.type.Date" && !last.IsList() && len(values) == 1 {
		day, err := time.Parse(time.DateOnly, values[0])
		if err != nil {
			return err
		}
		one.Set(key+".year", fmt.Sprint(day.Year()))
		one.Set(key+".month", fmt.Sprint(int(day.Month())))
		one.Set(key+".day", fmt.Sprint(day.Day()))
	} else {
		one[key] = values
	}
	request, err := newOf(of)
	if err == nil {
		err = runtime.PopulateQueryParameters(request, one, noFields)
	}
	for name, values := range one {
		if read.Has(name) {
			return fmt.Errorf("%s is given twice", name)
		}
		read[name] = values
	}
	return err
}

// newOf makes an empty message of a contract's type.
func newOf(m protoreflect.MessageDescriptor) (proto.Message, error) {
	kind, err := protoregistry.GlobalTypes.FindMessageByName(m.FullName())
	if err != nil {
		return nil, err
	}
	return kind.New().Interface(), nil
}
