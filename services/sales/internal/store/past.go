package store

import (
	"context"
	"errors"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/services/sales/internal/advice"
	"tackfree/services/sales/internal/store/storedb"
)

// The origins of a piece.
const (
	Stock      = "stock"      // the shop's own
	Commission = "commission" // a client's
)

// NoteTakenIn notes what intake says of a piece; the first writer of the piece makes its row.
func (s Store) NoteTakenIn(ctx context.Context, p advice.Piece, origin string) error {
	return s.q.NotePieceTakenIn(ctx, storedb.NotePieceTakenInParams{
		PieceID: p.ID, Tag: p.Tag, Title: p.Title, Origin: origin, Kind: p.Kind, Size: p.Size, Condition: p.Condition})
}

// NoteScrapped notes when a piece was given up.
func (s Store) NoteScrapped(ctx context.Context, piece id.ID, at time.Time) error {
	return s.q.NotePieceScrapped(ctx, storedb.NotePieceScrappedParams{PieceID: piece, ScrappedAt: at})
}

// NoteLook notes how a piece is to look.
func (s Store) NoteLook(ctx context.Context, piece id.ID, look string) error {
	return s.q.NoteLook(ctx, storedb.NoteLookParams{PieceID: piece, Look: look})
}

// NoteListed notes that a piece was put up for sale.
func (s Store) NoteListed(ctx context.Context, piece id.ID, channel string, asked money.Amount, at time.Time) error {
	return s.q.NoteListed(ctx, storedb.NoteListedParams{PieceID: piece, Channel: channel, Asked: int64(asked), FromAt: at})
}

// NoteAskedOtherwise notes that another price is asked for a piece that is up for sale.
func (s Store) NoteAskedOtherwise(ctx context.Context, piece id.ID, asked money.Amount, at time.Time) error {
	if err := s.q.EndStretch(ctx, storedb.EndStretchParams{PieceID: piece, ToAt: at, Ended: "changed"}); err != nil {
		return err
	}
	return s.q.NoteAskedOtherwise(ctx, storedb.NoteAskedOtherwiseParams{PieceID: piece, Asked: int64(asked), FromAt: at})
}

// NoteSold notes the sale of a piece, by which its listing ends if it has one.
func (s Store) NoteSold(ctx context.Context, of advice.Sale) error {
	err := s.q.NoteSold(ctx, storedb.NoteSoldParams{SaleID: of.ID, PieceID: of.Piece, Channel: of.Channel, SoldAt: of.SoldAt, Price: int64(of.Price),
		SetID: uuid.NullUUID{UUID: of.Set, Valid: of.Set != id.Nil}})
	if err != nil {
		return err
	}
	return s.q.EndStretch(ctx, storedb.EndStretchParams{PieceID: of.Piece, ToAt: of.SoldAt, Ended: "sold"})
}

// NoteWithdrawn notes that a piece is no longer offered, unsold.
func (s Store) NoteWithdrawn(ctx context.Context, piece id.ID, at time.Time) error {
	return s.q.EndStretch(ctx, storedb.EndStretchParams{PieceID: piece, ToAt: at, Ended: "withdrawn"})
}

// NoteRefunded notes what of a sale's price went back, and whether its piece came back.
func (s Store) NoteRefunded(ctx context.Context, sale id.ID, price money.Amount, returned bool) error {
	return s.q.NoteRefunded(ctx, storedb.NoteRefundedParams{SaleID: sale, Refunded: int64(price), Returned: returned})
}

// BumpPast says that something of the past became otherwise.
func (s Store) BumpPast(ctx context.Context) error { return s.q.BumpPast(ctx) }

// ForgetPast takes back all that was noted, and begins another epoch.
func (s Store) ForgetPast(ctx context.Context) error {
	return errors.Join(s.q.ForgetPastPieces(ctx), s.q.ForgetPastStretches(ctx), s.q.ForgetPastSales(ctx), s.q.BeginPastAnew(ctx))
}

// IsPastReadAnew reports whether some of the past was forgotten and is not yet noted anew.
func (s Store) IsPastReadAnew(ctx context.Context) (bool, error) { return s.q.IsPastReadAnew(ctx) }

// PastChanges reads what of the past became otherwise after it had come to a number; after 0 it is all.
func (s Store) PastChanges(ctx context.Context, after int64) (c advice.Changes, err error) {
	pieces, err := s.q.ChangedPieces(ctx, after)
	if err != nil {
		return c, err
	}
	stretches, err := s.q.ChangedStretches(ctx, after)
	if err != nil {
		return c, err
	}
	sales, err := s.q.ChangedSales(ctx, after)
	if err != nil {
		return c, err
	}
	c = advice.Changes{Pieces: make([]advice.Known, len(pieces)), Stretches: make([]advice.Stretch, len(stretches)), Sales: make([]advice.Sale, len(sales))}
	for n, r := range pieces {
		c.Pieces[n] = advice.Known{Stock: r.Stock, ScrappedAt: orZero(r.ScrappedAt),
			Piece: advice.Piece{ID: r.PieceID, Tag: r.Tag, Title: r.Title, Kind: r.Kind, Size: r.Size, Condition: r.Condition, Look: r.Look}}
	}
	for n, r := range stretches {
		c.Stretches[n] = advice.Stretch{Piece: r.PieceID, Spell: r.Spell, Number: r.Stretch, Channel: r.Channel, Asked: money.Amount(r.Asked),
			From: r.FromAt, To: orZero(r.ToAt), Sold: r.Sold}
	}
	for n, r := range sales {
		c.Sales[n] = advice.Sale{ID: r.SaleID, Piece: r.PieceID, Spell: r.Spell, Channel: r.Channel, SoldAt: r.SoldAt,
			Price: money.Amount(r.Price), Refunded: money.Amount(r.Refunded), Returned: r.Returned, Set: r.SetID.UUID}
	}
	return c, nil
}

// PastPiece is what was noted of a piece.
type PastPiece struct {
	advice.Piece
	Origin   string // empty: intake was not heard of it yet
	Scrapped bool
}

// PastPiece reads what was noted of a piece; of one that nobody told of, nothing but its id.
func (s Store) PastPiece(ctx context.Context, piece id.ID) (PastPiece, error) {
	r, err := s.q.GetPastPiece(ctx, piece)
	if err != nil && !errors.Is(err, pgx.ErrNoRows) {
		return PastPiece{}, err
	}
	return PastPiece{Piece: advice.Piece{ID: piece, Tag: r.Tag, Title: r.Title, Kind: r.Kind, Size: r.Size, Condition: r.Condition, Look: r.Look},
		Origin: r.Origin, Scrapped: r.Scrapped}, nil
}

// Running reads since when a piece is up for sale and what is asked was asked, and how often it was marked
// down since; zero times where that was not heard.
func (s Store) Running(ctx context.Context, piece id.ID) (advice.Running, error) {
	r, err := s.q.GetRunningStretch(ctx, piece)
	if errors.Is(err, pgx.ErrNoRows) {
		return advice.Running{}, nil
	}
	return advice.Running{ListedAt: r.ListedAt, AskedAt: r.AskedAt, Markdowns: int(r.Markdowns)}, err
}

func orZero(t *time.Time) time.Time {
	if t == nil {
		return time.Time{}
	}
	return t.UTC()
}

func orNil(t time.Time) *time.Time {
	if t.IsZero() {
		return nil
	}
	return &t
}
