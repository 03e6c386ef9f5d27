package access

import (
	"sync"

	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"

	typev1 "tackfree/proto/tackfree/type/v1"
)

// money is the message that is told to owners alone where its field states nothing.
const money = "google.type.Money"

// Told is what of an answer somebody of a role is told: the answer itself, or a copy without the fields
// that their contract keeps for those above; see the option told_to. Who came without signing in, through
// this machine alone, and a service of the suite are owners here, and are told all.
//
// What a bytes field encodes is not looked into: a method that answers such is for owners.
func Told(role typev1.Role, answer any) any {
	m, is := answer.(proto.Message)
	if !is || role >= typev1.Role_ROLE_OWNER || !m.ProtoReflect().IsValid() || !contractOf(m.ProtoReflect().Descriptor()).keeps() {
		return answer
	}
	short := proto.Clone(m)
	withhold(role, short.ProtoReflect())
	return short
}

// ToldTo is the least role that a field of an answer is told to; unspecified: to all who may ask.
func ToldTo(f protoreflect.FieldDescriptor) typev1.Role {
	if least, _ := proto.GetExtension(f.Options(), typev1.E_ToldTo).(typev1.Role); least != typev1.Role_ROLE_UNSPECIFIED {
		return least
	}
	if f.Message() != nil && f.Message().FullName() == money {
		return typev1.Role_ROLE_OWNER
	}
	return typev1.Role_ROLE_UNSPECIFIED
}

// withhold clears what a role is not told, in a message and in all that it holds.
func withhold(role typev1.Role, m protoreflect.Message) {
	c := contractOf(m.Descriptor())
	for _, f := range c.kept {
		if role < ToldTo(f) {
			m.Clear(f)
		}
	}
	for _, f := range c.into {
		switch {
		case !m.Has(f):
		case f.IsList():
			for i := range m.Get(f).List().Len() {
				withhold(role, m.Get(f).List().Get(i).Message())
			}
		case f.IsMap():
			m.Get(f).Map().Range(func(_ protoreflect.MapKey, v protoreflect.Value) bool {
				withhold(role, v.Message())
				return true
			})
		default:
			withhold(role, m.Get(f).Message())
		}
	}
}

// contract is what a message keeps from some, and in which of its fields messages are that do.
type contract struct {
	kept, into []protoreflect.FieldDescriptor
}

func (c contract) keeps() bool { return len(c.kept)+len(c.into) > 0 }

// contracts are those that were asked for, by the full name of the message.
var contracts sync.Map

func contractOf(m protoreflect.MessageDescriptor) contract {
	if c, known := contracts.Load(m.FullName()); known {
		return c.(contract)
	}
	var c contract
	for i := range m.Fields().Len() {
		f := m.Fields().Get(i)
		switch {
		case ToldTo(f) != typev1.Role_ROLE_UNSPECIFIED:
			c.kept = append(c.kept, f)
		case holds(f, map[protoreflect.FullName]bool{}):
			c.into = append(c.into, f)
		}
	}
	contracts.Store(m.FullName(), c)
	return c
}

// holds reports whether messages in a field keep anything, however deep; seen are those above it.
func holds(f protoreflect.FieldDescriptor, seen map[protoreflect.FullName]bool) bool {
	m := f.Message()
	if f.IsMap() {
		m = f.MapValue().Message()
	}
	if m == nil || seen[m.FullName()] {
		return false
	}
	seen[m.FullName()] = true
	for i := range m.Fields().Len() {
		if inner := m.Fields().Get(i); ToldTo(inner) != typev1.Role_ROLE_UNSPECIFIED || holds(inner, seen) {
			return true
		}
	}
	return false
}
