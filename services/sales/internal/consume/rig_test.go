package consume_test

import (
	"context"
	"fmt"
	"slices"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"google.golang.org/genproto/googleapis/type/money"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/boot"
	"tackfree/pkg/id"
	"tackfree/pkg/inbox"
	moneypkg "tackfree/pkg/money"
	"tackfree/pkg/pg"
	"tackfree/pkg/pgtest"
	"tackfree/pkg/wire"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	"tackfree/services/sales/internal/advice"
	"tackfree/services/sales/internal/consume"
	"tackfree/services/sales/internal/store"
)

func TestMain(m *testing.M) { pgtest.Main(m) }

var monday = time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)

// shop is a database and the handler.
type shop struct {
	*pg.DB
	handler consume.Handler
}

func open(t *testing.T) *shop {
	t.Helper()
	return &shop{DB: pgtest.Open(t, "sales", store.Constraints, inbox.Migrations(), boot.Migrations(store.Migrations)),
		handler: consume.Handler{Shop: wire.Shop{Currency: moneypkg.Currency{Code: "USD", Digits: 2}, Zone: time.UTC}}}
}

// event makes an event of a piece as its producer would, so many days after monday.
func event(producer string, version int64, piece id.ID, day int, payload *eventsv1.Envelope) inbox.Event {
	e := inbox.Event{Envelope: payload, ID: id.New(), Aggregate: piece, Piece: piece}
	e.EventId, e.Producer, e.Epoch, e.AggregateId, e.Version = e.ID.String(), producer, "one", piece.String(), version
	if piece != id.Nil {
		e.PieceId = piece.String()
	}
	at := timestamppb.New(monday.AddDate(0, 0, day))
	e.OccurredAt, e.RecordedAt = at, at
	return e
}

func (s *shop) apply(t *testing.T, events ...inbox.Event) error {
	t.Helper()
	return s.InTx(t.Context(), func(ctx context.Context, tx *pg.Tx) error {
		_, err := inbox.Apply(ctx, tx, s.handler, events)
		return err
	})
}

func (s *shop) must(t *testing.T, events ...inbox.Event) {
	t.Helper()
	if err := s.apply(t, events...); err != nil {
		t.Fatal(err)
	}
}

// past reads what was noted after a number, with what that has come to.
func (s *shop) past(t *testing.T, after int64) (past advice.Changes, stamp store.Stamp) {
	t.Helper()
	err := s.View(t.Context(), func(q pg.Querier) (err error) {
		st := store.New(q)
		if past, err = st.PastChanges(t.Context(), after); err == nil {
			_, stamp, err = st.Terms(t.Context())
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return past, stamp
}

// told is the past in words: pieces, stretches and sales, each by tag and day.
func (s *shop) told(t *testing.T) []string {
	t.Helper()
	past, _ := s.past(t, 0)
	return inWords(past)
}

func inWords(past advice.Changes) (words []string) {
	day := func(at time.Time) string {
		if at.IsZero() {
			return "-"
		}
		return fmt.Sprintf("%02.0f", at.Sub(monday).Hours()/24)
	}
	tags := map[id.ID]int32{}
	for _, p := range past.Pieces {
		tags[p.ID] = p.Tag
		words = append(words, fmt.Sprintf("%d is %s, %s/%s/%s/%s stock %t scrapped %s", p.Tag, p.Title, p.Kind, p.Size, p.Condition, p.Look, p.Stock, day(p.ScrappedAt)))
	}
	for _, x := range past.Stretches {
		words = append(words, fmt.Sprintf("%d spell %d.%d at %s from %s to %s for %d sold %t", tags[x.Piece], x.Spell, x.Number, x.Channel, day(x.From), day(x.To), x.Asked, x.Sold))
	}
	for _, x := range past.Sales {
		words = append(words, fmt.Sprintf("%d was sold at %s on %s for %d, refunded %d, returned %t, ends spell %d, set %t", tags[x.Piece], x.Channel, day(x.SoldAt), x.Price, x.Refunded, x.Returned, x.Spell, x.Set != id.Nil))
	}
	slices.Sort(words)
	return words
}

func same(t *testing.T, what string, got []string, want ...string) {
	t.Helper()
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("%s (-want +got):\n%s", what, diff)
	}
}

func usd(units int64) *money.Money { return &money.Money{CurrencyCode: "USD", Units: units} }

func takenIn(tag int32, kind string) *eventsv1.Envelope {
	return &eventsv1.Envelope{Payload: &eventsv1.Envelope_PieceTakenIn{PieceTakenIn: &eventsv1.PieceTakenIn{Tag: tag, Title: "Oak thing", Kind: kind, Size: "large", Condition: "worn",
		Origin: &eventsv1.PieceTakenIn_Purchase_{Purchase: &eventsv1.PieceTakenIn_Purchase{Price: usd(40)}}}}}
}

func commissioned(tag int32) *eventsv1.Envelope {
	return &eventsv1.Envelope{Payload: &eventsv1.Envelope_PieceTakenIn{PieceTakenIn: &eventsv1.PieceTakenIn{Tag: tag, Title: "Oak thing", Kind: "dresser",
		Origin: &eventsv1.PieceTakenIn_Commission_{Commission: &eventsv1.PieceTakenIn_Commission{Client: "Ana"}}}}}
}

func scrapped() *eventsv1.Envelope {
	return &eventsv1.Envelope{Payload: &eventsv1.Envelope_PieceScrapped{PieceScrapped: &eventsv1.PieceScrapped{}}}
}

func approved(look string) *eventsv1.Envelope {
	return &eventsv1.Envelope{Payload: &eventsv1.Envelope_FinishPlanApproved{FinishPlanApproved: &eventsv1.FinishPlanApproved{Look: look}}}
}

func planned(route string) *eventsv1.Envelope {
	return &eventsv1.Envelope{Payload: &eventsv1.Envelope_StagesPlanned{StagesPlanned: &eventsv1.StagesPlanned{Route: route}}}
}

func listed(asked int64) *eventsv1.Envelope {
	return &eventsv1.Envelope{Payload: &eventsv1.Envelope_PieceListed{PieceListed: &eventsv1.PieceListed{Channel: "Market  stall", AskingPrice: usd(asked)}}}
}

func asked(to int64) *eventsv1.Envelope {
	return &eventsv1.Envelope{Payload: &eventsv1.Envelope_AskingPriceChanged{AskingPriceChanged: &eventsv1.AskingPriceChanged{To: usd(to)}}}
}

func withdrawn() *eventsv1.Envelope {
	return &eventsv1.Envelope{Payload: &eventsv1.Envelope_ListingWithdrawn{ListingWithdrawn: &eventsv1.ListingWithdrawn{Channels: []string{"Market stall"}, AskingPrice: usd(80), Reason: "a show"}}}
}

func sold(sale id.ID, price int64) *eventsv1.Envelope {
	return &eventsv1.Envelope{Payload: &eventsv1.Envelope_PieceSold{PieceSold: &eventsv1.PieceSold{SaleId: sale.String(), Channel: "market stall", Price: usd(price), Tax: usd(9)}}}
}

func refunded(sale id.ID, price int64, returned bool) *eventsv1.Envelope {
	return &eventsv1.Envelope{Payload: &eventsv1.Envelope_SaleRefunded{SaleRefunded: &eventsv1.SaleRefunded{SaleId: sale.String(), Price: usd(price), PieceReturned: returned}}}
}
