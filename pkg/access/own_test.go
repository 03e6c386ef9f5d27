package access

import (
	"testing"

	"tackfree/pkg/fault"
	typev1 "tackfree/proto/tackfree/type/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// A list names each of its own, and one that is empty names nobody; a way that leads to no text is none.
func TestRule_OwnOfAList(t *testing.T) {
	update := (&workflowv1.UpdatePersonRequest{}).ProtoReflect().Descriptor()
	r := Rule{Least: typev1.Role_ROLE_HELPER, what: "x", own: path(update, "person.stations")}
	who := Claims{Person: "people/1", Name: "Nell", Role: typev1.Role_ROLE_HELPER}
	for name, c := range map[string]struct {
		names  []string
		reason string
	}{"hers": {[]string{"people/1", "people/1"}, ""}, "one of another": {[]string{"people/1", "people/2"}, "NOT_YOURS"}, "none": {nil, "NOT_YOURS"}} {
		err := r.ownOf(who, &workflowv1.UpdatePersonRequest{Person: &workflowv1.Person{Stations: c.names}})
		if fault.Reason(err) != c.reason {
			t.Errorf("%s: %v, want %q", name, err, c.reason)
		}
	}
	if fault.Reason(r.ownOf(who, &workflowv1.UpdatePersonRequest{})) != "NOT_YOURS" {
		t.Error("nothing on the way names somebody")
	}
	for _, dotted := range []string{"", "person", "nobody", "request_id.x", "person.nobody", "update_mask.paths.x"} {
		if path(update, dotted) != nil {
			t.Errorf("%q leads to a text", dotted)
		}
	}
}
