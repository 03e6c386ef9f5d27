package server_test

import (
	"context"
	"slices"
	"testing"
	"time"

	moneyv1 "google.golang.org/genproto/googleapis/type/money"
	"google.golang.org/grpc"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	"tackfree/services/costing/internal/watch"
)

func TestServer_WatchAnUnknownPiece(t *testing.T) {
	t.Parallel()
	o := setup(t)
	stream := o.watch(t, id.New(), soon)
	if _, err := stream.Recv(); !fault.Is(err, "PIECE_NOT_FOUND") {
		t.Errorf("Recv = %v, want PIECE_NOT_FOUND", err)
	}
}

// A watcher sees each change of the piece, and is told when the service stops, so that it
// can watch again and does not think that the piece rests.
func TestServer_Watch(t *testing.T) {
	t.Parallel()
	o := setup(t)
	piece := o.takenIn(7, 1_000)
	o.setRate(t, 2_000, dayOf(3, 1))
	o.cost(t, piece, func(c *costingv1.PieceCost) bool { return cents(c.Sums.Acquisition) == 1_000 })
	stream := o.watch(t, piece, soon)
	o.worked(piece, monday)
	var seen []int64
	for len(seen) == 0 || seen[len(seen)-1] != 2_000 {
		r, err := stream.Recv()
		if err != nil {
			t.Fatal(err)
		}
		seen = append(seen, cents(r.PieceCost.Sums.Labour))
	}
	if !slices.Equal(seen, []int64{0, 2_000}) {
		t.Errorf("labour seen = %v, want nothing and then 20.00", seen)
	}
	stopped := make(chan struct{})
	go func() {
		o.Stop()
		close(stopped)
	}()
	if r, err := stream.Recv(); !fault.Is(err, "SERVICE_STOPPING") {
		t.Errorf("Recv while the service stops = %v, %v; want SERVICE_STOPPING", r, err)
	}
	<-stopped
}

// What makes a sheet final or not is seen too, though nothing of it is booked: a rate of
// zero for work that had none, an event put aside and booked after all, another name.
func TestServer_Watch_WhatIsNotBooked(t *testing.T) {
	t.Parallel()
	o := setup(t)
	piece := o.takenIn(7, 1_000)
	o.worked(piece, monday)
	o.cost(t, piece, func(c *costingv1.PieceCost) bool {
		return cents(c.Sums.Acquisition) == 1_000 && c.Sums.LabourTime.AsDuration() == time.Hour
	})
	stream := o.watch(t, piece, soon)
	next := func() *costingv1.PieceCost {
		t.Helper()
		r, err := stream.Recv()
		if err != nil {
			t.Fatal(err)
		}
		return r.PieceCost
	}
	first := next()
	sees := func(what string, reasons ...string) {
		t.Helper()
		if got := next(); !slices.Equal(got.ProvisionalReasons, reasons) || got.Revision != first.Revision {
			t.Errorf("after %s: %q in revision %d, want %q in %d still", what, got.ProvisionalReasons, got.Revision, reasons, first.Revision)
		}
	}
	if want := []string{"Nell has no pay rate yet for work on 2026-03-02"}; !slices.Equal(first.ProvisionalReasons, want) {
		t.Errorf("at first: %q, want %q", first.ProvisionalReasons, want)
	}
	o.named("Ada Quist")
	sees("a person was named", "Ada Quist has no pay rate yet for work on 2026-03-02")
	o.setRate(t, 0, dayOf(3, 1))
	sees("a rate of zero")
	bad := o.from["materials"].add(id.New(), piece, &eventsv1.Envelope{Payload: &eventsv1.Envelope_MaterialIssued{MaterialIssued: &eventsv1.MaterialIssued{
		Cost: &moneyv1.Money{CurrencyCode: "EUR", Units: 3}}}})
	sees("an event was refused", "1 event(s) could not be booked")
	o.from["materials"].mu.Lock()
	bad.GetMaterialIssued().Cost = usd(300)
	o.from["materials"].mu.Unlock()
	o.retry(t)
	if got := next(); got.Provisional || cents(got.Sums.Material) != 300 || got.Revision <= first.Revision {
		t.Errorf("after the event was booked: %v", got)
	}
}

// What changes for others only is not sent again.
func TestServer_Watch_NothingNew(t *testing.T) {
	t.Parallel()
	o := setup(t)
	ana := id.New()
	o.from["workflow"].people[id.Name("people", ana)] = true
	piece := o.takenIn(7, 1_000)
	o.cost(t, piece, func(c *costingv1.PieceCost) bool { return cents(c.Sums.Acquisition) == 1_000 })
	stream := o.watch(t, piece, 3*watch.Look)
	if _, err := stream.Recv(); err != nil {
		t.Fatal(err)
	}
	if _, err := o.rates.SetPayRate(svctest.Ctx(t), rateOf(ana, 2_000, dayOf(3, 1))); err != nil {
		t.Fatal(err)
	}
	if r, err := stream.Recv(); err == nil {
		t.Errorf("after another person's rate the watcher is sent %v", r)
	}
}

// soon is more time than any news takes.
const soon = 30 * time.Second

// watch watches a piece for so long.
func (o *office) watch(t *testing.T, piece id.ID, long time.Duration) grpc.ServerStreamingClient[costingv1.WatchPieceCostResponse] {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), long)
	t.Cleanup(cancel)
	stream, err := o.costing.WatchPieceCost(ctx, &costingv1.WatchPieceCostRequest{Piece: id.Name("pieces", piece)})
	if err != nil {
		t.Fatal(err)
	}
	return stream
}

// retry books the one dead letter again.
func (o *office) retry(t *testing.T) {
	t.Helper()
	list, err := o.books.ListDeadLetters(t.Context(), &costingv1.ListDeadLettersRequest{})
	if err != nil || len(list.DeadLetters) != 1 {
		t.Fatalf("dead letters = %v, %v", list, err)
	}
	if _, err := o.books.RetryDeadLetter(svctest.Ctx(t), &costingv1.RetryDeadLetterRequest{RequestId: svctest.NewID(), Name: list.DeadLetters[0].Name}); err != nil {
		t.Fatal(err)
	}
}
