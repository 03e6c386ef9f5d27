// Package store keeps pieces in Postgres. Row types never leave it.
package store

import (
	"context"
	"embed"
	"errors"
	"fmt"

	"github.com/jackc/pgx/v5"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/pg"
	"tackfree/services/intake/internal/intake"
	"tackfree/services/intake/internal/store/storedb"
)

// Migrations are the service's own tables.
//
//go:embed migrations/*.sql
var Migrations embed.FS

// Constraints are the faults behind the constraints of the tables.
var Constraints = pg.Constraints{
	"piece_tag_once": fault.New(fault.Exists, "TAG_TAKEN",
		"Another piece already has this tag number; choose another, or none to get the next free one.").At("tag"),
	"commission_of_piece_once": fault.New(fault.Exists, "COMMISSION_OPEN",
		"This piece has a commission already; revise its estimate, write a change order, or finish or cancel it first.").At("piece"),
}

// Store reads and writes pieces in one transaction, or reads outside one.
type Store struct{ q *storedb.Queries }

// New makes a store over a transaction or a view.
func New(q pg.Querier) Store { return Store{storedb.New(q)} }

// GiveTags gives pieces the next free tags, or keeps those they have chosen, these first, so that a
// free one is none of them. Until the transaction ends no other piece chooses a tag.
func (s Store) GiveTags(ctx context.Context, pieces []intake.Piece) error {
	for _, chosen := range []bool{true, false} {
		for i := range pieces {
			if chosen != (pieces[i].Tag != 0) {
				continue
			}
			if err := s.GiveTag(ctx, &pieces[i]); err != nil {
				return err
			}
		}
	}
	return nil
}

// GiveTag gives the piece the next free tag, or keeps the one it has chosen. Until the
// transaction ends no other piece chooses a tag.
func (s Store) GiveTag(ctx context.Context, p *intake.Piece) (err error) {
	if p.Tag != 0 {
		return s.q.KeepTag(ctx, p.Tag)
	}
	p.Tag, err = s.q.NextTag(ctx)
	return err
}

// Insert writes a new piece with its parts. Fault at commit: TAG_TAKEN.
func (s Store) Insert(ctx context.Context, p intake.Piece) error {
	if err := s.q.InsertPiece(ctx, toRow(p)); err != nil {
		return err
	}
	for i, part := range p.Parts {
		if err := s.q.InsertPart(ctx, toPartRow(p.ID, i, part)); err != nil {
			return err
		}
	}
	return nil
}

// Update writes what a command may change, but for the price.
func (s Store) Update(ctx context.Context, p intake.Piece) error {
	return s.q.UpdatePiece(ctx, storedb.UpdatePieceParams{
		ID: p.ID, State: string(p.State), ScrapReason: p.ScrapReason, Version: p.Version})
}

// SetPrice writes what a piece that was bought by itself cost.
func (s Store) SetPrice(ctx context.Context, p intake.Piece) error {
	return s.q.SetPrices(ctx, storedb.SetPricesParams{Ids: []id.ID{p.ID}, Prices: []int64{int64(p.Purchase.Price)}})
}

// Lock reads a piece and keeps others from changing it until the transaction ends.
// Fault: PIECE_NOT_FOUND.
func (s Store) Lock(ctx context.Context, i id.ID) (intake.Piece, error) {
	row, err := s.q.LockPiece(ctx, i)
	return s.whole(ctx, row, err)
}

// Get reads a piece. Fault: PIECE_NOT_FOUND.
func (s Store) Get(ctx context.Context, i id.ID) (intake.Piece, error) {
	row, err := s.q.GetPiece(ctx, i)
	return s.whole(ctx, row, err)
}

// GetByTag reads a piece by its tag. Fault: PIECE_NOT_FOUND, which repeats the tag.
func (s Store) GetByTag(ctx context.Context, tag int32) (intake.Piece, error) {
	row, err := s.q.GetPieceByTag(ctx, tag)
	if errors.Is(err, pgx.ErrNoRows) {
		return intake.Piece{}, notFound(fmt.Sprintf("piece %d", tag))
	}
	return s.whole(ctx, row, err)
}

// List reads up to limit pieces with a higher tag, by tag; those of one client, who brought them or has a commission on
// them, or with id.Nil all.
func (s Store) List(ctx context.Context, client id.ID, afterTag, limit int32) ([]intake.Piece, error) {
	rows, err := s.q.ListPieces(ctx, storedb.ListPiecesParams{AfterTag: afterTag, Client: client, PageLimit: limit})
	if err != nil {
		return nil, err
	}
	return s.withParts(ctx, rows)
}

// LatestOfKind reads the pieces that came in last of a kind, however its letters are written, and of a
// size or of none that is known; at most so many.
func (s Store) LatestOfKind(ctx context.Context, kind string, size intake.Size, most int32) ([]intake.Piece, error) {
	rows, err := s.q.LatestOfKind(ctx, storedb.LatestOfKindParams{Kind: kind, Size: string(size), Most: most})
	if err != nil {
		return nil, err
	}
	return s.withParts(ctx, rows)
}

// whole turns the answer for one row into the piece with its parts.
func (s Store) whole(ctx context.Context, row storedb.Piece, err error) (intake.Piece, error) {
	if errors.Is(err, pgx.ErrNoRows) {
		return intake.Piece{}, notFound("such piece")
	}
	if err != nil {
		return intake.Piece{}, err
	}
	pieces, err := s.withParts(ctx, []storedb.Piece{row})
	if err != nil {
		return intake.Piece{}, err
	}
	return pieces[0], nil
}

func notFound(what string) error {
	return fault.New(fault.NotFound, "PIECE_NOT_FOUND", "There is no %s; look its tag number up in the list.", what).At("piece")
}

func (s Store) withParts(ctx context.Context, rows []storedb.Piece) ([]intake.Piece, error) {
	pieces := make([]intake.Piece, len(rows))
	ids := make([]id.ID, len(rows))
	at := make(map[id.ID]*intake.Piece, len(rows))
	for n, row := range rows {
		pieces[n], ids[n] = fromRow(row), row.ID
		at[row.ID] = &pieces[n]
	}
	parts, err := s.q.ListParts(ctx, ids)
	if err != nil {
		return nil, err
	}
	for _, row := range parts {
		p, err := fromPartRow(row)
		if err != nil {
			return nil, err
		}
		at[row.PieceID].Parts = append(at[row.PieceID].Parts, p)
	}
	return pieces, nil
}
