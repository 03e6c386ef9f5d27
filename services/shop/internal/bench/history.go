package bench

import (
	"encoding/binary"
	"time"

	moneyv1 "google.golang.org/genproto/googleapis/type/money"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/bus"
	"tackfree/pkg/id"
	eventsv1 "tackfree/proto/tackfree/events/v1"
)

// history makes events as the producers would publish them: pieces taken in, then hours
// clocked and material issued, in the proportion of a shop's day.
func history(events, pieces int) []bus.Message {
	h := &historian{people: make([]id.ID, 12), versions: map[id.ID]int64{}}
	for i := range h.people {
		h.people[i] = number(1, i)
	}
	for i := range events {
		piece := number(2, i%pieces)
		switch {
		case i < pieces:
			h.takenIn(i, piece)
		case i%5 == 4:
			h.issued(i, piece)
		case i%2 == 0:
			h.clocked(i, piece, true)
		default:
			h.clocked(i, piece, false)
		}
	}
	return h.messages
}

type historian struct {
	people   []id.ID
	versions map[id.ID]int64
	messages []bus.Message
}

// number makes an id that can be counted.
func number(kind byte, n int) (i id.ID) {
	i[0], i[6], i[8] = kind, 0x70, 0x80
	binary.BigEndian.PutUint32(i[12:], uint32(n))
	return i
}

var morning = time.Date(2026, 3, 2, 8, 0, 0, 0, time.UTC)

func (h *historian) add(n int, producer, kind string, aggregate, piece id.ID, e *eventsv1.Envelope) {
	key := aggregate
	key[1] = producer[0] // versions count by producer
	h.versions[key]++
	at := timestamppb.New(morning.Add(time.Duration(n) * time.Second))
	e.EventId, e.Producer, e.Epoch = number(3, n).String(), producer, number(4, 0).String()
	e.AggregateKind, e.AggregateId, e.Version, e.PieceId = "piece", aggregate.String(), h.versions[key], piece.String()
	e.OccurredAt, e.RecordedAt, e.Actor, e.RequestId = at, at, "Helper", number(5, n).String()
	body, err := proto.Marshal(e)
	if err != nil {
		panic(err) // it was made here
	}
	h.messages = append(h.messages, bus.Message{EventID: e.EventId, Producer: producer, Type: kind, Aggregate: e.AggregateId,
		Version: e.Version, Piece: e.PieceId, Body: body})
}

func (h *historian) takenIn(n int, piece id.ID) {
	h.add(n, "intake", "piece_taken_in", piece, piece, &eventsv1.Envelope{Payload: &eventsv1.Envelope_PieceTakenIn{PieceTakenIn: &eventsv1.PieceTakenIn{
		Tag: int32(n + 1), Title: "Dresser", Kind: "dresser",
		Origin: &eventsv1.PieceTakenIn_Purchase_{Purchase: &eventsv1.PieceTakenIn_Purchase{Price: usd(4_550), Source: "auction"}}}}})
}

func (h *historian) issued(n int, piece id.ID) {
	h.add(n, "materials", "material_issued", piece, piece, &eventsv1.Envelope{Payload: &eventsv1.Envelope_MaterialIssued{MaterialIssued: &eventsv1.MaterialIssued{
		IssueId: number(7, n).String(), ProductName: "Clear coat", StageKind: "topcoat_coat", Pass: 1, Cost: usd(int64(100 + n%900))}}})
}

func (h *historian) clocked(n int, piece id.ID, off bool) {
	start := morning.Add(time.Duration(n) * time.Minute)
	s := &eventsv1.ClockSpan{EntryId: number(8, n).String(), PersonId: h.people[n%len(h.people)].String(), PersonName: "Helper",
		StageId: number(9, n%100).String(), StageKind: "sand", StageKey: "sand-fine", PartLabel: "case", Pass: 1, Start: timestamppb.New(start)}
	if !off {
		h.add(n, "workflow", "clocked_on", piece, piece, &eventsv1.Envelope{Payload: &eventsv1.Envelope_ClockedOn{ClockedOn: &eventsv1.ClockedOn{Span: s}}})
		return
	}
	s.End = timestamppb.New(start.Add(time.Duration(10+n%110) * time.Minute))
	h.add(n, "workflow", "clocked_off", piece, piece, &eventsv1.Envelope{Payload: &eventsv1.Envelope_ClockedOff{ClockedOff: &eventsv1.ClockedOff{Span: s}}})
}

func usd(minor int64) *moneyv1.Money {
	return &moneyv1.Money{CurrencyCode: "USD", Units: minor / 100, Nanos: int32(minor % 100 * 10_000_000)}
}
