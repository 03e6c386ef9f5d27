package consume_test

import (
	"math/rand/v2"
	"strings"
	"testing"

	"google.golang.org/genproto/googleapis/type/money"
	"google.golang.org/protobuf/reflect/protoreflect"

	"tackfree/pkg/id"
	"tackfree/pkg/inbox"
	eventsv1 "tackfree/proto/tackfree/events/v1"
)

// story is the life of five pieces: one sold after a markdown, with money back and then come back and sold again;
// one scrapped while it stood; one withdrawn twice and then sold unlisted; one sold directly; and a client's own.
func story() []inbox.Event {
	back, given, direct, clients, shown := id.New(), id.New(), id.New(), id.New(), id.New()
	first, second := id.New(), id.New()
	return []inbox.Event{
		event("intake", 1, back, 0, takenIn(7, "Dresser")), event("workflow", 1, back, 1, planned("paint")), event("workflow", 2, back, 2, approved("Paint and glaze")),
		event("sales", 1, back, 5, listed(300)), event("sales", 2, back, 19, asked(260)), event("sales", 3, back, 30, sold(first, 250)),
		event("sales", 4, back, 31, refunded(first, 20, false)), event("sales", 5, back, 33, refunded(first, 0, true)),
		event("sales", 6, back, 40, listed(240)), event("sales", 7, back, 44, sold(second, 240)), event("sales", 8, back, 45, refunded(second, 40, false)),
		event("intake", 1, given, 0, takenIn(8, "chair")), event("sales", 1, given, 3, listed(80)), event("intake", 2, given, 50, scrapped()),
		event("intake", 1, shown, 0, takenIn(11, "desk")), event("sales", 1, shown, 2, listed(90)), event("sales", 2, shown, 10, asked(80)),
		event("sales", 3, shown, 20, withdrawn()), event("sales", 4, shown, 30, listed(85)), event("sales", 5, shown, 33, withdrawn()), event("sales", 6, shown, 40, sold(id.New(), 70)),
		event("intake", 1, direct, 0, takenIn(9, "chair")), event("sales", 1, direct, 4, sold(id.New(), 60)),
		event("intake", 1, clients, 0, commissioned(10)), event("sales", 1, clients, 9, sold(id.New(), 900)),
	}
}

var storyTold = []string{
	"10 is Oak thing, dresser/// stock false scrapped -",
	"10 was sold at market stall on 09 for 90000, refunded 0, returned false, ends spell 0, set false",
	"11 is Oak thing, desk/large/worn/ stock true scrapped -",
	"11 spell 1.1 at market stall from 02 to 10 for 9000 sold false",
	"11 spell 1.2 at market stall from 10 to 20 for 8000 sold false",
	"11 spell 2.1 at market stall from 30 to 33 for 8500 sold false",
	"11 was sold at market stall on 40 for 7000, refunded 0, returned false, ends spell 0, set false",
	"7 is Oak thing, dresser/large/worn/paint and glaze stock true scrapped -",
	"7 spell 1.1 at market stall from 05 to 19 for 30000 sold false",
	"7 spell 1.2 at market stall from 19 to 30 for 26000 sold true",
	"7 spell 2.1 at market stall from 40 to 44 for 24000 sold true",
	"7 was sold at market stall on 30 for 25000, refunded 2000, returned true, ends spell 1, set false",
	"7 was sold at market stall on 44 for 24000, refunded 4000, returned false, ends spell 2, set false",
	"8 is Oak thing, chair/large/worn/ stock true scrapped 50",
	"8 spell 1.1 at market stall from 03 to - for 8000 sold false",
	"9 is Oak thing, chair/large/worn/ stock true scrapped -",
	"9 was sold at market stall on 04 for 6000, refunded 0, returned false, ends spell 0, set false",
}

func TestHandler_Story(t *testing.T) {
	s := open(t)
	s.must(t, story()...)
	same(t, "past", s.told(t), storyTold...)
}

// However the producers' events come, what is noted is the same: events that are early wait for those
// before them, and repeats are dropped.
func TestHandler_AnyOrder(t *testing.T) {
	for seed := range uint64(12) {
		s, told, r := open(t), story(), rand.New(rand.NewPCG(seed, 7))
		r.Shuffle(len(told), func(i, j int) { told[i], told[j] = told[j], told[i] })
		told = append(told, told[:5]...)
		for len(told) > 0 {
			n := min(1+r.IntN(4), len(told))
			s.must(t, told[:n]...)
			told = told[n:]
		}
		same(t, "past", s.told(t), storyTold...)
	}
}

// The number goes up with what matters to a price, and with nothing else; what changed after a number is
// all that is read anew.
func TestHandler_Stamp(t *testing.T) {
	s, piece, other := open(t), id.New(), id.New()
	sale := id.New()
	s.must(t, event("intake", 1, piece, 0, takenIn(7, "chair")), event("intake", 1, other, 0, takenIn(8, "chair")),
		event("sales", 1, piece, 1, listed(90)), event("sales", 2, piece, 2, sold(sale, 80)), event("sales", 1, other, 1, listed(90)))
	_, before := s.past(t, 0)
	s.must(t, event("workflow", 1, piece, 0, &eventsv1.Envelope{Payload: &eventsv1.Envelope_ClockedOn{ClockedOn: &eventsv1.ClockedOn{}}}),
		event("workflow", 2, piece, 0, approved("")))
	if changes, n := s.past(t, before.N); n != before || len(inWords(changes)) > 0 {
		t.Errorf("after what does not matter the past has come from %+v to %+v, with %q", before, n, inWords(changes))
	}
	for what, c := range map[string]struct {
		e    inbox.Event
		want []string
	}{
		"look":      {event("workflow", 3, piece, 0, approved("clear")), []string{"7 is Oak thing, chair/large/worn/clear stock true scrapped -"}},
		"refund":    {event("sales", 3, piece, 3, refunded(sale, 5, false)), []string{"0 was sold at market stall on 02 for 8000, refunded 500, returned false, ends spell 1, set false"}},
		"markdown":  {event("sales", 2, other, 3, asked(70)), []string{"0 spell 1.1 at market stall from 01 to 03 for 9000 sold false", "0 spell 1.2 at market stall from 03 to - for 7000 sold false"}},
		"scrapping": {event("intake", 2, other, 4, scrapped()), []string{"8 is Oak thing, chair/large/worn/ stock true scrapped 04"}},
	} {
		_, before := s.past(t, 0)
		s.must(t, c.e)
		changes, now := s.past(t, before.N)
		if now.N != before.N+1 {
			t.Errorf("after the %s the past has come to %d, want %d", what, now.N, before.N+1)
		}
		same(t, "changed with the "+what, inWords(changes), c.want...)
	}
}

// Of a set its pieces are told of, each with its share.
func TestHandler_Set(t *testing.T) {
	s, piece := open(t), id.New()
	e := sold(id.New(), 70)
	e.GetPieceSold().SetId = id.New().String()
	s.must(t, event("intake", 1, piece, 0, takenIn(7, "chair")), event("sales", 1, piece, 3, e))
	same(t, "past", s.told(t), "7 is Oak thing, chair/large/worn/ stock true scrapped -",
		"7 was sold at market stall on 03 for 7000, refunded 0, returned false, ends spell 0, set true")
}

func TestHandler_Refuses(t *testing.T) {
	odd := func(change func(*eventsv1.PieceSold)) *eventsv1.Envelope {
		e := sold(id.New(), 70)
		change(e.GetPieceSold())
		return e
	}
	neither := takenIn(7, "chair")
	neither.GetPieceTakenIn().Origin = nil
	cases := map[string]struct {
		event *eventsv1.Envelope
		piece id.ID
		want  string
	}{
		"NoPiece":       {listed(300), id.Nil, "no piece"},
		"Currency":      {odd(func(e *eventsv1.PieceSold) { e.Price = &money.Money{CurrencyCode: "EUR", Units: 1} }), id.New(), `"EUR"`},
		"BelowZero":     {odd(func(e *eventsv1.PieceSold) { e.Price = usd(-1) }), id.New(), "not an amount"},
		"SaleID":        {odd(func(e *eventsv1.PieceSold) { e.SaleId = "x" }), id.New(), "sale"},
		"SetID":         {odd(func(e *eventsv1.PieceSold) { e.SetId = "x" }), id.New(), "set"},
		"NeitherOrigin": {neither, id.New(), "neither"},
		"RefundOf":      {&eventsv1.Envelope{Payload: &eventsv1.Envelope_SaleRefunded{SaleRefunded: &eventsv1.SaleRefunded{SaleId: "x"}}}, id.New(), "sale"},
		"AnothersEvent": {&eventsv1.Envelope{Payload: &eventsv1.Envelope_StockReceived{StockReceived: &eventsv1.StockReceived{}}}, id.New(), "does not know"},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			s := open(t)
			if err := s.apply(t, event("sales", 1, c.piece, 0, c.event)); err == nil || !strings.Contains(err.Error(), c.want) {
				t.Errorf("Apply = %v, want an error with %q", err, c.want)
			}
			same(t, "past", s.told(t))
		})
	}
}

// Every kind of event of the producers that are followed is known, so that none waits as a dead letter
// for ever.
func TestHandler_KnowsEachKind(t *testing.T) {
	s := open(t)
	fields := (&eventsv1.Envelope{}).ProtoReflect().Descriptor().Oneofs().ByName("payload").Fields()
	for i := range fields.Len() {
		field := fields.Get(i)
		file := field.Message().ParentFile().Path()
		if strings.Contains(file, "materials") {
			continue
		}
		e := &eventsv1.Envelope{}
		e.ProtoReflect().Set(field, protoreflect.ValueOfMessage(e.ProtoReflect().NewField(field).Message()))
		if err := s.apply(t, event("workflow", 1, id.New(), 0, e)); err != nil && strings.Contains(err.Error(), "does not know") {
			t.Errorf("%s is not known", field.Name())
		}
	}
}
