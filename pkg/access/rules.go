package access

import (
	"slices"
	"strings"
	"sync"
	"unicode"

	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"
	"google.golang.org/protobuf/reflect/protoregistry"

	"tackfree/pkg/fault"
	typev1 "tackfree/proto/tackfree/type/v1"
)

// reads are what the names of methods begin with that change nothing.
var reads = []string{"Get", "List", "Watch", "Check", "Explain", "Export", "Propose", "Price", "Verify", "Download", "Advise", "Estimate", "Suggest", "Preview", "Compare"}

// Rule is who may give a method's calls, as its contract states it.
type Rule struct {
	Least   typev1.Role
	Open    bool
	Command bool // it changes something

	what string                         // in words
	own  []protoreflect.FieldDescriptor // the way to the field that must be the caller's own; none: no such
}

// Rules finds the rules of all methods that are linked into the program, by full method, such as
// /tackfree.workflow.v1.ClockService/ClockOn. A method that states none, or one that cannot be, has none.
var Rules = sync.OnceValue(func() map[string]Rule {
	all := map[string]Rule{}
	protoregistry.GlobalFiles.RangeFiles(func(f protoreflect.FileDescriptor) bool {
		for i := range f.Services().Len() {
			methods := f.Services().Get(i).Methods()
			for j := range methods.Len() {
				if r, ok := ruleOf(methods.Get(j)); ok {
					all["/"+string(f.Services().Get(i).FullName())+"/"+string(methods.Get(j).Name())] = r
				}
			}
		}
		return true
	})
	return all
})

func ruleOf(m protoreflect.MethodDescriptor) (Rule, bool) {
	said, _ := proto.GetExtension(m.Options(), typev1.E_Access).(*typev1.Access)
	if said == nil || said.Open == (said.Least != typev1.Role_ROLE_UNSPECIFIED) {
		return Rule{}, false
	}
	r := Rule{Least: said.Least, Open: said.Open, Command: isCommand(m), what: words(string(m.Name()))}
	if said.Own == "" {
		return r, true
	}
	r.own = path(m.Input(), said.Own)
	// Above an owner there is nobody who could give it for anybody.
	return r, r.own != nil && r.Least != typev1.Role_ROLE_OWNER && !r.Open
}

// isCommand: what has a request_id changes something, and so does what is not named as a read.
func isCommand(m protoreflect.MethodDescriptor) bool {
	read := slices.ContainsFunc(reads, func(verb string) bool { return strings.HasPrefix(string(m.Name()), verb) })
	return !read || m.Input().Fields().ByName("request_id") != nil
}

// path finds the fields that lead to a text, such as entry.person; nil if they do not.
func path(m protoreflect.MessageDescriptor, dotted string) (fields []protoreflect.FieldDescriptor) {
	names := strings.Split(dotted, ".")
	for i, name := range names {
		f := m.Fields().ByName(protoreflect.Name(name))
		if f == nil || f.IsMap() || (i == len(names)-1) != (f.Kind() == protoreflect.StringKind) || i < len(names)-1 && f.Message() == nil {
			return nil
		}
		fields, m = append(fields, f), f.Message()
	}
	return fields
}

// Check refuses a call that who gives it may not. req is nil where it has not come yet. Faults:
// SIGN_IN_NEEDED, ROLE_TOO_LOW, NOT_YOURS, READ_ONLY, METHOD_NOT_ALLOWED, NO_ACCESS_RULE.
func Check(c Claims, method string, req any) error {
	if strings.HasPrefix(method, "/grpc.health.") || strings.HasPrefix(method, "/grpc.reflection.") {
		return nil
	}
	r, stated := Rules()[method]
	switch {
	case !stated:
		return fault.New(fault.Denied, "NO_ACCESS_RULE", "Nobody may call %s, for its contract does not say who may.", strings.TrimPrefix(method, "/"))
	case r.Open:
		return nil
	case c.nobody() != nil:
		return errNobody
	case c.Role < r.Least:
		return r.tooLow(c)
	case c.ReadOnly && r.Command:
		return fault.New(fault.Denied, "READ_ONLY", "This access is for reading only; it may not %s.", r.what)
	case !c.among(method):
		return fault.New(fault.Denied, "METHOD_NOT_ALLOWED", "This access is not for %s. An owner can make a token that is.", strings.TrimPrefix(method, "/"))
	}
	return r.ownOf(c, req)
}

func (r Rule) tooLow(c Claims) error {
	may, whom := "Only owners may", "an owner"
	if r.Least == typev1.Role_ROLE_LEAD {
		may, whom = "Only leads and owners may", "a lead or an owner"
	}
	return fault.New(fault.Denied, "ROLE_TOO_LOW", "%s do this (%s), and here you are a %s. Ask %s.", may, r.what, roleWords[c.Role], whom)
}

// among reports whether a token is for a method.
func (c Claims) among(method string) bool {
	if len(c.Methods) == 0 {
		return true
	}
	full := strings.TrimPrefix(method, "/")
	service, _, _ := strings.Cut(full, "/")
	return slices.Contains(c.Methods, full) || slices.Contains(c.Methods, service)
}

// ownOf refuses who is of the least role and names somebody else, or nobody.
func (r Rule) ownOf(c Claims, req any) error {
	m, come := req.(proto.Message)
	if r.own == nil || !come || c.Role != r.Least {
		return nil
	}
	named := texts(m.ProtoReflect(), r.own)
	for _, who := range named {
		if c.Person == "" || !strings.EqualFold(who, c.Person) {
			return r.notYours()
		}
	}
	if len(named) == 0 {
		return r.notYours()
	}
	return nil
}

func (r Rule) notYours() error {
	above := "a lead or an owner"
	if r.Least == typev1.Role_ROLE_LEAD {
		above = "an owner"
	}
	last := string(r.own[len(r.own)-1].Name())
	return fault.New(fault.Denied, "NOT_YOURS", "You may do this (%s) for yourself only: name yourself as the %s, or ask %s.", r.what, last, above).At(last)
}

// texts reads a field, of each message of a list on the way.
func texts(m protoreflect.Message, way []protoreflect.FieldDescriptor) (all []string) {
	f, rest := way[0], way[1:]
	each := func(v protoreflect.Value) {
		if len(rest) == 0 {
			all = append(all, v.String())
		} else {
			all = append(all, texts(v.Message(), rest)...)
		}
	}
	if !f.IsList() {
		each(m.Get(f))
		return all
	}
	for i := range m.Get(f).List().Len() {
		each(m.Get(f).List().Get(i))
	}
	return all
}

// words makes "clock on" of ClockOn.
func words(name string) string {
	var b strings.Builder
	for i, r := range name {
		if unicode.IsUpper(r) && i > 0 {
			b.WriteByte(' ')
		}
		b.WriteRune(unicode.ToLower(r))
	}
	return b.String()
}
