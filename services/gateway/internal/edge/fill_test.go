package edge_test

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"

	"google.golang.org/protobuf/reflect/protoreflect"
	"google.golang.org/protobuf/reflect/protoregistry"
	"google.golang.org/protobuf/types/known/fieldmaskpb"
)

func newOf(t *testing.T, m protoreflect.MessageDescriptor) protoreflect.Message {
	t.Helper()
	kind, err := protoregistry.GlobalTypes.FindMessageByName(m.FullName())
	if err != nil {
		t.Fatal(err)
	}
	return kind.New()
}

// fillPath puts an id in the place of each star of a template.
func fillPath(random *rand.Rand, template string) (target string, names map[string]string) {
	names = map[string]string{}
	target = variable.ReplaceAllStringFunc(template, func(v string) string {
		m := variable.FindStringSubmatch(v)
		steps := strings.Split(m[2], "*")
		name := steps[0]
		for _, step := range steps[1:] {
			name += fmt.Sprintf("tag:%d", random.IntN(1000)) + step
		}
		names[m[1]] = name
		return name
	})
	return target, names
}

func setPath(m protoreflect.Message, path, value string) {
	for {
		name, rest, more := strings.Cut(path, ".")
		f := m.Descriptor().Fields().ByName(protoreflect.Name(name))
		if !more {
			m.Set(f, protoreflect.ValueOfString(value))
			return
		}
		m, path = m.Mutable(f).Message(), rest
	}
}

// fill fills a message with anything, and only with what a query can say if that is asked.
func fill(random *rand.Rand, m protoreflect.Message, query bool, depth int) {
	if m.Descriptor().FullName() == "google.protobuf.FieldMask" {
		m.Interface().(*fieldmaskpb.FieldMask).Paths = []string{"display_name"}
		return
	}
	fields := m.Descriptor().Fields()
	for i := range fields.Len() {
		f := fields.Get(i)
		isMessage := f.Message() != nil
		oneOf := f.ContainingOneof()
		switch {
		case depth > 4, query && isMessage && f.IsList(), f.IsMap(), oneOf != nil && m.WhichOneof(oneOf) != nil:
		case f.IsList() && isMessage:
			fill(random, m.Mutable(f).List().AppendMutable().Message(), query, depth+1)
		case f.IsList():
			for range 1 + random.IntN(2) {
				m.Mutable(f).List().Append(scalar(random, f))
			}
		case isMessage:
			fill(random, m.Mutable(f).Message(), query, depth+1)
		default:
			m.Set(f, scalar(random, f))
		}
	}
}

func scalar(random *rand.Rand, f protoreflect.FieldDescriptor) protoreflect.Value {
	n := 1 + random.Int32N(27)
	switch f.Kind() {
	case protoreflect.BoolKind:
		return protoreflect.ValueOfBool(true)
	case protoreflect.EnumKind:
		values := f.Enum().Values()
		return protoreflect.ValueOfEnum(values.Get(values.Len() - 1).Number())
	case protoreflect.Int32Kind:
		return protoreflect.ValueOfInt32(n)
	case protoreflect.Uint32Kind:
		return protoreflect.ValueOfUint32(uint32(n))
	case protoreflect.Int64Kind:
		return protoreflect.ValueOfInt64(int64(n))
	case protoreflect.DoubleKind:
		return protoreflect.ValueOfFloat64(float64(n) + 0.25)
	case protoreflect.BytesKind:
		return protoreflect.ValueOfBytes([]byte{0xff, byte(n)})
	case protoreflect.StringKind:
		return protoreflect.ValueOfString([]string{"a&b=c", "ä/ö?", "100 %", "=1+1", `"x"`}[n%5])
	}
	panic("no value for " + f.Kind().String())
}
