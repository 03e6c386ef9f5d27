package consume_test

import (
	"testing"

	"tackfree/pkg/id"
	eventsv1 "tackfree/proto/tackfree/events/v1"
)

// A plan that is published costs nothing, and holds up nothing: it is of no piece.
func TestHandler_PublishedPlan(t *testing.T) {
	db := books(t)
	e := &eventsv1.Envelope{Payload: &eventsv1.Envelope_DayPlanned{DayPlanned: &eventsv1.DayPlanned{LastDate: "2026-03-03", AssignedStages: 2}}}
	if err := apply(t, db, event("workflow", id.New(), 1, id.Nil, e)); err != nil {
		t.Fatal(err)
	}
	if n := count(t, db, "posting") + count(t, db, "piece"); n != 0 {
		t.Errorf("it makes %d lines and pieces", n)
	}
}
