package consume_test

import (
	"context"
	"log/slog"
	"slices"
	"testing"
	"time"

	"google.golang.org/grpc"

	"tackfree/pkg/id"
	"tackfree/pkg/inbox"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	"tackfree/services/sales/internal/consume"
)

// diary is a producer's log, of an epoch.
type diary struct {
	eventsv1.EventLogServiceClient // what nobody asks it

	epoch  string
	events []inbox.Event
}

func (d *diary) ListEvents(_ context.Context, r *eventsv1.ListEventsRequest, _ ...grpc.CallOption) (*eventsv1.ListEventsResponse, error) {
	out := &eventsv1.ListEventsResponse{Epoch: d.epoch}
	for _, e := range d.events {
		if r.Aggregate == nil || r.Aggregate.Id == e.AggregateId && e.Version > r.AfterVersion {
			out.Events = append(out.Events, e.Envelope)
		}
	}
	return out, nil
}

func (d *diary) ListHeads(context.Context, *eventsv1.ListHeadsRequest, ...grpc.CallOption) (*eventsv1.ListHeadsResponse, error) {
	out := &eventsv1.ListHeadsResponse{Epoch: d.epoch}
	for _, e := range d.events {
		out.Heads = append(out.Heads, &eventsv1.ListHeadsResponse_Head{Aggregate: &eventsv1.Aggregate{Kind: "piece", Id: e.AggregateId}, Version: e.Version})
	}
	return out, nil
}

// Workflow comes back from a backup of before a plan, and another look is planned since; what intake and
// sales had told is read again too, and nothing counts twice.
func TestKeeper_RestoredProducer(t *testing.T) {
	s, piece, sale := open(t), id.New(), id.New()
	workflow := &diary{epoch: "one", events: []inbox.Event{event("workflow", 1, piece, 0, planned("clear")), event("workflow", 2, piece, 1, approved("paint"))}}
	intake := &diary{epoch: "one", events: []inbox.Event{event("intake", 1, piece, 0, takenIn(7, "chair"))}}
	sales := &diary{epoch: "one", events: []inbox.Event{event("sales", 1, piece, 3, listed(90)), event("sales", 2, piece, 6, sold(sale, 80)), event("sales", 3, piece, 7, refunded(sale, 10, false))}}
	k, producers := &consume.Keeper{}, map[string]eventsv1.EventLogServiceClient{"workflow": workflow, "intake": intake, "sales": sales}
	s.handler.Rebuild = k.Rebuild
	k.Inbox = inbox.New(s.DB, "sales", producers, s.handler, time.Hour, slog.New(slog.DiscardHandler))
	compare := func() {
		t.Helper()
		if err := k.Inbox.Compare(t.Context()); err != nil {
			t.Fatal(err)
		}
	}
	with := func(look string) []string {
		return []string{"7 is Oak thing, chair/large/worn/" + look + " stock true scrapped -",
			"7 spell 1.1 at market stall from 03 to 06 for 9000 sold true",
			"7 was sold at market stall on 06 for 8000, refunded 1000, returned false, ends spell 1, set false",
			"8 is Oak thing, desk/large/worn/ stock true scrapped -",
			"8 spell 1.1 at market stall from 02 to 09 for 9000 sold false", "8 spell 2.1 at market stall from 12 to - for 8500 sold false"}
	}
	shown := id.New()
	intake.events = append(intake.events, event("intake", 1, shown, 0, takenIn(8, "desk")))
	sales.events = append(sales.events, event("sales", 1, shown, 2, listed(90)), event("sales", 2, shown, 9, withdrawn()), event("sales", 3, shown, 12, listed(85)))
	compare()
	same(t, "past", s.told(t), with("paint")...)
	_, before := s.past(t, 0)

	workflow.epoch, workflow.events = "two", append(slices.Clone(workflow.events[:1]), event("workflow", 2, piece, 1, approved("wax")))
	compare()
	same(t, "past after the backup", s.told(t), with("wax")...)
	if _, now := s.past(t, 0); now.Epoch == before.Epoch || now.N <= before.N {
		t.Errorf("the past went from %+v to %+v, so what was learned before would still count", before, now)
	}
	compare()
	same(t, "compared again", s.told(t), with("wax")...)
}
