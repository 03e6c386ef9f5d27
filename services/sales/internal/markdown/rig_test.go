package markdown_test

import (
	"context"
	"log/slog"
	"testing"
	"time"

	"google.golang.org/genproto/googleapis/type/date"
	"google.golang.org/genproto/googleapis/type/money"
	"google.golang.org/grpc"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/boot"
	"tackfree/pkg/id"
	"tackfree/pkg/inbox"
	moneypkg "tackfree/pkg/money"
	"tackfree/pkg/once"
	"tackfree/pkg/outbox"
	"tackfree/pkg/pgtest"
	"tackfree/pkg/svctest"
	"tackfree/pkg/wire"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	"tackfree/services/sales/internal/markdown"
	"tackfree/services/sales/internal/server"
	"tackfree/services/sales/internal/store"
)

func TestMain(m *testing.M) { pgtest.Main(m) }

// shop is sales with a clock that is set.
type shop struct {
	*server.Server
	*markdown.Keeper
	t   *testing.T
	now time.Time
}

// GetPiece is intake's: it has every piece.
func (s *shop) GetPiece(_ context.Context, r *intakev1.GetPieceRequest, _ ...grpc.CallOption) (*intakev1.GetPieceResponse, error) {
	return &intakev1.GetPieceResponse{Piece: &intakev1.Piece{Name: r.Name, Tag: 1, TakenInTime: timestamppb.New(s.now.AddDate(0, 0, -1))}}, nil
}

func open(t *testing.T, zone, now string) *shop {
	t.Helper()
	db := pgtest.Open(t, "sales", store.Constraints, once.Migrations(), outbox.Migrations(), inbox.Migrations(), boot.Migrations(store.Migrations))
	log, err := outbox.Open(t.Context(), db, "sales")
	if err != nil {
		t.Fatal(err)
	}
	s := &shop{t: t}
	s.set(now)
	in, err := time.LoadLocation(zone)
	if err != nil {
		t.Fatal(err)
	}
	of := wire.Shop{Currency: moneypkg.Currency{Code: "USD", Digits: 2}, Zone: in, Now: func() time.Time { return s.now }}
	s.Server = &server.Server{DB: db, Log: log, Shop: of, Intake: s}
	s.Keeper = &markdown.Keeper{DB: db, Log: log, Shop: of, Logger: slog.New(slog.DiscardHandler)}
	return s
}

// set sets the clock.
func (s *shop) set(now string) {
	s.t.Helper()
	at, err := time.Parse(time.RFC3339, now)
	if err != nil {
		s.t.Fatal(err)
	}
	s.now = at
}

func usd(units int64) *money.Money { return &money.Money{CurrencyCode: "USD", Units: units} }

func step(day string, asking int64) *salesv1.MarkdownPlan_Step {
	at, err := time.Parse(time.DateOnly, day)
	if err != nil {
		panic(err)
	}
	return &salesv1.MarkdownPlan_Step{Date: &date.Date{Year: int32(at.Year()), Month: int32(at.Month()), Day: int32(at.Day())}, AskingPrice: usd(asking)}
}

// planned lists a piece at 300 and plans.
func (s *shop) planned(steps ...*salesv1.MarkdownPlan_Step) string {
	s.t.Helper()
	piece := id.Name("pieces", id.New())
	_, err := s.CreateListing(svctest.Ctx(s.t), &salesv1.CreateListingRequest{RequestId: svctest.NewID(), Piece: piece, Channel: "fair", AskingPrice: usd(300)})
	if err != nil {
		s.t.Fatal(err)
	}
	if _, err := s.SetMarkdownPlan(svctest.Ctx(s.t), &salesv1.SetMarkdownPlanRequest{RequestId: svctest.NewID(), Piece: piece, Steps: steps}); err != nil {
		s.t.Fatal(err)
	}
	return piece
}

// look lets the keeper look.
func (s *shop) look() {
	s.t.Helper()
	if err := s.Look(s.t.Context()); err != nil {
		s.t.Fatal(err)
	}
}

func (s *shop) asked(piece string) int64 {
	s.t.Helper()
	r, err := s.GetListing(s.t.Context(), &salesv1.GetListingRequest{Name: "listings" + piece[len("pieces"):]})
	if err != nil {
		s.t.Fatal(err)
	}
	return r.Listing.AskingPrice.GetUnits()
}

// events are those about a piece after its listing and its plan.
func (s *shop) events(piece string) []*eventsv1.Envelope {
	s.t.Helper()
	r, err := outbox.NewServer(s.Server.Log).ListPieceEvents(s.t.Context(), &eventsv1.ListPieceEventsRequest{Piece: piece})
	if err != nil {
		s.t.Fatal(err)
	}
	for i, e := range r.Events {
		if e.Version != int64(i+1) {
			s.t.Errorf("event %d has version %d", i+1, e.Version)
		}
	}
	return r.Events[2:]
}
