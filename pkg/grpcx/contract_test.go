package grpcx_test

import (
	"errors"
	"strings"
	"testing"

	"buf.build/go/protovalidate"
	"google.golang.org/protobuf/reflect/protoreflect"
	"google.golang.org/protobuf/reflect/protoregistry"

	_ "tackfree/proto/tackfree/costing/v1"
	_ "tackfree/proto/tackfree/events/v1"
	_ "tackfree/proto/tackfree/intake/v1"
	_ "tackfree/proto/tackfree/materials/v1"
	_ "tackfree/proto/tackfree/sales/v1"
	_ "tackfree/proto/tackfree/workflow/v1"
)

// A rule that does not compile would show as a fault of ours at the first request.
func TestContracts_RulesCompile(t *testing.T) {
	v, err := protovalidate.New()
	if err != nil {
		t.Fatal(err)
	}
	seen := 0
	protoregistry.GlobalTypes.RangeMessages(func(m protoreflect.MessageType) bool {
		name := string(m.Descriptor().FullName())
		if !strings.HasPrefix(name, "tackfree.") {
			return true
		}
		seen++
		if err := v.Validate(m.New().Interface()); err != nil && !errors.As(err, new(*protovalidate.ValidationError)) {
			t.Errorf("%s: %v", name, err)
		}
		return true
	})
	if seen < 50 {
		t.Errorf("only %d messages were seen", seen)
	}
}

// Every command has a request_id that must be a UUID: that is what makes it safe to ask
// again. Every request_id is a command's.
func TestContracts_CommandsCanBeAskedAgain(t *testing.T) {
	v, err := protovalidate.New()
	if err != nil {
		t.Fatal(err)
	}
	reads := []string{"Get", "List", "Watch", "Check", "Explain", "Export", "Propose", "Price", "Verify", "Rebuild"} // a rebuild comes to the same however often, and pricing what would be changes nothing
	protoregistry.GlobalFiles.RangeFiles(func(f protoreflect.FileDescriptor) bool {
		if !strings.HasPrefix(string(f.Package()), "tackfree.") {
			return true
		}
		for i := range f.Services().Len() {
			for j := range f.Services().Get(i).Methods().Len() {
				check(t, v, f.Services().Get(i).Methods().Get(j), reads)
			}
		}
		return true
	})
}

func check(t *testing.T, v protovalidate.Validator, method protoreflect.MethodDescriptor, reads []string) {
	t.Helper()
	isRead := false
	for _, verb := range reads {
		isRead = isRead || strings.HasPrefix(string(method.Name()), verb)
	}
	field := method.Input().Fields().ByName("request_id")
	if isRead != (field == nil) {
		t.Errorf("%s: a read has no request_id and a command has one", method.FullName())
		return
	}
	if field == nil {
		return
	}
	input, err := protoregistry.GlobalTypes.FindMessageByName(method.Input().FullName())
	if err != nil {
		t.Fatal(err)
	}
	var ve *protovalidate.ValidationError
	if err := v.Validate(input.New().Interface()); !errors.As(err, &ve) || !strings.Contains(ve.Error(), "request_id") {
		t.Errorf("%s takes a command without a request_id", method.FullName())
	}
}
