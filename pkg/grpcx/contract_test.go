package grpcx_test

import (
	"errors"
	"slices"
	"strings"
	"testing"

	"buf.build/go/protovalidate"
	"google.golang.org/protobuf/reflect/protoreflect"
	"google.golang.org/protobuf/reflect/protoregistry"

	"tackfree/pkg/access"
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

// secretive are the commands that bring or answer a secret: nothing is kept of them under a
// request_id, for it would be a trace of the secret.
var secretive = []string{"SignIn", "ClaimShop", "RenewAccess", "SignOut", "SetPin", "SetPassphrase", "CreateToken", "RenewClaimKey", "ResetOwner"}

// Every command has a request_id that must be a UUID: that is what makes it safe to ask
// again. Every request_id is a command's.
func TestContracts_CommandsCanBeAskedAgain(t *testing.T) {
	v, err := protovalidate.New()
	if err != nil {
		t.Fatal(err)
	}
	reads := []string{"Get", "List", "Watch", "Check", "Explain", "Export", "Propose", "Price", "Advise", "Estimate", "Suggest", "Verify", "Download", "Preview", "Compare", "Rebuild"} // a rebuild comes to the same however often, and pricing what would be changes nothing
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
	if method.Parent().Name() == "SignInService" && slices.Contains(secretive, string(method.Name())) {
		if isRead || field != nil {
			t.Errorf("%s: a command with a secret has no request_id", method.FullName())
		}
		return
	}
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

// Every method says who may call it, in a way that can be: a method that does not is refused
// to all.
func TestContracts_SayWhoMay(t *testing.T) {
	seen := 0
	protoregistry.GlobalFiles.RangeFiles(func(f protoreflect.FileDescriptor) bool {
		for i := range f.Services().Len() {
			service := f.Services().Get(i)
			for j := range service.Methods().Len() {
				full := "/" + string(service.FullName()) + "/" + string(service.Methods().Get(j).Name())
				if _, stated := access.Rules()[full]; !stated && strings.HasPrefix(full, "/tackfree.") {
					t.Errorf("%s does not say who may", full)
				}
				seen++
			}
		}
		return true
	})
	if seen < 150 {
		t.Errorf("only %d methods were seen", seen)
	}
	if open := openMethods(); !slices.Equal(open, []string{"ClaimShop", "GetSignInState", "RenewAccess", "SignIn", "SignOut"}) {
		t.Errorf("open to all are %v, want only what comes before somebody has signed in", open)
	}
}

func openMethods() (names []string) {
	for full, r := range access.Rules() {
		if r.Open {
			names = append(names, full[strings.LastIndex(full, "/")+1:])
		}
	}
	slices.Sort(names)
	return names
}
