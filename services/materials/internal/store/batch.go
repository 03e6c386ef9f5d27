package store

import (
	"context"
	"slices"

	"tackfree/pkg/id"
	"tackfree/services/materials/internal/materials"
	"tackfree/services/materials/internal/store/storedb"
)

// LockWithPieces is LockWithLots for several pieces, which it locks by id, so that two who
// need the same ones for different products wait in a line. Fault: PRODUCT_NOT_FOUND.
func (s Store) LockWithPieces(ctx context.Context, product id.ID, pieces []id.ID) (materials.Product, map[id.ID]materials.Piece, []materials.Lot, error) {
	p, err := s.Lock(ctx, product)
	if err != nil {
		return p, nil, nil, err
	}
	pieces = slices.Clone(pieces)
	slices.SortFunc(pieces, func(a, b id.ID) int { return slices.Compare(a[:], b[:]) })
	pieces = slices.Compact(pieces)
	if err := s.q.MakePieces(ctx, pieces); err != nil {
		return p, nil, nil, err
	}
	rows, err := s.q.LockPieces(ctx, pieces)
	if err != nil {
		return p, nil, nil, err
	}
	locked := map[id.ID]materials.Piece{}
	for _, row := range rows {
		locked[row.ID] = materials.Piece(row)
	}
	lots, err := s.q.ListOpenLots(ctx, product)
	return p, locked, fromLotRows(lots), err
}

func fromLotRows(rows []storedb.ListOpenLotsRow) []materials.Lot {
	lots := make([]materials.Lot, len(rows))
	for n, row := range rows {
		lots[n] = fromLotRow(row.Lot)
	}
	return lots
}
