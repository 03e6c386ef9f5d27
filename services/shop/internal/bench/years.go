package bench

import (
	"fmt"
	"time"

	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/bus"
	"tackfree/pkg/id"
	eventsv1 "tackfree/proto/tackfree/events/v1"
)

const (
	helpers    = 50 // each works on one piece after another
	rounds     = 9  // of a piece: twice the clock on and off again, and material issued
	steps      = 5*rounds + 3
	dayOfWork  = 8  // stretches
	everyLost  = 25 // of so many pieces one is given up and not sold
	workdays   = 5  // of a week
	yearOfPay  = 52 // weeks from one rate of somebody's to the next
	yearsOfPay = 16
	firstPrice = int64(45) // of a piece, in whole currency
)

// overtimeAfter is how much of a week is worked before there is overtime: most weeks have about 26
// hours, and one in four, another one for each helper, is a busy one with about 36.
const overtimeAfter = 32 * time.Hour

// opening is the Monday on which the years begin.
var opening = time.Date(2015, time.January, 5, 0, 0, 0, 0, time.UTC)

// years are what the producers of a shop write down in the course of years, in the proportions
// of a shop: of 48 events of a piece, 36 are of the clock and 9 of material. They are made one
// by one, the same always, and none is kept.
type years struct {
	at    int // helpers' turns so far
	hired int // helpers whose names were told
}

// next makes the next event.
func (y *years) next() bus.Message {
	if y.hired < helpers {
		y.hired++
		return y.named(y.hired - 1)
	}
	for {
		helper, turn := y.at%helpers, y.at/helpers
		y.at++
		// They began one after the other, so that pieces come in and leave evenly.
		if turn -= helper * steps / helpers; turn >= 0 {
			return (&chapter{helper: helper, piece: turn/steps*helpers + helper, turn: turn / steps, step: turn % steps}).message()
		}
	}
}

// named tells what a helper is called.
func (y *years) named(n int) bus.Message {
	person := number(1, n)
	return seal(&eventsv1.Envelope{AggregateKind: "person", AggregateId: person.String(), Version: 1, EventId: number(6, n).String(), Producer: "workflow",
		Payload: &eventsv1.Envelope_PersonAdded{PersonAdded: &eventsv1.PersonAdded{PersonId: person.String(), DisplayName: helperName(n)}}}, "person_added", id.Nil, opening.AddDate(0, -1, 0))
}

func helperName(n int) string { return fmt.Sprintf("Helper %d", n+1) }

// chapter is one event of a piece: the helper's piece of that turn, at that step of its way.
type chapter struct {
	helper, piece, turn, step int
}

// message writes it down.
func (c *chapter) message() bus.Message {
	switch {
	case c.step == 0:
		return c.write("intake", "piece_taken_in", 1, &eventsv1.Envelope{Payload: &eventsv1.Envelope_PieceTakenIn{PieceTakenIn: &eventsv1.PieceTakenIn{
			Tag: int32(c.piece + 1), Title: "Dresser", Kind: "dresser",
			Origin: &eventsv1.PieceTakenIn_Purchase_{Purchase: &eventsv1.PieceTakenIn_Purchase{Price: usd(100 * (firstPrice + int64(c.piece%50))), Source: "auction"}}}}})
	case c.step == steps-2:
		return c.write("sales", "piece_listed", 1, &eventsv1.Envelope{Payload: &eventsv1.Envelope_PieceListed{PieceListed: &eventsv1.PieceListed{Channel: "shop", AskingPrice: usd(129_900)}}})
	case c.step == steps-1 && c.piece%everyLost == everyLost-1:
		return c.write("intake", "piece_scrapped", 2, &eventsv1.Envelope{Payload: &eventsv1.Envelope_PieceScrapped{PieceScrapped: &eventsv1.PieceScrapped{Reason: "worm"}}})
	case c.step == steps-1:
		return c.write("sales", "piece_sold", 2, &eventsv1.Envelope{Payload: &eventsv1.Envelope_PieceSold{PieceSold: &eventsv1.PieceSold{
			SaleId: number(10, c.piece).String(), Channel: "shop", Buyer: "R. Okafor", Price: usd(120_000), Tax: usd(9_600), Fee: usd(3_600)}}})
	case (c.step-1)%5 == 4:
		return c.issued((c.step - 1) / 5)
	}
	round, place := (c.step-1)/5, (c.step-1)%5
	return c.clocked(2*round+place/2, place%2 == 1)
}

// issued is the material of a round.
func (c *chapter) issued(round int) bus.Message {
	return c.write("materials", "material_issued", int64(round+1), &eventsv1.Envelope{Payload: &eventsv1.Envelope_MaterialIssued{MaterialIssued: &eventsv1.MaterialIssued{
		IssueId: number(7, c.piece*rounds+round).String(), ProductId: number(11, round).String(), ProductName: "Clear coat", StageId: c.stage(2 * round),
		StageKind: "topcoat_coat", Pass: 1, Cost: usd(int64(100 + (c.piece*rounds+round)%900))}}})
}

// clocked is the nth stretch on the piece, at its begin or its end.
func (c *chapter) clocked(n int, off bool) bus.Message {
	start, end := c.stretch(n)
	s := &eventsv1.ClockSpan{EntryId: number(8, c.piece*2*rounds+n).String(), PersonId: number(1, c.helper).String(), PersonName: helperName(c.helper),
		StageId: c.stage(n), StageKind: "sand", StageKey: "sand-fine", PartLabel: "case", Pass: 1, Start: timestamppb.New(start)}
	if !off {
		return c.write("workflow", "clocked_on", int64(2*n+1), &eventsv1.Envelope{Payload: &eventsv1.Envelope_ClockedOn{ClockedOn: &eventsv1.ClockedOn{Span: s}}})
	}
	s.End = timestamppb.New(end)
	return c.write("workflow", "clocked_off", int64(2*n+2), &eventsv1.Envelope{Payload: &eventsv1.Envelope_ClockedOff{ClockedOff: &eventsv1.ClockedOff{Span: s}}})
}

func (c *chapter) stage(n int) string { return number(9, c.piece*2*rounds+n).String() }

// stretch is when the helper worked for the nth time on the piece: eight times a day for 20 to 59
// minutes, in a busy week for 50 at least, on the five days of a week.
func (c *chapter) stretch(n int) (start, end time.Time) {
	all := c.turn*2*rounds + n
	day := all / dayOfWork
	start = opening.AddDate(0, 0, day/workdays*7+day%workdays).Add(time.Duration(8+all%dayOfWork) * time.Hour)
	least, more := 20, 40
	if (day/workdays+c.helper)%4 == 0 {
		least, more = 50, 10
	}
	return start, start.Add(time.Duration(least+(all*7+c.helper)%more) * time.Minute)
}

// when is the instant of the event: of what is not the clock's, shortly after the stretch before.
func (c *chapter) when() time.Time {
	stretch, off := max(0, (c.step-1)/5*2+min((c.step-1)%5, 3)/2), (c.step-1)%5 != 0 && (c.step-1)%5 != 2
	start, end := c.stretch(min(stretch, 2*rounds-1))
	switch {
	case c.step == 0:
		return start.Add(-time.Minute)
	case c.step >= steps-2:
		return end.Add(time.Duration(c.step-steps+4) * time.Minute)
	case off:
		return end
	}
	return start
}

// write fills the envelope in as the producer would.
func (c *chapter) write(producer, kind string, version int64, e *eventsv1.Envelope) bus.Message {
	piece := number(2, c.piece)
	e.AggregateKind, e.AggregateId, e.Version, e.PieceId = "piece", piece.String(), version, piece.String()
	e.EventId, e.Producer = number(3, c.piece*steps+c.step).String(), producer
	return seal(e, kind, piece, c.when())
}

// seal encodes an envelope.
func seal(e *eventsv1.Envelope, kind string, piece id.ID, at time.Time) bus.Message {
	e.OccurredAt, e.RecordedAt = timestamppb.New(at), timestamppb.New(at.Add(time.Second))
	e.Epoch, e.Actor, e.RequestId = number(4, 0).String(), "Helper", e.EventId
	body, err := proto.Marshal(e)
	if err != nil {
		panic(err) // it was made here
	}
	m := bus.Message{EventID: e.EventId, Producer: e.Producer, Type: kind, Aggregate: e.AggregateId, Version: e.Version, Body: body}
	if piece != id.Nil {
		m.Piece = piece.String()
	}
	return m
}
