package store

import (
	"context"
	"time"

	"github.com/shopspring/decimal"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/services/materials/internal/materials"
	"tackfree/services/materials/internal/store/storedb"
)

// Mix is a mix with the lot that it is, what went into it and where it went.
type Mix struct {
	materials.Mix
	RecipeName string
	Product    materials.Product
	Lot        materials.Lot
	Left       decimal.Decimal // of it and its parts that were moved
	Undone     bool
	Parts      []materials.MixPart
	Uses       []MixUse
}

// MixUse is how much of a mix a stage got.
type MixUse struct {
	To       materials.Stage
	Quantity decimal.Decimal // less what came back
	At       time.Time       // when it got the first of it
}

// InsertMix writes a mix and gives it its number.
func (s Store) InsertMix(ctx context.Context, m materials.Mix) (materials.Mix, error) {
	number, err := s.q.InsertMix(ctx, storedb.InsertMixParams{ID: m.ID, RecipeID: m.Recipe, LikeID: unlessNil(m.Like), ProductID: m.Product, LotID: m.Lot,
		Quantity: m.Quantity, MixedAt: m.At, Note: m.Note, Actor: m.Actor})
	m.Number = number
	return m, err
}

// MixFilter says which mixes are meant; id.Nil: any.
type MixFilter struct {
	Recipe, Product, Piece id.ID
	WithLeft               bool
	only                   id.ID
}

// Mix reads one. Fault: MIX_NOT_FOUND.
func (s Store) Mix(ctx context.Context, mix id.ID) (Mix, error) {
	all, err := s.Mixes(ctx, MixFilter{only: mix}, EntryKey{}, 1)
	if err == nil && len(all) == 0 {
		err = fault.New(fault.NotFound, "MIX_NOT_FOUND", "There is no such mix; look it up in the list.").At("name")
	}
	if err != nil {
		return Mix{}, err
	}
	return all[0], nil
}

// Mixes reads up to limit mixes that are older than a place, newest first.
func (s Store) Mixes(ctx context.Context, f MixFilter, before EntryKey, limit int32) ([]Mix, error) {
	if before.At.IsZero() {
		before = afterAll
	}
	rows, err := s.q.ListMixes(ctx, storedb.ListMixesParams{BeforeAt: before.At, BeforeID: before.ID, OnlyID: unlessNil(f.only), RecipeID: unlessNil(f.Recipe),
		ProductID: unlessNil(f.Product), WithLeft: f.WithLeft, PieceID: unlessNil(f.Piece), PageLimit: limit})
	if err != nil {
		return nil, err
	}
	out, at, all := make([]Mix, len(rows)), map[id.ID]*Mix{}, make([]id.ID, len(rows))
	for n, row := range rows {
		p, err := fromRow(row.Product)
		if err != nil {
			return nil, err
		}
		m := row.Mix
		out[n] = Mix{RecipeName: row.RecipeName, Product: p, Lot: fromLotRow(row.Lot), Left: row.QuantityLeft, Undone: row.Undone, Mix: materials.Mix{ID: m.ID, Number: m.Number,
			Recipe: m.RecipeID, Like: m.LikeID.UUID, Product: m.ProductID, Lot: m.LotID, Quantity: m.Quantity, At: m.MixedAt.UTC(), Note: m.Note, Actor: m.Actor}}
		at[m.ID], all[n] = &out[n], m.ID
	}
	if err := s.withMixParts(ctx, at, all); err != nil {
		return nil, err
	}
	return out, s.withUses(ctx, at, all)
}

func (s Store) withMixParts(ctx context.Context, at map[id.ID]*Mix, mixes []id.ID) error {
	rows, err := s.q.ListMixParts(ctx, mixes)
	if err != nil {
		return err
	}
	noted, all := make([]Noted, len(rows)), make([]id.ID, len(rows))
	for n, row := range rows {
		noted[n].Entry, all[n] = fromEntryRow(row.Entry), row.Entry.ID
		if noted[n].Product, err = fromRow(row.Product); err != nil {
			return err
		}
	}
	err = s.withParts(ctx, noted, all)
	for _, n := range noted {
		m := at[n.Mix]
		m.Parts = append(m.Parts, materials.MixPart{Product: n.Product, Quantity: n.Quantity, Posted: n.Posted})
	}
	return err
}

func (s Store) withUses(ctx context.Context, at map[id.ID]*Mix, mixes []id.ID) error {
	rows, err := s.q.ListMixUses(ctx, mixes)
	for _, row := range rows {
		m := at[row.MixID]
		m.Uses = append(m.Uses, MixUse{To: materials.Stage{Piece: row.PieceID, ID: row.StageID, Kind: row.StageKind, Pass: row.Pass},
			Quantity: row.Quantity, At: row.FirstAt.UTC()})
	}
	return err
}
