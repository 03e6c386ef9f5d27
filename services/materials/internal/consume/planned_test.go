package consume_test

import (
	"testing"

	"tackfree/pkg/id"
	eventsv1 "tackfree/proto/tackfree/events/v1"
)

// A plan that is published reserves nothing, and holds up nothing: it is of no piece.
func TestHandler_PublishedPlan(t *testing.T) {
	s := open(t)
	e := event("workflow", 1, id.New(), &eventsv1.Envelope{Payload: &eventsv1.Envelope_DayPlanned{DayPlanned: &eventsv1.DayPlanned{LastDate: "2026-03-03", AssignedStages: 2}}})
	e.Piece, e.PieceId = id.Nil, ""
	s.must(t, e)
}
