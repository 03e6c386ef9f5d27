package consume_test

import (
	"testing"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/id"
	"tackfree/pkg/inbox"
	eventsv1 "tackfree/proto/tackfree/events/v1"
)

func sold() *eventsv1.Envelope {
	return &eventsv1.Envelope{Payload: &eventsv1.Envelope_PieceSold{PieceSold: &eventsv1.PieceSold{SaleId: id.New().String()}}}
}

func returned() *eventsv1.Envelope {
	return &eventsv1.Envelope{Payload: &eventsv1.Envelope_SaleRefunded{SaleRefunded: &eventsv1.SaleRefunded{PieceReturned: true}}}
}

// after makes an event one of so many hours after monday.
func after(hours int, e inbox.Event) inbox.Event {
	at := timestamppb.New(monday.Add(time.Duration(hours) * time.Hour))
	e.OccurredAt, e.RecordedAt = at, at
	return e
}

// A piece is sold as it is, with a coat that was planned and one that was finished, and comes back:
// whoever is heard first, nothing of what was planned is reserved any more. What is laid out after
// that is.
func TestHandler_Sold(t *testing.T) {
	for name, order := range map[string][]int{"AsItWas": {0, 1, 2, 3, 4}, "SalesFirst": {2, 3, 0, 1, 4}, "SalesLast": {0, 1, 4, 2, 3}} {
		t.Run(name, func(t *testing.T) {
			s, piece := open(t), id.New()
			coat, second, repair := stage("topcoat-1", s.varnish, "0.2"), stage("topcoat-2", s.varnish, "0.1"), stage("repair", s.paint, "0.3")
			told := []inbox.Event{
				event("workflow", 1, piece, approved(coat, second)), event("workflow", 2, piece, finished(coat, 1)),
				after(5, event("sales", 1, piece, sold())), after(9, event("sales", 2, piece, returned())),
				after(20, event("workflow", 3, piece, amended(&eventsv1.FinishPlanAmended{Added: []*eventsv1.StagesPlanned_Stage{repair}}))),
			}
			for _, n := range order {
				s.must(t, told[n])
			}
			same(t, "needs", s.told(t, piece), "repair (top) 1 0.3 open", "topcoat-1 (top) 1 0.2 done", "topcoat-2 (top) 1 0.1 dropped")
			same(t, "reserved", s.reserved(t, s.varnish))
		})
	}
}
