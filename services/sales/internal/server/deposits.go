package server

import (
	"context"
	"time"

	moneypb "google.golang.org/genproto/googleapis/type/money"
	"google.golang.org/protobuf/proto"

	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/pkg/once"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	"tackfree/services/sales/internal/sales"
	"tackfree/services/sales/internal/store"
)

// decodeGiven reads a deposit as it is given; nil: none is.
func (s *Server) decodeGiven(m *salesv1.DepositGiven, from string, at time.Time) (*sales.Deposit, error) {
	if m == nil {
		return nil, nil
	}
	amount, err := s.Shop.Money("deposit.amount", m.Amount)
	return &sales.Deposit{ID: id.New(), From: from, Amount: amount, Method: depositMethods[m.Method], TakenAt: at}, err
}

// take writes a deposit that was given, with its event.
func (s *Server) take(ctx context.Context, tx *pg.Tx, l sales.Listing, d sales.Deposit, now time.Time) error {
	if err := store.New(tx).InsertDeposit(ctx, d); err != nil {
		return err
	}
	e := &eventsv1.DepositTaken{DepositId: d.ID.String(), From: d.From, Amount: s.Shop.ToMoney(d.Amount), Method: d.Method}
	if d.Hold != id.Nil {
		e.HoldId = d.Hold.String()
	}
	return s.append(ctx, tx, l, d.TakenAt, now, e)
}

// TakeDeposit implements DepositService.
func (s *Server) TakeDeposit(ctx context.Context, r *salesv1.TakeDepositRequest) (*salesv1.TakeDepositResponse, error) {
	now := s.Shop.Now()
	pieceID, err := id.One("piece", r.Piece, "pieces")
	if err != nil {
		return nil, err
	}
	at, err := s.Shop.Instant("take_time", r.TakeTime)
	if err != nil {
		return nil, err
	}
	given, err := s.decodeGiven(r.Deposit, wire.Name(r.From), at)
	if err != nil {
		return nil, err
	}
	piece, client, pieceErr := s.pieceAndClient(ctx, pieceID)
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*salesv1.TakeDepositResponse, error) {
		if pieceErr != nil {
			return nil, pieceErr
		}
		st := store.New(tx)
		l, err := st.LockOrMake(ctx, piece)
		if err != nil {
			return nil, err
		}
		if err := s.over(ctx, tx, &l, now); err != nil {
			return nil, err
		}
		before, err := heldOf(ctx, st, l)
		if err != nil {
			return nil, err
		}
		deposit := *given
		if deposit.From == "" {
			deposit.From = giver(l, client)
		}
		if deposit, err = l.Give(piece, deposit, rules[r.LapseRule], before); err != nil {
			return nil, err
		}
		if l.IsHeld() { // its first deposit may bring the rule of its lapse
			if err := st.UpdateHold(ctx, l.Hold); err != nil {
				return nil, err
			}
		}
		if err := st.Update(ctx, l); err != nil {
			return nil, err
		}
		return &salesv1.TakeDepositResponse{Deposit: s.encodeDeposit(deposit)}, s.take(ctx, tx, l, deposit, now)
	})
}

// giver is who gives a deposit on a piece where nobody says it.
func giver(l sales.Listing, client string) string {
	if l.IsHeld() {
		return l.Hold.Buyer
	}
	return client
}

// heldOf is what was given on the open hold of a listing.
func heldOf(ctx context.Context, st store.Store, l sales.Listing) ([]sales.Deposit, error) {
	if !l.IsHeld() {
		return nil, nil
	}
	return st.DepositsOf(ctx, l.Hold.ID)
}

// ReturnDeposit implements DepositService.
func (s *Server) ReturnDeposit(ctx context.Context, r *salesv1.ReturnDepositRequest) (*salesv1.ReturnDepositResponse, error) {
	return settle(ctx, s, r, settling{name: r.Deposit, part: r.Amount, reason: r.Reason, how: eventsv1.DepositSettled_HOW_RETURNED, do: (*sales.Listing).Return,
		at: func() (time.Time, error) { return s.Shop.Instant("return_time", r.ReturnTime) }},
		func(d *salesv1.Deposit) *salesv1.ReturnDepositResponse {
			return &salesv1.ReturnDepositResponse{Deposit: d}
		})
}

// KeepDeposit implements DepositService.
func (s *Server) KeepDeposit(ctx context.Context, r *salesv1.KeepDepositRequest) (*salesv1.KeepDepositResponse, error) {
	return settle(ctx, s, r, settling{name: r.Deposit, part: r.Amount, reason: r.Reason, how: eventsv1.DepositSettled_HOW_KEPT, do: (*sales.Listing).Retain,
		at: func() (time.Time, error) { return s.Shop.Instant("keep_time", r.KeepTime) }},
		func(d *salesv1.Deposit) *salesv1.KeepDepositResponse { return &salesv1.KeepDepositResponse{Deposit: d} })
}

// lockOfDeposit locks the listing of a deposit and reads both as they are once a hold whose time is over has ended.
func (s *Server) lockOfDeposit(ctx context.Context, tx *pg.Tx, deposit id.ID, now time.Time) (sales.Listing, sales.Deposit, error) {
	st := store.New(tx)
	l, d, err := st.LockOfDeposit(ctx, deposit)
	if err != nil || !l.IsHeld() {
		return l, d, err
	}
	if err := s.over(ctx, tx, &l, now); err != nil || l.IsHeld() {
		return l, d, err
	}
	return st.LockOfDeposit(ctx, deposit)
}

// settling is how a deposit, or a part of it, is given back or kept.
type settling struct {
	name   string
	part   *moneypb.Money
	reason string
	how    eventsv1.DepositSettled_How
	do     func(*sales.Listing, *sales.Deposit, money.Amount, time.Time) (money.Amount, error)
	at     func() (time.Time, error)
}

func settle[R proto.Message](ctx context.Context, s *Server, r once.Command, how settling, answer func(*salesv1.Deposit) R) (none R, err error) {
	now := s.Shop.Now()
	name, err := id.One("deposit", how.name, "deposits")
	if err != nil {
		return none, err
	}
	part, err := s.someOf("amount", how.part)
	if err != nil {
		return none, err
	}
	at, err := how.at()
	if err != nil {
		return none, err
	}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (none R, err error) {
		st := store.New(tx)
		l, d, err := s.lockOfDeposit(ctx, tx, name, now)
		if err != nil {
			return none, err
		}
		gone, err := how.do(&l, &d, part, at)
		if err != nil {
			return none, err
		}
		if err := st.UpdateDeposit(ctx, d); err != nil {
			return none, err
		}
		if err := st.Update(ctx, l); err != nil {
			return none, err
		}
		e := &eventsv1.DepositSettled{DepositId: d.ID.String(), From: d.From, Amount: s.Shop.ToMoney(gone), How: how.how, Reason: how.reason, Left: s.Shop.ToMoney(d.Left())}
		return answer(s.encodeDeposit(d)), s.append(ctx, tx, l, at, now, e)
	})
}
