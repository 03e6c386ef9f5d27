package edge

import (
	"net/http"
	"strings"

	"google.golang.org/genproto/googleapis/api/annotations"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"
	"google.golang.org/protobuf/reflect/protoregistry"

	typev1 "tackfree/proto/tackfree/type/v1"
)

// route is a method of a contract as HTTP has it.
type route struct {
	method  protoreflect.MethodDescriptor
	full    string                       // /tackfree.intake.v1.IntakeService/GetPiece
	service string                       // intake
	verb    string                       // GET, POST, PUT or PATCH
	open    bool                         // anybody may, without signing in
	list    protoreflect.FieldDescriptor // of a list's answer, what is listed; else nil
}

// changes reports whether a call may change something.
func (r *route) changes() bool { return r.verb != http.MethodGet }

// routesOf finds all routes of the suite's contracts, by method and template: GET /v1/{name=pieces/*}.
func routesOf(files *protoregistry.Files) map[string]*route {
	all := map[string]*route{}
	files.RangeFiles(func(f protoreflect.FileDescriptor) bool {
		if !strings.HasPrefix(string(f.Package()), "tackfree.") {
			return true
		}
		for i := range f.Services().Len() {
			methods := f.Services().Get(i).Methods()
			for j := range methods.Len() {
				addRoutes(all, methods.Get(j))
			}
		}
		return true
	})
	return all
}

func addRoutes(all map[string]*route, m protoreflect.MethodDescriptor) {
	rule, _ := proto.GetExtension(m.Options(), annotations.E_Http).(*annotations.HttpRule)
	if rule == nil {
		return
	}
	access, _ := proto.GetExtension(m.Options(), typev1.E_Access).(*typev1.Access)
	for _, binding := range append([]*annotations.HttpRule{rule}, rule.AdditionalBindings...) {
		verb, template := pattern(binding)
		all[verb+" "+template] = &route{method: m, verb: verb, open: access.GetOpen(), list: listed(m),
			full:    "/" + string(m.Parent().FullName()) + "/" + string(m.Name()),
			service: strings.Split(string(m.ParentFile().Package()), ".")[1]}
	}
}

func pattern(r *annotations.HttpRule) (verb, template string) {
	switch p := r.Pattern.(type) {
	case *annotations.HttpRule_Get:
		return http.MethodGet, p.Get
	case *annotations.HttpRule_Put:
		return http.MethodPut, p.Put
	case *annotations.HttpRule_Patch:
		return http.MethodPatch, p.Patch
	case *annotations.HttpRule_Delete:
		return http.MethodDelete, p.Delete
	}
	return http.MethodPost, r.GetPost()
}

// listed is what a list lists: the first of its answer's fields that holds several messages.
func listed(m protoreflect.MethodDescriptor) protoreflect.FieldDescriptor {
	if !strings.HasPrefix(string(m.Name()), "List") {
		return nil
	}
	fields := m.Output().Fields()
	for i := range fields.Len() {
		if f := fields.Get(i); f.IsList() && f.Message() != nil {
			return f
		}
	}
	return nil
}
