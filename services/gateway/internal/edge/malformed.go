package edge

import (
	"regexp"
	"strings"

	"google.golang.org/protobuf/reflect/protoreflect"

	"tackfree/pkg/fault"
)

var (
	unknownField = regexp.MustCompile(`unknown field "(.*)"`)
	unknownWord  = regexp.MustCompile(`invalid value for enum field (\w+): (.*)`)
)

// malformed says in a sentence what is wrong with JSON that should be a message; the library names the
// line, and the field. Faults: FIELD_UNKNOWN, WORD_UNKNOWN, JSON_MALFORMED.
func malformed(err error, of protoreflect.MessageDescriptor) error {
	if m := unknownField.FindStringSubmatch(err.Error()); m != nil {
		return fault.New(fault.Invalid, "FIELD_UNKNOWN", "This call has no field %q; see /openapi.json for those it takes.", m[1]).At(m[1])
	}
	if m := unknownWord.FindStringSubmatch(err.Error()); m != nil {
		if words := wordsOf(of, m[1]); words != "" {
			return fault.New(fault.Invalid, "WORD_UNKNOWN", "%s cannot be %s; it is one of %s.", m[1], m[2], words).At(m[1])
		}
	}
	said := strings.TrimLeft(strings.TrimPrefix(err.Error(), "proto:"), " \u00a0")
	return fault.New(fault.Invalid, "JSON_MALFORMED", "The body is not JSON that this call can read: %s.", said)
}

// wordsOf lists the values of a message's enum field, by its name in JSON; empty where the message has no
// such field, or several of different enums within.
func wordsOf(of protoreflect.MessageDescriptor, field string) string {
	found := map[protoreflect.EnumDescriptor]bool{}
	enumsCalled(field, of, found, map[protoreflect.FullName]bool{})
	if len(found) != 1 {
		return ""
	}
	var words []string
	for enum := range found {
		for i := 1; i < enum.Values().Len(); i++ { // the first says that nobody said
			words = append(words, string(enum.Values().Get(i).Name()))
		}
	}
	return strings.Join(words, ", ")
}

// enumsCalled finds the enums of all fields of a name, also within messages.
func enumsCalled(field string, of protoreflect.MessageDescriptor, found map[protoreflect.EnumDescriptor]bool, seen map[protoreflect.FullName]bool) {
	if seen[of.FullName()] {
		return
	}
	seen[of.FullName()] = true
	for i := range of.Fields().Len() {
		switch f := of.Fields().Get(i); {
		case f.Enum() != nil && f.JSONName() == field:
			found[f.Enum()] = true
		case f.Message() != nil:
			enumsCalled(field, f.Message(), found, seen)
		}
	}
}
