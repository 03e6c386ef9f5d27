package access_test

import (
	"errors"
	"strings"
	"testing"

	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"
	"google.golang.org/protobuf/reflect/protoregistry"

	"tackfree/pkg/access"
	"tackfree/pkg/fault"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

const (
	clockOn  = "/tackfree.workflow.v1.ClockService/ClockOn"
	correct  = "/tackfree.workflow.v1.ClockService/CorrectClockEntry"
	board    = "/tackfree.workflow.v1.FloorService/ListBoard"
	rates    = "/tackfree.costing.v1.PayRateService/ListPayRates"
	setRole  = "/tackfree.workflow.v1.SignInService/SetRole"
	signIn   = "/tackfree.workflow.v1.SignInService/SignIn"
	someones = "people/018f4a2b-0000-7000-8000-000000000009"
)

func of(role typev1.Role, change ...func(*access.Claims)) access.Claims {
	c := nell
	c.Role = role
	for _, f := range change {
		f(&c)
	}
	return c
}

func readOnly(c *access.Claims) { c.ReadOnly = true }

func only(methods ...string) func(*access.Claims) {
	return func(c *access.Claims) { c.Methods = methods }
}

// Who may give which call.
func TestCheck(t *testing.T) {
	const helper, lead, owner = typev1.Role_ROLE_HELPER, typev1.Role_ROLE_LEAD, typev1.Role_ROLE_OWNER
	mine, hers, nobodys := &workflowv1.ClockOnRequest{Person: nell.Person}, &workflowv1.ClockOnRequest{Person: someones}, &workflowv1.ClockOnRequest{}
	shouted := &workflowv1.ClockOnRequest{Person: strings.ToUpper(nell.Person)}
	program := access.Claims{Name: "till", Role: helper}
	for _, c := range []struct {
		name   string
		who    access.Claims
		method string
		req    proto.Message
		reason string // empty: they may
	}{
		{"a helper clocks on", of(helper), clockOn, mine, ""},
		{"a helper clocks on, in other letters", of(helper), clockOn, shouted, ""},
		{"a helper clocks another on", of(helper), clockOn, hers, "NOT_YOURS"},
		{"a helper clocks nobody on", of(helper), clockOn, nobodys, "NOT_YOURS"},
		{"a program clocks nobody on", program, clockOn, nobodys, "NOT_YOURS"},
		{"a lead clocks another on", of(lead), clockOn, hers, ""},
		{"an owner clocks another on", of(owner), clockOn, hers, ""},
		{"a helper begins a stream", of(helper), clockOn, nil, ""},
		{"a helper corrects", of(helper), correct, nil, "ROLE_TOO_LOW"},
		{"a lead corrects", of(lead), correct, nil, ""},
		{"a helper sees pay", of(helper), rates, nil, "ROLE_TOO_LOW"},
		{"a lead sees pay", of(lead), rates, nil, "ROLE_TOO_LOW"},
		{"an owner sees pay", of(owner), rates, nil, ""},
		{"nobody sees the board", access.Claims{}, board, nil, "SIGN_IN_NEEDED"},
		{"a helper sees the board", of(helper), board, nil, ""},
		{"nobody signs in", access.Claims{}, signIn, nil, ""},
		{"who may only read sees the board", of(helper, readOnly), board, nil, ""},
		{"who may only read clocks on", of(helper, readOnly), clockOn, mine, "READ_ONLY"},
		{"who may only read makes an owner", of(owner, readOnly), setRole, nil, "READ_ONLY"},
		{"a program outside of its methods", of(owner, only("tackfree.intake.v1.IntakeService")), board, nil, "METHOD_NOT_ALLOWED"},
		{"a program in its service", of(helper, only("tackfree.workflow.v1.FloorService")), board, nil, ""},
		{"a program with its method", of(helper, only(board[1:])), board, nil, ""},
		{"a program beside its method", of(helper, only("tackfree.workflow.v1.FloorService/GetDay")), board, nil, "METHOD_NOT_ALLOWED"},
		{"a program with more methods than its role", of(helper, only(rates[1:])), rates, nil, "ROLE_TOO_LOW"},
		{"an owner calls what is not there", of(owner), "/tackfree.workflow.v1.FloorService/Burn", nil, "NO_ACCESS_RULE"},
		{"nobody calls what is not there", access.Claims{}, "/nothing", nil, "NO_ACCESS_RULE"},
		{"nobody asks for health", access.Claims{}, "/grpc.health.v1.Health/Check", nil, ""},
		{"nobody asks what there is", access.Claims{}, "/grpc.reflection.v1.ServerReflection/ServerReflectionInfo", nil, ""},
		{"nobody pretends to ask for health", access.Claims{}, "/tackfree.grpc.health.v1/Check", nil, "NO_ACCESS_RULE"},
		{"this machine", access.Claims{Role: owner, Machine: true}, setRole, &workflowv1.SetRoleRequest{}, ""},
		{"a service", access.Claims{Service: "costing", Role: owner}, rates, &costingv1.ListPayRatesRequest{}, ""},
	} {
		var req any
		if c.req != nil {
			req = c.req
		}
		err := access.Check(c.who, c.method, req)
		if fault.Reason(err) != c.reason || (err != nil) != (c.reason != "") {
			t.Errorf("%s: %v, want %q", c.name, err, c.reason)
		}
		if f := fault.Of(err); f != nil && (len(f.Text) < 20 || f.Kind != fault.Denied && f.Kind != fault.Unauthenticated) {
			t.Errorf("%s: %v, which helps nobody", c.name, f)
		}
	}
}

// A refusal says who may.
func TestCheck_SaysWhoMay(t *testing.T) {
	err := access.Check(of(typev1.Role_ROLE_HELPER), rates, nil)
	if want := "Only owners may do this (list pay rates), and here you are a helper. Ask an owner."; err == nil || err.Error() != want || !errors.Is(err, fault.Denied) {
		t.Errorf("refused with %v, want %s", err, want)
	}
}

// Whatever changes something is a command, for whom may only read. Commands are asked with a request_id,
// but for those that bring or answer a secret and a rebuild, which comes to the same however often.
func TestRules_Commands(t *testing.T) {
	seen := map[bool]int{}
	for method, r := range access.Rules() {
		seen[r.Command]++
		found, err := protoregistry.GlobalFiles.FindDescriptorByName(protoreflect.FullName(strings.ReplaceAll(method[1:], "/", ".")))
		if err != nil {
			t.Fatal(err)
		}
		m := found.(protoreflect.MethodDescriptor)
		reads := m.Input().Fields().ByName("request_id") == nil
		if m.Parent().Name() == "SignInService" {
			reads = strings.HasPrefix(string(m.Name()), "Get") || strings.HasPrefix(string(m.Name()), "List")
		}
		if reads = reads && m.Name() != "Rebuild"; reads == r.Command {
			t.Errorf("%s is taken for a command: %v", method, r.Command)
		}
	}
	if seen[true] < 80 || seen[false] < 60 {
		t.Errorf("%d commands and %d reads", seen[true], seen[false])
	}
}

func BenchmarkCheck_Own(b *testing.B) {
	mine := &workflowv1.ClockOnRequest{Person: nell.Person}
	for b.Loop() {
		if err := access.Check(nell, clockOn, mine); err != nil {
			b.Fatal(err)
		}
	}
}
