package consume_test

import (
	"context"
	"testing"
	"time"

	moneyv1 "google.golang.org/genproto/googleapis/type/money"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/id"
	"tackfree/pkg/inbox"
	"tackfree/pkg/pg"
	eventsv1 "tackfree/proto/tackfree/events/v1"
)

// event makes an event as its producer would.
func event(producer string, aggregate id.ID, version int64, piece id.ID, payload *eventsv1.Envelope) inbox.Event {
	e := inbox.Event{Envelope: payload, ID: id.New(), Aggregate: aggregate, Piece: piece}
	e.EventId, e.Producer, e.Epoch, e.AggregateId, e.Version = e.ID.String(), producer, "one", aggregate.String(), version
	if piece != id.Nil {
		e.PieceId = piece.String()
	}
	at := timestamppb.New(monday.Add(time.Duration(version) * time.Minute))
	e.OccurredAt, e.RecordedAt = at, at
	return e
}

func apply(t testing.TB, db *pg.DB, events ...inbox.Event) error {
	t.Helper()
	return db.InTx(t.Context(), func(ctx context.Context, tx *pg.Tx) error {
		_, err := inbox.Apply(ctx, tx, handler(), events)
		return err
	})
}

func span(minutes int, pass int32) *eventsv1.ClockSpan {
	return &eventsv1.ClockSpan{EntryId: id.New().String(), PersonId: nell.String(), PersonName: "Nell", StageId: id.New().String(),
		StageKind: "sand", StageKey: "sand-fine", PartLabel: "seat", Pass: pass, Start: timestamppb.New(monday), End: timestamppb.New(monday.Add(time.Duration(minutes) * time.Minute))}
}

func takenIn(price int64) *eventsv1.Envelope {
	return &eventsv1.Envelope{Payload: &eventsv1.Envelope_PieceTakenIn{PieceTakenIn: &eventsv1.PieceTakenIn{Tag: 7, Title: "Stool",
		Origin: &eventsv1.PieceTakenIn_Purchase_{Purchase: &eventsv1.PieceTakenIn_Purchase{Price: usdOf(price), Source: "kerb"}}}}}
}

// share makes a span one of a stretch on a batch that began so many minutes after it, or before.
func share(s *eventsv1.ClockSpan, minutes int) *eventsv1.ClockSpan {
	s = proto.CloneOf(s)
	s.BatchId, s.StretchStart = id.New().String(), timestamppb.New(s.Start.AsTime().Add(time.Duration(minutes)*time.Minute))
	return s
}

// indirect makes a span one of cleaning, which belongs to no piece.
func indirect(s *eventsv1.ClockSpan) *eventsv1.ClockSpan {
	s = proto.CloneOf(s)
	s.StageId, s.StageKind, s.StageKey, s.PartLabel, s.Indirect = "", "", "", "", "cleaning"
	return s
}

func billed(amount int64, pass int32) *eventsv1.Envelope {
	return cameBack(id.New(), usdOf(amount), pass)
}

// cameBack tells of work that is back, done; nil: its bill is yet to come.
func cameBack(work id.ID, bill *moneyv1.Money, pass int32) *eventsv1.Envelope {
	return &eventsv1.Envelope{Payload: &eventsv1.Envelope_OutsideWorkReceived{OutsideWorkReceived: &eventsv1.OutsideWorkReceived{
		OutsideWorkId: work.String(), Kind: "caning", Firm: "Rush & Reed", Billed: bill, Pass: pass}}}
}

// calledOff tells of work that came back undone, and cost nothing.
func calledOff(work id.ID) *eventsv1.Envelope {
	e := cameBack(work, nil, 1)
	e.GetOutsideWorkReceived().CalledOff = true
	return e
}

// sentOut tells of work that went out; nil: no price was named.
func sentOut(work id.ID, kind string, quoted *moneyv1.Money) *eventsv1.Envelope {
	return &eventsv1.Envelope{Payload: &eventsv1.Envelope_SentOut{SentOut: &eventsv1.SentOut{
		OutsideWorkId: work.String(), Kind: kind, Firm: "Rush & Reed", Quoted: quoted}}}
}

func setAside(review id.ID, sent *eventsv1.ClockSpan) *eventsv1.Envelope {
	return &eventsv1.Envelope{Payload: &eventsv1.Envelope_ClockEntrySetAside{ClockEntrySetAside: &eventsv1.ClockEntrySetAside{
		ReviewId: review.String(), Sent: sent, Kind: "overlap", Reason: "two at once"}}}
}

func forgotten(review id.ID, s *eventsv1.ClockSpan) *eventsv1.Envelope {
	return &eventsv1.Envelope{Payload: &eventsv1.Envelope_ClockForgotten{ClockForgotten: &eventsv1.ClockForgotten{ReviewId: review.String(), Span: s}}}
}

func settled(review id.ID) *eventsv1.Envelope {
	return &eventsv1.Envelope{Payload: &eventsv1.Envelope_ClockReviewSettled{ClockReviewSettled: &eventsv1.ClockReviewSettled{
		ReviewId: review.String(), Settlement: "accepted", Reason: "she was there"}}}
}

// billCorrected tells that what was billed was another amount; nil: there was no bill yet.
func billCorrected(work id.ID, before *moneyv1.Money, after int64, pass int32) *eventsv1.Envelope {
	return &eventsv1.Envelope{Payload: &eventsv1.Envelope_OutsideBillCorrected{OutsideBillCorrected: &eventsv1.OutsideBillCorrected{
		OutsideWorkId: work.String(), Before: before, After: usdOf(after), Pass: pass, Reason: "misread"}}}
}

// running is the span of a clock that has not been ended.
func running(s *eventsv1.ClockSpan) *eventsv1.Envelope {
	began := proto.CloneOf(s)
	began.End = nil
	return &eventsv1.Envelope{Payload: &eventsv1.Envelope_ClockedOn{ClockedOn: &eventsv1.ClockedOn{Span: began}}}
}

func added(person id.ID, name string) *eventsv1.Envelope {
	return &eventsv1.Envelope{Payload: &eventsv1.Envelope_PersonAdded{PersonAdded: &eventsv1.PersonAdded{PersonId: person.String(), DisplayName: name}}}
}

func renamed(person id.ID, name string) *eventsv1.Envelope {
	return &eventsv1.Envelope{Payload: &eventsv1.Envelope_PersonChanged{PersonChanged: &eventsv1.PersonChanged{PersonId: person.String(), DisplayName: name}}}
}

func clockedOff(s *eventsv1.ClockSpan) *eventsv1.Envelope {
	return &eventsv1.Envelope{Payload: &eventsv1.Envelope_ClockedOff{ClockedOff: &eventsv1.ClockedOff{Span: s}}}
}

func corrected(before, after *eventsv1.ClockSpan) *eventsv1.Envelope {
	return &eventsv1.Envelope{Payload: &eventsv1.Envelope_ClockEntryCorrected{ClockEntryCorrected: &eventsv1.ClockEntryCorrected{Before: before, After: after}}}
}

func issued(cost int64, pass int32) *eventsv1.Envelope {
	return &eventsv1.Envelope{Payload: &eventsv1.Envelope_MaterialIssued{MaterialIssued: &eventsv1.MaterialIssued{Cost: usdOf(cost), StageKind: "paint_coat", Pass: pass}}}
}

func takenBack(cost int64, pass int32) *eventsv1.Envelope {
	return &eventsv1.Envelope{Payload: &eventsv1.Envelope_MaterialTakenBack{MaterialTakenBack: &eventsv1.MaterialTakenBack{
		Cost: usdOf(cost), StageKind: "paint_coat", Pass: pass, Reason: "a slip"}}}
}

func sold(price int64) *eventsv1.Envelope {
	return &eventsv1.Envelope{Payload: &eventsv1.Envelope_PieceSold{PieceSold: &eventsv1.PieceSold{Price: usdOf(price), Tax: usdOf(price / 10), Fee: usdOf(price / 20)}}}
}

func paidIn(amount, rounding int64) *eventsv1.Envelope {
	return &eventsv1.Envelope{Payload: &eventsv1.Envelope_PaymentReceived{PaymentReceived: &eventsv1.PaymentReceived{Amount: usdOf(amount), Rounding: usdOf(rounding), Method: "cash"}}}
}

func paidNot(amount, rounding int64) *eventsv1.Envelope {
	return &eventsv1.Envelope{Payload: &eventsv1.Envelope_PaymentVoided{PaymentVoided: &eventsv1.PaymentVoided{Amount: usdOf(amount), Rounding: usdOf(rounding), Reason: "it bounced"}}}
}

func deposited(amount int64) *eventsv1.Envelope {
	return &eventsv1.Envelope{Payload: &eventsv1.Envelope_DepositTaken{DepositTaken: &eventsv1.DepositTaken{DepositId: id.New().String(), Amount: usdOf(amount), Method: "cash"}}}
}

func paidBefore(amount int64) *eventsv1.Envelope {
	e := sold(20_000)
	e.GetPieceSold().Deposit = usdOf(amount)
	return e
}

func depositSettled(amount int64, how eventsv1.DepositSettled_How) *eventsv1.Envelope {
	return &eventsv1.Envelope{Payload: &eventsv1.Envelope_DepositSettled{DepositSettled: &eventsv1.DepositSettled{DepositId: id.New().String(), Amount: usdOf(amount), How: how}}}
}

func refunded(price int64, returned bool) *eventsv1.Envelope {
	return &eventsv1.Envelope{Payload: &eventsv1.Envelope_SaleRefunded{SaleRefunded: &eventsv1.SaleRefunded{Price: usdOf(price), PieceReturned: returned}}}
}
