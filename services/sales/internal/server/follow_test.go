package server_test

import (
	"context"
	"sync"
	"testing"
	"time"

	"google.golang.org/grpc"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	"tackfree/services/sales/salessvc"
)

// logFake is the log of a producer that sales follows.
type logFake struct {
	eventsv1.UnimplementedEventLogServiceServer
	mu     sync.Mutex
	events []*eventsv1.Envelope
}

// add writes the first event of a piece.
func (f *logFake) add(producer string, piece id.ID, e *eventsv1.Envelope) {
	f.mu.Lock()
	defer f.mu.Unlock()
	e.EventId, e.Producer, e.Epoch, e.AggregateKind, e.AggregateId, e.PieceId, e.Version = id.New().String(), producer, "one", "piece", piece.String(), piece.String(), 1
	e.OccurredAt, e.RecordedAt = then, timestamppb.Now()
	f.events = append(f.events, e)
}

func (f *logFake) ListEvents(_ context.Context, r *eventsv1.ListEventsRequest) (*eventsv1.ListEventsResponse, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	out := &eventsv1.ListEventsResponse{Epoch: "one"}
	for _, e := range f.events {
		if r.Aggregate == nil || r.Aggregate.Id == e.AggregateId && e.Version > r.AfterVersion {
			out.Events = append(out.Events, e)
		}
	}
	return out, nil
}

func (f *logFake) ListHeads(context.Context, *eventsv1.ListHeadsRequest) (*eventsv1.ListHeadsResponse, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	out := &eventsv1.ListHeadsResponse{Epoch: "one"}
	for _, e := range f.events {
		out.Heads = append(out.Heads, &eventsv1.ListHeadsResponse_Head{Aggregate: &eventsv1.Aggregate{Kind: e.AggregateKind, Id: e.AggregateId}, Version: e.Version})
	}
	return out, nil
}

// The service learns from what it sells itself, with what intake and workflow tell of the pieces, also
// while the broker is away.
func TestService_Follows(t *testing.T) {
	intake, workflow := &logFake{}, &logFake{}
	pieces := &intakeFake{pieces: map[string]*intakev1.Piece{}}
	s := svctest.Start(t, salessvc.Name, salessvc.Run, svctest.Options{Peers: map[string]grpc.ClientConnInterface{
		"intake": svctest.Fake(t, func(r grpc.ServiceRegistrar) {
			intakev1.RegisterIntakeServiceServer(r, pieces)
			eventsv1.RegisterEventLogServiceServer(r, intake)
		}),
		"workflow": svctest.Fake(t, func(r grpc.ServiceRegistrar) { eventsv1.RegisterEventLogServiceServer(r, workflow) })}})
	b := over(s, pieces)
	piece := b.piece()
	at, err := id.One("piece", piece, "pieces")
	if err != nil {
		t.Fatal(err)
	}
	intake.add("intake", at, &eventsv1.Envelope{Payload: &eventsv1.Envelope_PieceTakenIn{PieceTakenIn: &eventsv1.PieceTakenIn{Tag: 1, Title: "Oak dresser", Kind: "dresser",
		Origin: &eventsv1.PieceTakenIn_Purchase_{Purchase: &eventsv1.PieceTakenIn_Purchase{Price: usd(40)}}}}})
	workflow.add("workflow", at, &eventsv1.Envelope{Payload: &eventsv1.Envelope_FinishPlanApproved{FinishPlanApproved: &eventsv1.FinishPlanApproved{Look: "paint"}}})
	b.list(t, piece)
	b.sell(t, piece)
	for deadline := time.Now().Add(30 * time.Second); ; time.Sleep(20 * time.Millisecond) { // polling: it gives no sign
		resp, err := b.AdviseSale(t.Context(), &salesv1.AdviseSaleRequest{Traits: &salesv1.Traits{Kind: "dresser", Look: "paint"}})
		if f := resp.GetForecast().GetBasis(); err == nil && f.Sales == 1 && f.Listings == 1 && len(f.Examples) == 1 && f.Examples[0].Piece == piece && f.Examples[0].Same >= 2 {
			return
		}
		if time.Now().After(deadline) {
			t.Fatalf("what was sold is not learned: %v, %v", resp, err)
		}
	}
}
