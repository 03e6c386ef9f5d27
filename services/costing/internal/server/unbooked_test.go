package server_test

import (
	"encoding/hex"
	"slices"
	"testing"

	"google.golang.org/protobuf/proto"

	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	eventsv1 "tackfree/proto/tackfree/events/v1"
)

// lacking verifies books that lack events, and in which no row differs.
func (o *office) lacking(t *testing.T, refused, waiting int64, first *eventsv1.Envelope) *costingv1.VerifyResponse {
	t.Helper()
	r, err := o.books.Verify(t.Context(), &costingv1.VerifyRequest{})
	if err != nil {
		t.Fatal(err)
	}
	if r.Clean || r.DifferenceCount != 0 || r.RefusedCount != refused || r.WaitingCount != waiting {
		t.Errorf("Verify = %v, want no difference, %d refused and %d that wait", r, refused, waiting)
	}
	if u := r.FirstUnbooked; u.GetProducer() != first.Producer || u.GetAggregate() != first.AggregateId || u.GetEventId() != first.EventId || u.GetReason() == "" {
		t.Errorf("the first of them is %v, want %v", u, first)
	}
	return r
}

// inEuro is what is told of material in a currency that the shop does not have.
func (o *office) inEuro(piece id.ID) *eventsv1.Envelope {
	cost := usd(300)
	cost.CurrencyCode = "EUR"
	return o.from["materials"].add(id.New(), piece, &eventsv1.Envelope{Payload: &eventsv1.Envelope_MaterialIssued{MaterialIssued: &eventsv1.MaterialIssued{Cost: cost}}})
}

// Books that refuse an event are not what happened, though what is recomputed refuses it too. Once the producer's
// record is mended and the event booked, they are.
func TestServer_Verify_CountsWhatIsRefused(t *testing.T) {
	t.Parallel()
	o := setup(t)
	piece := o.takenIn(7, 1_000)
	bad := o.inEuro(piece)
	product, _ := id.Parse(bad.AggregateId)
	for range 2 { // wait behind it
		o.from["materials"].add(product, piece, &eventsv1.Envelope{Payload: &eventsv1.Envelope_MaterialIssued{MaterialIssued: &eventsv1.MaterialIssued{Cost: usd(500)}}})
	}
	r := o.lacking(t, 1, 2, bad) // also when Verify is the first to hear of it
	list, err := o.books.ListDeadLetters(t.Context(), &costingv1.ListDeadLettersRequest{})
	if err != nil || len(list.DeadLetters) != 1 || list.DeadLetters[0].Error != r.FirstUnbooked.Reason {
		t.Fatalf("dead letters = %v, %v, want the one that Verify tells: %v", list, err, r)
	}
	if _, err := o.books.Rebuild(t.Context(), &costingv1.RebuildRequest{}); err != nil {
		t.Fatal(err)
	}
	o.inEuro(piece)
	o.lacking(t, 2, 2, bad)

	materials := o.from["materials"]
	materials.mu.Lock()
	for _, e := range materials.events {
		e.GetMaterialIssued().Cost = usd(300)
	}
	materials.mu.Unlock()
	if r, err := o.books.Verify(t.Context(), &costingv1.VerifyRequest{}); err != nil || r.Clean || r.DifferenceCount == 0 || r.WaitingCount != 0 {
		t.Errorf("of what is mended and not retried: %v, %v", r, err)
	}
	list, err = o.books.ListDeadLetters(t.Context(), &costingv1.ListDeadLettersRequest{})
	if err != nil || len(list.DeadLetters) != 2 {
		t.Fatalf("dead letters = %v, %v, want two", list, err)
	}
	for _, l := range list.DeadLetters {
		if _, err := o.books.RetryDeadLetter(svctest.Ctx(t), &costingv1.RetryDeadLetterRequest{RequestId: svctest.NewID(), Name: l.Name}); err != nil {
			t.Fatal(err)
		}
	}
	o.clean(t)
}

// A hole in a producer's record is one in the books.
func TestServer_Verify_CountsWhatWaitsForAHole(t *testing.T) {
	t.Parallel()
	o := setup(t)
	piece := o.takenIn(7, 1_000)
	o.worked(piece, monday)
	o.clean(t)
	workflow := o.from["workflow"]
	for range 3 {
		o.worked(piece, monday.AddDate(0, 0, 1))
	}
	workflow.mu.Lock()
	lost, first := workflow.events[1], workflow.events[2]
	workflow.events = slices.Delete(workflow.events, 1, 2)
	workflow.mu.Unlock()
	r := o.lacking(t, 0, 2, first)
	if want := "it waits for version 2, which is not in the record of workflow"; r.FirstUnbooked.GetReason() != want {
		t.Errorf("it says %q, want %q", r.FirstUnbooked.GetReason(), want)
	}
	bad := o.inEuro(piece) // what was refused is told before what waits
	o.lacking(t, 1, 2, bad)
	o.from["materials"].mu.Lock()
	bad.GetMaterialIssued().Cost = usd(300)
	o.from["materials"].mu.Unlock()
	workflow.mu.Lock()
	workflow.events = append(workflow.events, lost) // at last, and behind those that were recorded after it
	workflow.mu.Unlock()
	if _, err := o.books.Rebuild(t.Context(), &costingv1.RebuildRequest{}); err != nil {
		t.Fatal(err)
	}
	o.clean(t)
}

// What came early, or damaged, beside work that goes on is no fault of the books: the record has it. A message of
// which nobody knows whose it was is, until somebody closes its letter.
func TestServer_Verify_WhatIsEarlyOrDamaged(t *testing.T) {
	t.Parallel()
	o := setup(t)
	piece := o.takenIn(7, 1_000)
	o.clean(t)
	early := proto.CloneOf(o.from["intake"].events[0])
	early.Version, early.EventId = 9, id.New().String()
	body, err := proto.Marshal(early)
	if err != nil {
		t.Fatal(err)
	}
	letter := func(producer, aggregate string) string {
		return `INSERT INTO costing.dead SELECT gen_random_uuid(), 'damaged', '` + producer + `', ` + aggregate + `, 1, NULL, 'stream:' || count(*), 's', '', 'not an envelope', 1, now() FROM costing.dead; `
	}
	o.exec(t, `INSERT INTO costing.parked SELECT 'intake', aggregate_id, 9, aggregate_id, '\x`+hex.EncodeToString(body)+`', now() FROM costing.applied; `+letter("intake", "'"+piece.String()+"'"))
	o.clean(t)
	o.exec(t, letter("intake", "NULL"))
	r, err := o.books.Verify(t.Context(), &costingv1.VerifyRequest{})
	if err != nil || r.Clean || r.RefusedCount != 1 || r.FirstUnbooked.GetReason() != "not an envelope" || r.FirstUnbooked.GetAggregate() != "" {
		t.Errorf("of a message that is nobody's: %v, %v", r, err)
	}
	o.exec(t, letter("upholstery", "'"+piece.String()+"'"))
	if r, err = o.books.Verify(t.Context(), &costingv1.VerifyRequest{}); err != nil || r.RefusedCount != 2 {
		t.Errorf("of one of a service that costing does not know: %v, %v", r, err)
	}
}

// What is recorded behind the back of whoever reads the log, and what waits for it, is no hole.
func TestServer_Verify_WhatIsRecordedBehindItsBack(t *testing.T) {
	t.Parallel()
	o := setup(t)
	piece := o.takenIn(7, 1_000)
	for n := range 4 {
		o.worked(piece, monday.AddDate(0, 0, n))
	}
	workflow := o.from["workflow"]
	workflow.mu.Lock()
	workflow.unseen = workflow.events[1].EventId
	workflow.mu.Unlock()
	o.clean(t)
}

// What the books have and the record no longer gives is a difference; why, the letter of what was recomputed says.
func TestServer_Verify_CountsWhatIsRefusedNow(t *testing.T) {
	t.Parallel()
	o := setup(t)
	piece := o.takenIn(7, 1_000)
	e := o.from["materials"].add(id.New(), piece, &eventsv1.Envelope{Payload: &eventsv1.Envelope_MaterialIssued{MaterialIssued: &eventsv1.MaterialIssued{Cost: usd(300)}}})
	o.cost(t, piece, func(c *costingv1.PieceCost) bool { return cents(c.Sums.Material) == 300 })
	o.clean(t)
	o.from["materials"].mu.Lock()
	e.GetMaterialIssued().Cost.CurrencyCode = "EUR"
	o.from["materials"].mu.Unlock()
	r, err := o.books.Verify(t.Context(), &costingv1.VerifyRequest{})
	if err != nil || r.Clean || r.DifferenceCount == 0 || r.RefusedCount != 1 || r.FirstUnbooked.GetEventId() != e.EventId {
		t.Errorf("Verify = %v, %v, want differences and the event that is refused", r, err)
	}
}
