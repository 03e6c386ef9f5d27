package consume_test

import (
	"testing"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/id"
	eventsv1 "tackfree/proto/tackfree/events/v1"
)

// What mends a piece that came back after it was sold is needed, in its second pass, also where the sale is heard of last and the piece came
// back before it was noted here; what was open before the sale stays dropped. When it is dealt with, what was not begun is needed no more.
func TestHandler_Comeback(t *testing.T) {
	for name, saleLast := range map[string]bool{"InOrder": false, "SaleIsHeardOfLast": true} {
		t.Run(name, func(t *testing.T) {
			s, piece, comeback := open(t), id.New(), id.New().String()
			first, mend, polish := stage("topcoat-1", s.varnish, "0.2"), stage("mend", s.varnish, "0.1"), stage("polish", s.paint, "0.3")
			s.must(t, event("workflow", 1, piece, approved(first)))
			gone := event("sales", 1, piece, sold())
			gone.OccurredAt = timestamppb.New(monday.Add(90 * time.Minute))
			if !saleLast {
				s.must(t, gone)
			}
			planned := event("workflow", 3, piece, &eventsv1.Envelope{Payload: &eventsv1.Envelope_ComebackPlanned{ComebackPlanned: &eventsv1.ComebackPlanned{
				ComebackId: comeback, Stages: []*eventsv1.StagesPlanned_Stage{mend, polish}}}})
			planned.OccurredAt = timestamppb.New(monday)
			s.must(t, event("workflow", 2, piece, &eventsv1.Envelope{Payload: &eventsv1.Envelope_ComebackOpened{ComebackOpened: &eventsv1.ComebackOpened{ComebackId: comeback}}}), planned)
			if saleLast {
				s.must(t, gone)
			}
			same(t, "needs", s.told(t, piece), "mend (top) 2 0.1 open", "polish (top) 2 0.3 open", "topcoat-1 (top) 1 0.2 dropped")
			same(t, "reserved of the varnish", s.reserved(t, s.varnish), "mend (top) 0.1")
			s.must(t, event("workflow", 4, piece, finished(mend, 2)),
				event("workflow", 5, piece, &eventsv1.Envelope{Payload: &eventsv1.Envelope_ComebackClosed{ComebackClosed: &eventsv1.ComebackClosed{ComebackId: comeback, Outcome: "mended", DroppedStageIds: ids(polish)}}}))
			same(t, "needs when it is dealt with", s.told(t, piece), "mend (top) 2 0.1 done", "polish (top) 2 0.3 dropped", "topcoat-1 (top) 1 0.2 dropped")
			same(t, "reserved of the paint", s.reserved(t, s.paint))
		})
	}
}
