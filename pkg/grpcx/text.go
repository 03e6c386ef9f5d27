package grpcx

import (
	"fmt"
	"strings"

	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"

	"tackfree/pkg/fault"
)

// checkText refuses text with the character NUL, which the contracts allow and the
// database cannot keep.
func checkText(m proto.Message) error {
	path := nulIn(m.ProtoReflect())
	if path == "" {
		return nil
	}
	return fault.New(fault.Invalid, "INVALID_FIELD", "%s must not contain the character NUL.", fault.The(path)).At(path)
}

// nulIn gives the path of the first such field, or "".
func nulIn(m protoreflect.Message) (path string) {
	m.Range(func(fd protoreflect.FieldDescriptor, v protoreflect.Value) bool {
		switch {
		case fd.IsMap():
			// no contract has maps of text
		case fd.IsList():
			for i := range v.List().Len() {
				if path == "" {
					path = nulAt(fmt.Sprintf("%s[%d]", fd.Name(), i), fd, v.List().Get(i))
				}
			}
		default:
			path = nulAt(string(fd.Name()), fd, v)
		}
		return path == ""
	})
	return path
}

func nulAt(name string, fd protoreflect.FieldDescriptor, v protoreflect.Value) string {
	switch fd.Kind() {
	case protoreflect.StringKind:
		if strings.ContainsRune(v.String(), 0) {
			return name
		}
	case protoreflect.MessageKind:
		if inner := nulIn(v.Message()); inner != "" {
			return name + "." + inner
		}
	}
	return ""
}
