package lapse_test

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
	"tackfree/pkg/fault"
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
	"tackfree/services/sales/internal/lapse"
	"tackfree/services/sales/internal/markdown"
	"tackfree/services/sales/internal/server"
	"tackfree/services/sales/internal/store"
)

func TestMain(m *testing.M) { pgtest.Main(m) }

// shop is sales with a clock that is set.
type shop struct {
	*server.Server
	holds *lapse.Keeper
	plans *markdown.Keeper
	t     *testing.T
	now   time.Time
}

// GetPiece is intake's: it has every piece.
func (s *shop) GetPiece(_ context.Context, r *intakev1.GetPieceRequest, _ ...grpc.CallOption) (*intakev1.GetPieceResponse, error) {
	return &intakev1.GetPieceResponse{Piece: &intakev1.Piece{Name: r.Name, Tag: 1, TakenInTime: timestamppb.New(s.now.AddDate(0, -1, 0))}}, nil
}

var opened = time.Date(2026, 3, 2, 15, 0, 0, 0, time.UTC)

func open(t *testing.T) *shop {
	t.Helper()
	db := pgtest.Open(t, "sales", store.Constraints, once.Migrations(), outbox.Migrations(), inbox.Migrations(), boot.Migrations(store.Migrations))
	log, err := outbox.Open(t.Context(), db, "sales")
	if err != nil {
		t.Fatal(err)
	}
	s := &shop{t: t, now: opened}
	of := wire.Shop{Currency: moneypkg.Currency{Code: "USD", Digits: 2}, Zone: time.UTC, Now: func() time.Time { return s.now }}
	s.Server = &server.Server{DB: db, Log: log, Shop: of, Intake: s}
	s.holds = &lapse.Keeper{DB: db, Log: log, Shop: of, Logger: slog.New(slog.DiscardHandler)}
	s.plans = &markdown.Keeper{DB: db, Log: log, Shop: of, Logger: slog.New(slog.DiscardHandler)}
	return s
}

func usd(units int64) *money.Money { return &money.Money{CurrencyCode: "USD", Units: units} }

// held lists a piece at 300 and holds it for two days with a deposit of 50.
func (s *shop) held(rule salesv1.LapseRule) (piece string, h *salesv1.Hold) {
	s.t.Helper()
	piece = id.Name("pieces", id.New())
	if _, err := s.CreateListing(svctest.Ctx(s.t), &salesv1.CreateListingRequest{RequestId: svctest.NewID(), Piece: piece, Channel: "fair", AskingPrice: usd(300)}); err != nil {
		s.t.Fatal(err)
	}
	r, err := s.HoldPiece(svctest.Ctx(s.t), &salesv1.HoldPieceRequest{RequestId: svctest.NewID(), Piece: piece, Buyer: "Ana", UntilTime: timestamppb.New(s.now.Add(48 * time.Hour)), LapseRule: rule,
		Deposit: &salesv1.DepositGiven{Amount: usd(50), Method: salesv1.DepositMethod_DEPOSIT_METHOD_CARD}})
	if err != nil {
		s.t.Fatal(err)
	}
	return piece, r.Hold
}

func (s *shop) look() {
	s.t.Helper()
	if err := s.holds.Look(s.t.Context()); err != nil {
		s.t.Fatal(err)
	}
}

// events are those about a piece after its listing and its hold with the deposit.
func (s *shop) events(piece string) []*eventsv1.Envelope {
	s.t.Helper()
	r, err := outbox.NewServer(s.Log).ListPieceEvents(s.t.Context(), &eventsv1.ListPieceEventsRequest{Piece: piece})
	if err != nil {
		s.t.Fatal(err)
	}
	for i, e := range r.Events {
		if e.Version != int64(i+1) {
			s.t.Errorf("event %d has version %d", i+1, e.Version)
		}
	}
	return r.Events[3:]
}

func (s *shop) deposit(piece string) *salesv1.Deposit {
	s.t.Helper()
	r, err := s.ListDeposits(s.t.Context(), &salesv1.ListDepositsRequest{Piece: piece})
	if err != nil || len(r.Deposits) != 1 {
		s.t.Fatalf("ListDeposits = %v, %v", r, err)
	}
	return r.Deposits[0]
}

// Nothing happens before the time is over; at it the piece is free again, and the deposit is kept or owed as was agreed. Looking again, or
// two that look at once, change nothing more.
func TestKeeper_Look(t *testing.T) {
	for rule, want := range map[salesv1.LapseRule]salesv1.Deposit_State{
		salesv1.LapseRule_LAPSE_RULE_KEPT: salesv1.Deposit_STATE_KEPT, salesv1.LapseRule_LAPSE_RULE_GIVEN_BACK: salesv1.Deposit_STATE_TO_RETURN} {
		t.Run(rule.String(), func(t *testing.T) {
			s := open(t)
			piece, h := s.held(rule)
			s.now = opened.Add(48*time.Hour - time.Millisecond)
			s.look()
			if got := s.events(piece); len(got) != 0 {
				t.Fatalf("before its time: %v", got)
			}
			s.now = opened.Add(48 * time.Hour)
			done := make(chan error, 2)
			for range 2 {
				go func() { done <- s.holds.Look(t.Context()) }()
			}
			for range 2 {
				if err := <-done; err != nil {
					t.Error(err)
				}
			}
			s.look()
			got, kept := s.events(piece), want == salesv1.Deposit_STATE_KEPT
			if ended := got[0].GetHoldEnded(); ended.GetHow() != eventsv1.HoldEnded_HOW_LAPSED || (ended.GetToReturn().GetUnits() == 50) == kept || got[0].Actor != lapse.Actor {
				t.Errorf("event %v", got[0])
			}
			switch {
			case kept && (len(got) != 2 || got[1].GetDepositSettled().GetHow() != eventsv1.DepositSettled_HOW_KEPT || got[1].GetDepositSettled().GetAmount().GetUnits() != 50):
				t.Errorf("kept, the events are %v", got)
			case !kept && len(got) != 1:
				t.Errorf("owed, the events are %v", got)
			}
			if d := s.deposit(piece); d.State != want || (d.Left.Units == 0) != kept {
				t.Errorf("its deposit is %v", d)
			}
			l, err := s.GetListing(t.Context(), &salesv1.GetListingRequest{Name: "listings" + piece[len("pieces"):]})
			if err != nil || l.Listing.Hold != "" || l.Listing.State != salesv1.Listing_STATE_LISTED {
				t.Errorf("its listing is %v, %v", l, err)
			}
			_, err = s.SellPiece(svctest.Ctx(t), &salesv1.SellPieceRequest{RequestId: svctest.NewID(), Piece: piece, Price: usd(300), Hold: h.Name})
			if !fault.Is(err, "HOLD_NOT_OPEN") {
				t.Errorf("sold by the hold that is over: %v", err)
			}
			sold, err := s.SellPiece(svctest.Ctx(t), &salesv1.SellPieceRequest{RequestId: svctest.NewID(), Piece: piece, Price: usd(300)})
			if err != nil || sold.Sale.Deposit != nil {
				t.Errorf("SellPiece = %v, %v", sold, err)
			}
			if kept {
				return
			}
			if back, err := s.ReturnDeposit(svctest.Ctx(t), &salesv1.ReturnDepositRequest{RequestId: svctest.NewID(), Deposit: s.deposit(piece).Name}); err != nil ||
				back.Deposit.State != salesv1.Deposit_STATE_RETURNED {
				t.Errorf("ReturnDeposit = %v, %v", back, err)
			}
		})
	}
}

// Whoever comes before the keeper looks does not wait for it: the hold that is over is ended in their own command.
func TestOver_BeforeTheKeeper(t *testing.T) {
	s := open(t)
	piece, h := s.held(salesv1.LapseRule_LAPSE_RULE_KEPT)
	s.now = opened.Add(49 * time.Hour)
	extend := &salesv1.ExtendHoldRequest{RequestId: svctest.NewID(), Hold: h.Name, UntilTime: timestamppb.New(s.now.Add(time.Hour))}
	if _, err := s.ExtendHold(svctest.Ctx(t), extend); !fault.Is(err, "HOLD_NOT_OPEN") {
		t.Errorf("ExtendHold = %v, want HOLD_NOT_OPEN", err)
	}
	if got := s.events(piece); len(got) != 0 {
		t.Errorf("a refusal left %v", got)
	}
	if _, err := s.SellPiece(svctest.Ctx(t), &salesv1.SellPieceRequest{RequestId: svctest.NewID(), Piece: piece, Price: usd(300), Buyer: "Bert"}); err != nil {
		t.Fatal(err)
	}
	got := s.events(piece)
	if len(got) != 3 || got[0].GetHoldEnded() == nil || got[1].GetDepositSettled() == nil || got[2].GetPieceSold() == nil || got[0].Actor != lapse.Actor || got[2].Actor == lapse.Actor {
		t.Errorf("events %v, want the end of the hold, its deposit, the sale", got)
	}
}

// A held piece is not marked down; what came due meanwhile is taken once the hold is over.
func TestHeld_IsNotMarkedDown(t *testing.T) {
	s := open(t)
	piece, _ := s.held(salesv1.LapseRule_LAPSE_RULE_KEPT)
	_, err := s.SetMarkdownPlan(svctest.Ctx(t), &salesv1.SetMarkdownPlanRequest{RequestId: svctest.NewID(), Piece: piece,
		Steps: []*salesv1.MarkdownPlan_Step{{Date: &date.Date{Year: 2026, Month: 3, Day: 3}, AskingPrice: usd(250)}}})
	if err != nil {
		t.Fatal(err)
	}
	asked := func() int64 {
		t.Helper()
		if err := s.plans.Look(t.Context()); err != nil {
			t.Fatal(err)
		}
		l, err := s.GetListing(t.Context(), &salesv1.GetListingRequest{Name: "listings" + piece[len("pieces"):]})
		if err != nil {
			t.Fatal(err)
		}
		return l.Listing.AskingPrice.Units
	}
	s.now = opened.Add(24 * time.Hour)
	if got := asked(); got != 300 {
		t.Errorf("while it is held %d is asked, want 300", got)
	}
	s.now = opened.Add(49 * time.Hour)
	s.look()
	if got := asked(); got != 250 {
		t.Errorf("after the hold %d is asked, want 250", got)
	}
}

// Whoever settles a deposit after the end of its hold need not wait until that was looked after: what was agreed to be given back can be
// kept or returned at once, and what was agreed to be kept is kept already.
func TestKeepDeposit_OnceTheTimeIsOver(t *testing.T) {
	for rule, want := range map[salesv1.LapseRule]string{salesv1.LapseRule_LAPSE_RULE_GIVEN_BACK: "", salesv1.LapseRule_LAPSE_RULE_KEPT: "DEPOSIT_ABOVE_HELD"} {
		t.Run(rule.String(), func(t *testing.T) {
			s := open(t)
			piece, h := s.held(rule)
			r := &salesv1.KeepDepositRequest{RequestId: svctest.NewID(), Deposit: s.deposit(piece).Name, Reason: "she never came"}
			s.now = opened.Add(48*time.Hour - time.Millisecond)
			if _, err := s.KeepDeposit(svctest.Ctx(t), r); !fault.Is(err, "HOLD_OPEN") {
				t.Errorf("while it is held: %v", err)
			}
			s.now = opened.Add(48 * time.Hour)
			r.RequestId = svctest.NewID()
			kept, err := s.KeepDeposit(svctest.Ctx(t), r)
			if want != "" {
				if !fault.Is(err, want) {
					t.Errorf("KeepDeposit = %v, %v, want %s", kept, err, want)
				}
				return
			}
			if err != nil || kept.Deposit.State != salesv1.Deposit_STATE_KEPT || kept.Deposit.Kept.Units != 50 {
				t.Fatalf("KeepDeposit = %v, %v", kept, err)
			}
			got := s.events(piece)
			if len(got) != 2 || got[0].GetHoldEnded().GetHoldId() != h.Name[len("holds/"):] || got[1].GetDepositSettled().GetHow() != eventsv1.DepositSettled_HOW_KEPT {
				t.Errorf("the events are %v", got)
			}
		})
	}
}
