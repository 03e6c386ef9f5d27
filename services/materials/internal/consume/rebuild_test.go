package consume_test

import (
	"context"
	"log/slog"
	"testing"
	"time"

	"google.golang.org/grpc"

	"tackfree/pkg/id"
	"tackfree/pkg/inbox"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	"tackfree/services/materials/internal/consume"
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

// Workflow comes back from a backup of before the first coat was finished, and by then another
// amount was planned; intake, which had told that another piece was given up, is read again too.
func TestKeeper_RestoredProducer(t *testing.T) {
	s, piece, given := open(t), id.New(), id.New()
	coat, second, lost := stage("topcoat-1", s.varnish, "0.2"), stage("topcoat-2", s.varnish, "0.1"), stage("topcoat-1", s.varnish, "5")
	workflow := &diary{epoch: "one", events: []inbox.Event{event("workflow", 1, piece, approved(coat, second)), event("workflow", 1, given, approved(lost)), event("workflow", 2, piece, finished(coat, 1))}}
	intake := &diary{epoch: "one", events: []inbox.Event{event("intake", 1, given, scrapped())}}
	k, producers := &consume.Keeper{}, map[string]eventsv1.EventLogServiceClient{"workflow": workflow, "intake": intake}
	s.handler.Rebuild = k.Rebuild
	k.Inbox = inbox.New(s.DB, "materials", producers, s.handler, time.Hour, slog.New(slog.DiscardHandler))
	compare := func() {
		t.Helper()
		if err := k.Inbox.Compare(t.Context()); err != nil {
			t.Fatal(err)
		}
	}
	compare()
	same(t, "needs", s.told(t, piece), "topcoat-1 (top) 1 0.2 done", "topcoat-2 (top) 1 0.1 open")
	same(t, "needs of what was given up", s.told(t, given), "topcoat-1 (top) 1 5 dropped")

	more := event("workflow", 2, piece, amended(&eventsv1.FinishPlanAmended{DroppedStageIds: ids(second), Added: []*eventsv1.StagesPlanned_Stage{stage("paint", s.paint, "0.3")}}))
	workflow.epoch, workflow.events = "two", append(workflow.events[:2:2], more)
	compare()
	same(t, "needs after the backup", s.told(t, piece), "paint (top) 1 0.3 open", "topcoat-1 (top) 1 0.2 open", "topcoat-2 (top) 1 0.1 dropped")
	same(t, "needs of what was given up, after the backup", s.told(t, given), "topcoat-1 (top) 1 5 dropped")
	compare()
	same(t, "compared again", s.told(t, piece), "paint (top) 1 0.3 open", "topcoat-1 (top) 1 0.2 open", "topcoat-2 (top) 1 0.1 dropped")
}
