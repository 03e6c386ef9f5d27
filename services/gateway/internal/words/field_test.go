package words

import (
	"strings"
	"testing"

	"buf.build/gen/go/bufbuild/protovalidate/protocolbuffers/go/buf/validate"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"
	"google.golang.org/protobuf/reflect/protoregistry"

	_ "tackfree/pkg/clients" // all contracts
	"tackfree/pkg/fault"
)

func TestVoice_Wrong(t *testing.T) {
	es, en := voice(t, "es", Metric, false), voice(t, "en", Metric, false)
	for _, c := range []struct{ reason, path, says, want string }{
		{"INVALID_FIELD", "sighting.distance_km", "must be greater than or equal to 0 and less than or equal to 2000", "«distancia»: ha de estar entre 0 y 2000. No se ha cambiado nada."},
		{"INVALID_FIELD", "lines[1].quantity.value", "must be a plain decimal such as 2", "«cantidad (el n.º 2)»: no tiene la forma que hace falta; revísalo. No se ha cambiado nada."},
		{"INVALID_FIELD", "title", "must be at most 200 characters", "«título»: es demasiado largo; como mucho 200 letras. No se ha cambiado nada."},
		{"INVALID_FIELD", "title", "is missing", "«título»: falta; escríbelo. No se ha cambiado nada."},
		{"INVALID_FIELD", "chance", "must be from 0.01 to 0.99", "«probabilidad»: ha de estar entre 0,01 y 0,99. No se ha cambiado nada."},
		{"INVALID_FIELD", "count", "must be greater than 0", "«cuántos»: ha de ser más de 0. No se ha cambiado nada."},
		{"INVALID_FIELD", "condition", "is missing, or is none of those that can be chosen", "«estado»: no es de lo que se puede elegir; elige otra vez. No se ha cambiado nada."},
		{"AMOUNT_NEGATIVE", "sighting.asking_price", "The asking price must not be below zero.", "«precio que piden»: " + texts["es"]["fault.AMOUNT_NEGATIVE"] + " No se ha cambiado nada."},
		{"AMOUNT_TOO_LARGE", "cost", "The cost must be less than 10.", "«coste»: ha de ser menos de 10. No se ha cambiado nada."},
		{"INVALID_FIELD", "nobody_knows", "is missing", ""},
		{"SKILL_MISSING", "person", "Nell cannot spray.", ""},
	} {
		f := fault.New(fault.Invalid, c.reason, "In English.")
		f.Fields = []fault.Field{{Path: c.path, Text: c.says}}
		if got, said := es.Wrong(f); got != c.want || said != (c.want != "") {
			t.Errorf("%s %s: Wrong = %q, %t; want %q", c.path, c.says, got, said, c.want)
		}
		if got, said := en.Wrong(f); said {
			t.Errorf("in English Wrong = %q", got)
		}
	}
}

// Every field that a call of some page has a rule for has a word in each other language.
func TestCatalogue_NamesFields(t *testing.T) {
	calls, fields := callsOfPages(t), map[string]bool{}
	protoregistry.GlobalFiles.RangeFiles(func(file protoreflect.FileDescriptor) bool {
		for i := range file.Services().Len() {
			methods := file.Services().Get(i).Methods()
			for j := range methods.Len() {
				if m := methods.Get(j); calls[string(m.Name())] && strings.HasPrefix(string(m.FullName()), "tackfree.") {
					ruled(m.Input(), fields, map[protoreflect.FullName]bool{})
				}
			}
		}
		return true
	})
	for name := range fields {
		if texts["es"]["field."+name] == "" {
			t.Errorf("%s has no word in Spanish", name)
		}
	}
	if len(fields) < 100 {
		t.Errorf("only %d fields were found", len(fields))
	}
}

// ruled collects the fields of a message that have a rule, and those of what it is made of.
func ruled(m protoreflect.MessageDescriptor, into map[string]bool, seen map[protoreflect.FullName]bool) {
	if seen[m.FullName()] {
		return
	}
	seen[m.FullName()] = true
	for i := range m.Fields().Len() {
		f := m.Fields().Get(i)
		if proto.HasExtension(f.Options(), validate.E_Field) {
			into[string(f.Name())] = true
		}
		if f.Message() != nil && !f.IsMap() {
			ruled(f.Message(), into, seen)
		}
	}
	for i := range m.Oneofs().Len() {
		if o := m.Oneofs().Get(i); !o.IsSynthetic() && proto.HasExtension(o.Options(), validate.E_Oneof) {
			into[string(o.Name())] = true
		}
	}
}
