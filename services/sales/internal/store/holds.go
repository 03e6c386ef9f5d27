package store

import (
	"context"
	"errors"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/services/sales/internal/sales"
	"tackfree/services/sales/internal/store/storedb"
)

// Which says which of a list are wanted, newest first: before an id, of a piece, in a state; zero says nothing of it.
type Which struct {
	Before id.ID
	Piece  id.ID
	State  string
	Limit  int32
}

// Newest is before which all are that there are.
var Newest = uuid.Max

// nullable is an id, or none.
func nullable(i id.ID) uuid.NullUUID { return uuid.NullUUID{UUID: i, Valid: i != id.Nil} }

// openHold reads the open hold of a listing's row.
func openHold(row storedb.GetListingRow) sales.Hold {
	if !row.HoldID.Valid {
		return sales.Hold{}
	}
	return sales.Hold{ID: row.HoldID.UUID, Piece: row.PieceID, Tag: row.Tag, State: sales.HoldOpen, Buyer: *row.HoldBuyer, Price: money.Amount(*row.HoldPrice),
		HeldAt: orZero(row.HeldAt), Until: orZero(row.UntilAt), Rule: sales.LapseRule(*row.LapseRule)}
}

// InsertHold writes a new hold. Fault at commit: PIECE_HELD.
func (s Store) InsertHold(ctx context.Context, h sales.Hold) error {
	return s.q.InsertHold(ctx, storedb.InsertHoldParams{ID: h.ID, PieceID: h.Piece, State: string(h.State), Buyer: h.Buyer, Price: int64(h.Price),
		HeldAt: h.HeldAt, UntilAt: h.Until, LapseRule: string(h.Rule)})
}

// UpdateHold writes what may change of a hold.
func (s Store) UpdateHold(ctx context.Context, h sales.Hold) error {
	return s.q.UpdateHold(ctx, storedb.UpdateHoldParams{ID: h.ID, State: string(h.State), UntilAt: h.Until, LapseRule: string(h.Rule),
		EndedAt: orNil(h.EndedAt), Reason: h.Reason})
}

// LockOfHold is Lock for the piece of a hold. Fault: HOLD_NOT_FOUND.
func (s Store) LockOfHold(ctx context.Context, hold id.ID) (sales.Listing, error) {
	return s.lockOf(ctx, s.q.PieceOfHold, hold, sales.ErrNoHold)
}

// lockOf is Lock for the piece of what has an id, and a fault of its own where it is not there.
func (s Store) lockOf(ctx context.Context, pieceOf func(context.Context, uuid.UUID) (uuid.UUID, error), what id.ID, missing error) (sales.Listing, error) {
	piece, err := pieceOf(ctx, what)
	if errors.Is(err, pgx.ErrNoRows) {
		return sales.Listing{}, missing
	}
	if err != nil {
		return sales.Listing{}, err
	}
	return s.Lock(ctx, piece)
}

// Hold reads a hold. Fault: HOLD_NOT_FOUND.
func (s Store) Hold(ctx context.Context, hold id.ID) (sales.Hold, error) {
	row, err := s.q.GetHold(ctx, hold)
	if errors.Is(err, pgx.ErrNoRows) {
		return sales.Hold{}, sales.ErrNoHold
	}
	return fromHoldRow(storedb.ListHoldsRow(row)), err
}

// Holds reads holds, the newest first.
func (s Store) Holds(ctx context.Context, w Which) (out []sales.Hold, err error) {
	rows, err := s.q.ListHolds(ctx, storedb.ListHoldsParams{BeforeID: w.Before, OfPiece: nullable(w.Piece), InState: w.State, PageLimit: w.Limit})
	for _, row := range rows {
		out = append(out, fromHoldRow(row))
	}
	return out, err
}

func fromHoldRow(row storedb.ListHoldsRow) sales.Hold {
	return sales.Hold{ID: row.ID, Piece: row.PieceID, Tag: row.Tag, State: sales.HoldState(row.State), Buyer: row.Buyer, Price: money.Amount(row.Price),
		HeldAt: row.HeldAt.UTC(), Until: row.UntilAt.UTC(), Rule: sales.LapseRule(row.LapseRule), EndedAt: orZero(row.EndedAt), Reason: row.Reason}
}

// HoldsPast are the pieces whose hold is over by a moment, the longest over first.
func (s Store) HoldsPast(ctx context.Context, now time.Time) ([]id.ID, error) {
	return s.q.HoldsPast(ctx, now)
}

// InsertDeposit writes a new deposit.
func (s Store) InsertDeposit(ctx context.Context, d sales.Deposit) error {
	return s.q.InsertDeposit(ctx, storedb.InsertDepositParams{ID: d.ID, PieceID: d.Piece, HoldID: nullable(d.Hold), State: string(d.State),
		GivenBy: d.From, Amount: int64(d.Amount), Method: d.Method, TakenAt: d.TakenAt})
}

// UpdateDeposit writes what became of a deposit. Fault at commit: DEPOSIT_ABOVE_HELD.
func (s Store) UpdateDeposit(ctx context.Context, d sales.Deposit) error {
	return s.q.UpdateDeposit(ctx, storedb.UpdateDepositParams{ID: d.ID, State: string(d.State), Used: int64(d.Used), Returned: int64(d.Returned), Kept: int64(d.Kept)})
}

// LockOfDeposit is Lock for the piece of a deposit, which it reads too. Fault: DEPOSIT_NOT_FOUND.
func (s Store) LockOfDeposit(ctx context.Context, deposit id.ID) (l sales.Listing, d sales.Deposit, err error) {
	if l, err = s.lockOf(ctx, s.q.PieceOfDeposit, deposit, sales.ErrNoDeposit); err != nil {
		return l, d, err
	}
	all, err := s.Deposits(ctx, Which{Before: Newest, Piece: l.Piece, Limit: everything})
	for _, of := range all {
		if of.ID == deposit {
			d = of
		}
	}
	return l, d, err
}

// everything is more than any piece has.
const everything = 1 << 30

// Deposits reads deposits, the newest first; of some holds alone, if any are named.
func (s Store) Deposits(ctx context.Context, w Which, holds ...id.ID) (out []sales.Deposit, err error) {
	if holds == nil {
		holds = []id.ID{} // null is no list to the database, and not an empty one
	}
	rows, err := s.q.ListDeposits(ctx, storedb.ListDepositsParams{BeforeID: w.Before, OfPiece: nullable(w.Piece), InState: w.State, OfHolds: holds, PageLimit: w.Limit})
	for _, row := range rows {
		out = append(out, sales.Deposit{ID: row.ID, Piece: row.PieceID, Tag: row.Tag, Hold: row.HoldID.UUID, State: sales.DepositState(row.State), From: row.GivenBy,
			Amount: money.Amount(row.Amount), Method: row.Method, TakenAt: row.TakenAt.UTC(),
			Used: money.Amount(row.Used), Returned: money.Amount(row.Returned), Kept: money.Amount(row.Kept)})
	}
	return out, err
}

// DepositsOf reads all deposits of some holds.
func (s Store) DepositsOf(ctx context.Context, holds ...id.ID) ([]sales.Deposit, error) {
	if len(holds) == 0 {
		return nil, nil
	}
	return s.Deposits(ctx, Which{Before: Newest, Limit: everything}, holds...)
}

// DepositsHeld reads what is held on a client's own piece.
func (s Store) DepositsHeld(ctx context.Context, piece id.ID) ([]sales.Deposit, error) {
	return s.Deposits(ctx, Which{Before: Newest, Piece: piece, State: string(sales.DepositHeld), Limit: everything})
}
