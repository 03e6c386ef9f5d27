package caller_test

import (
	"testing"

	"tackfree/pkg/caller"
)

func TestOf(t *testing.T) {
	if got := caller.Of(t.Context()); got != (caller.Caller{}) {
		t.Errorf("Of a context that carries none = %+v", got)
	}
	nell := caller.Caller{Actor: "Nell", RequestID: "r", TraceParent: "p", TraceState: "s"}
	ctx := caller.With(t.Context(), nell)
	if got := caller.Of(ctx); got != nell {
		t.Errorf("Of = %+v, want %+v", got, nell)
	}
	if got := caller.Of(caller.With(ctx, caller.Caller{Actor: "Sam"})); got != (caller.Caller{Actor: "Sam"}) {
		t.Errorf("Of the inner one = %+v, want Sam and nothing of Nell", got)
	}
}
