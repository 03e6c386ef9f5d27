package protocsv

import (
	"slices"

	"google.golang.org/protobuf/reflect/protoreflect"
)

// Column is one of a table: its name, and what stands in it.
type Column struct {
	Name string
	path []protoreflect.FieldDescriptor // to the field, from the row on
	text func(protoreflect.Value) string
}

// of is what stands in the column for a message; of what is absent nothing.
func (c Column) of(m protoreflect.Message) string {
	for i, f := range c.path {
		if f.HasPresence() && !m.Has(f) {
			return ""
		}
		v := m.Get(f)
		if i == len(c.path)-1 {
			return c.text(v)
		}
		m = v.Message()
	}
	return ""
}

// Columns are those of a message type.
func Columns(of protoreflect.MessageDescriptor) []Column {
	return within(of, "", nil, []protoreflect.FullName{of.FullName()})
}

// within are the columns of a message that is reached by a path; open are the types on the way
// to it.
func within(of protoreflect.MessageDescriptor, prefix string, path []protoreflect.FieldDescriptor, open []protoreflect.FullName) (all []Column) {
	for i := range of.Fields().Len() {
		f := of.Fields().Get(i)
		name, to := prefix+string(f.Name()), append(slices.Clone(path), f)
		one := func(suffix string, text func(protoreflect.Value) string) {
			all = append(all, Column{name + suffix, to, text})
		}
		switch {
		case f.IsList() && f.Message() == nil:
			one("", joined(f))
		case f.IsList():
			one("", many)
		case f.Message() == nil:
			one("", guarded(f))
		default:
			own, known := wellKnown[f.Message().FullName()]
			switch {
			case known:
				for _, c := range own {
					one(c.suffix, c.text)
				}
			case slices.Contains(open, f.Message().FullName()): // one of its own kind
				one("", whole)
			default:
				all = append(all, within(f.Message(), name+".", to, append(slices.Clone(open), f.Message().FullName()))...)
			}
		}
	}
	return all
}
