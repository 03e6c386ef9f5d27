package server_test

import (
	"context"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// salesFake is sales' log, which nobody publishes: it is read as it is by a shop that begins to follow.
type salesFake struct {
	eventsv1.UnimplementedEventLogServiceServer
	mu     sync.Mutex
	events []*eventsv1.Envelope
}

func (f *salesFake) of(piece string) (all []*eventsv1.Envelope) {
	f.mu.Lock()
	defer f.mu.Unlock()
	for _, e := range f.events {
		if piece == "" || e.AggregateId == piece {
			all = append(all, e)
		}
	}
	return all
}

func (f *salesFake) ListHeads(context.Context, *eventsv1.ListHeadsRequest) (*eventsv1.ListHeadsResponse, error) {
	out := &eventsv1.ListHeadsResponse{Epoch: "one"}
	for _, e := range f.of("") {
		out.Heads = append(out.Heads, &eventsv1.ListHeadsResponse_Head{Aggregate: &eventsv1.Aggregate{Kind: "piece", Id: e.AggregateId}, Version: e.Version})
	}
	return out, nil
}

func (f *salesFake) ListEvents(_ context.Context, r *eventsv1.ListEventsRequest) (*eventsv1.ListEventsResponse, error) {
	after := func(e *eventsv1.Envelope) bool { return e.Version <= r.AfterVersion }
	return &eventsv1.ListEventsResponse{Epoch: "one", Events: slices.DeleteFunc(f.of(r.Aggregate.GetId()), after)}, nil
}

// says writes an event of a piece into the log.
func (f *salesFake) says(piece string, payload *eventsv1.Envelope) {
	of := tail(piece)
	payload.EventId, payload.Producer, payload.Epoch, payload.AggregateKind, payload.Actor = id.New().String(), "sales", "one", "piece", "Ada"
	payload.AggregateId, payload.PieceId, payload.Version = of, of, int64(len(f.of(of))+1)
	payload.OccurredAt, payload.RecordedAt = at(0), at(0)
	f.mu.Lock()
	defer f.mu.Unlock()
	f.events = append(f.events, payload)
}

func (f *salesFake) sells(piece string) {
	f.says(piece, &eventsv1.Envelope{Payload: &eventsv1.Envelope_PieceSold{PieceSold: &eventsv1.PieceSold{SaleId: id.New().String()}}})
}

func (f *salesFake) takesBack(piece string) {
	f.says(piece, &eventsv1.Envelope{Payload: &eventsv1.Envelope_SaleRefunded{SaleRefunded: &eventsv1.SaleRefunded{PieceReturned: true}}})
}

// boardBecomes waits until the board shows the states, in its order.
func (f *floor) boardBecomes(t *testing.T, r *workflowv1.ListBoardRequest, want string) {
	t.Helper()
	for deadline := time.Now().Add(20 * time.Second); ; time.Sleep(20 * time.Millisecond) {
		got := tagged(f.board(t, r))
		if got == want {
			return
		}
		if time.Now().After(deadline) {
			t.Fatalf("the board shows %q, want %q", got, want)
		}
	}
}

// A dresser is sold with its drawers still to polish. Nobody is offered them, the plan has none of it, the
// board leaves it out, and who watches is told; but a touch-up before it is delivered can be clocked, with a
// word that it was sold. It comes back, and is work again.
func TestServer_SoldLeavesTheFloor(t *testing.T) {
	t.Parallel()
	p := setupPlanning(t)
	p.wall.set(30)
	p.promise(t, p.piece, at(600), dollars(450))
	p.assign(t, assigning(p.stages["strip top"].Name, p.nell))
	who := &workflowv1.ListNextStagesRequest{Person: p.nell, PageSize: 50}
	if n := len(p.next(t, who).NextStages); n != 2 || len(p.plan(t).Stages) != 6 {
		t.Fatalf("before the sale %d stages are offered and %d planned, want 2 and 6", n, len(p.plan(t).Stages))
	}
	p.sales.sells(p.piece)
	p.boardBecomes(t, &workflowv1.ListBoardRequest{}, "")
	p.boardBecomes(t, &workflowv1.ListBoardRequest{States: []workflowv1.BoardLine_State{workflowv1.BoardLine_STATE_SOLD}}, "sold 7")
	if n := p.next(t, who); len(n.NextStages)+int(n.More)+len(n.Obstacles) != 0 {
		t.Errorf("of what was sold is said: %v", n)
	}
	if got := p.plan(t); len(got.Stages)+len(got.Unplaced)+len(got.Pieces) != 0 {
		t.Errorf("of what was sold is planned: %v", got)
	}
	day, err := p.view().GetDay(t.Context(), &workflowv1.GetDayRequest{Person: p.nell})
	if err != nil || len(day.Assigned)+len(day.NextStages) != 0 {
		t.Errorf("GetDay = %v, %v; want nothing to do", day, err)
	}
	if e := p.Last(t); e.GetPieceLeftFloor().GetOpenStages() != 6 || e.Actor != "Ada" {
		t.Errorf("event = %v, want that the piece left with 6 stages, by whom", e)
	}

	on, err := p.clocks.ClockOn(svctest.Ctx(t), p.clockOn(p.nell, p.stages["strip top"].Name, 0))
	if err != nil || len(on.Notices) != 1 || !strings.Contains(on.Notices[0], "Piece 7 was sold on Mon 2 Mar 2026 09:00 EST") {
		t.Fatalf("ClockOn at the sold = %v, %v; want it with a notice", on, err)
	}
	p.boardBecomes(t, &workflowv1.ListBoardRequest{}, "in_work 7")
	if l := p.board(t, &workflowv1.ListBoardRequest{}); len(l[0].Next) != 1 || l[0].SoldTime == nil || l[0].Next[0].OnTheClock[0] != "Nell" {
		t.Errorf("the line of what is touched up = %v", l)
	}
	if _, err := p.clocks.ClockOff(svctest.Ctx(t), clockOff(p.nell, 30)); err != nil {
		t.Fatal(err)
	}

	p.sales.takesBack(p.piece)
	p.boardBecomes(t, &workflowv1.ListBoardRequest{}, "ready 7")
	if n := len(p.next(t, who).NextStages); n != 2 || len(p.plan(t).Stages) == 0 {
		t.Errorf("back in stock %d stages are offered and %d planned", n, len(p.plan(t).Stages))
	}
	if e := p.Last(t).GetPieceBackOnFloor(); e.GetOpenStages() != 6 {
		t.Errorf("event = %v, want that the piece is back with 6 stages", e)
	}
	if on, err := p.clocks.ClockOn(svctest.Ctx(t), p.clockOn(p.nell, p.stages["strip case"].Name, 30)); err != nil || len(on.Notices) != 0 {
		t.Errorf("ClockOn at what came back = %v, %v; want no notice", on, err)
	}
}

// The clock of who is at work when the piece is sold runs on; they see the piece until they are done.
func TestServer_SoldUnderTheHands(t *testing.T) {
	t.Parallel()
	p := setupPlanning(t)
	if _, err := p.clocks.ClockOn(svctest.Ctx(t), p.clockOn(p.nell, p.stages["strip top"].Name, 0)); err != nil {
		t.Fatal(err)
	}
	p.wall.set(20)
	p.sales.sells(p.piece)
	for p.Last(t).GetPieceLeftFloor() == nil {
		time.Sleep(20 * time.Millisecond)
	}
	p.boardBecomes(t, &workflowv1.ListBoardRequest{}, "in_work 7")
	off, err := p.clocks.ClockOff(svctest.Ctx(t), clockOff(p.nell, 20))
	if err != nil || !off.ClockEntry.StartTime.AsTime().Equal(at(0).AsTime()) || !off.ClockEntry.EndTime.AsTime().Equal(at(20).AsTime()) {
		t.Errorf("ClockOff = %v, %v; want the 20 minutes", off, err)
	}
	p.boardBecomes(t, &workflowv1.ListBoardRequest{}, "")
}
