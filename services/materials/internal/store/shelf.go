package store

import (
	"context"
	"errors"
	"slices"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"tackfree/pkg/id"
	"tackfree/services/materials/internal/materials"
	"tackfree/services/materials/internal/store/storedb"
)

// Shelf reads a product with what is left of its lots and those that are named, and the pieces
// that are to get something, which it makes when they are new here; it keeps others from changing
// these until the transaction ends. All of it is one round trip: the locks are statements of their
// own, so that the reading after them sees what the one who held them before has written. Pieces
// are locked by id, so that two who need the same ones wait in a line. Fault: PRODUCT_NOT_FOUND.
func (s Store) Shelf(ctx context.Context, product id.ID, named []id.ID, pieces ...id.ID) (*materials.Shelf, map[id.ID]*materials.Piece, error) {
	pieces = inOrder(pieces)
	err := errors.Join(s.q.LockProductFirst(ctx, product), s.q.MakePieces(ctx, pieces), s.q.LockPiecesFirst(ctx, pieces))
	if err != nil {
		return nil, nil, err
	}
	rows, err := s.q.GetShelf(ctx, storedb.GetShelfParams{ID: product, Named: ids(named), Pieces: pieces})
	if err == nil && len(rows) == 0 {
		err = pgx.ErrNoRows
	}
	if err != nil {
		_, err := whole(storedb.Product{}, err)
		return nil, nil, err
	}
	p, err := fromRow(rows[0].Product)
	if err != nil {
		return nil, nil, err
	}
	locked := map[id.ID]*materials.Piece{}
	for n, piece := range pieces {
		locked[piece] = &materials.Piece{ID: piece, Version: rows[0].Versions[n]}
	}
	return materials.OpenShelf(p, materials.Method(rows[0].CostMethod), shelfLots(rows)), locked, nil
}

// inOrder sorts ids as the database does, once each.
func inOrder(all []id.ID) []id.ID {
	all = ids(all)
	slices.SortFunc(all, id.Compare)
	return slices.Compact(all)
}

// ids are those that are none missing, and never null.
func ids(all []id.ID) []id.ID {
	out := []id.ID{}
	for _, i := range all {
		if i != id.Nil {
			out = append(out, i)
		}
	}
	return out
}

// LockPieces keeps others from changing more pieces. Whoever does so after others may wait in a
// circle; the database then ends one of the waiting, who begins again.
func (s Store) LockPieces(ctx context.Context, pieces []id.ID) (map[id.ID]*materials.Piece, error) {
	rows, err := s.q.LockPieces(ctx, inOrder(pieces))
	locked := map[id.ID]*materials.Piece{}
	for _, row := range rows {
		locked[row.ID] = &materials.Piece{ID: row.ID, Version: row.Version}
	}
	return locked, err
}

// Recall gives a shelf all that was ever noted of its product.
func (s Store) Recall(ctx context.Context, shelf *materials.Shelf) error {
	product := shelf.Product.ID
	entries, err := s.q.ListHistory(ctx, product)
	if err != nil {
		return err
	}
	partRows, err := s.q.ListPartsOfProduct(ctx, product)
	if err != nil {
		return err
	}
	lotRows, err := s.q.ListAllLots(ctx, product)
	if err != nil {
		return err
	}
	parts := map[id.ID][]materials.Part{}
	for _, row := range partRows {
		parts[row.EntryID] = append(parts[row.EntryID], partOf(row.LotID, row.Quantity, row.Cost))
	}
	history := make([]materials.Posted, len(entries))
	for n, row := range entries {
		history[n] = materials.Posted{Entry: fromEntryRow(row.Entry), Parts: parts[row.Entry.ID]}
	}
	lots := make([]materials.Lot, len(lotRows))
	for n, row := range lotRows {
		lots[n] = fromLotRow(row.Lot)
	}
	shelf.Recall(history, lots)
	return nil
}

// SaveShelf writes what was posted on a shelf. Fault at commit: STOCK_TOO_SMALL.
func (s Store) SaveShelf(ctx context.Context, shelf *materials.Shelf) error {
	p := shelf.Product
	err := s.Update(ctx, p)
	for _, l := range shelf.Changed() {
		err = errors.Join(err, s.q.SaveLot(ctx, toLotRow(p.ID, l)))
	}
	for _, posted := range shelf.Posted {
		err = errors.Join(err, s.q.InsertEntry(ctx, toEntryRow(p.ID, posted.Entry)), s.move(ctx, p.ID, posted.ID, uuid.NullUUID{}, moved(posted)))
	}
	for _, r := range slices.Concat(shelf.Recosted, shelf.Gone) {
		err = errors.Join(err, s.move(ctx, p.ID, r.ID, some(r.Because), r.Moves))
	}
	return err
}

// moved is what an entry moves itself; one that undoes another does so by what that is no more.
func moved(p materials.Posted) []materials.Part {
	if p.Kind == materials.Undone {
		return nil
	}
	return p.Parts
}

func (s Store) move(ctx context.Context, product, entry id.ID, because uuid.NullUUID, parts []materials.Part) (err error) {
	for _, part := range parts {
		err = errors.Join(err, s.q.InsertMovement(ctx, storedb.InsertMovementParams{
			ProductID: product, LotID: part.Lot, EntryID: entry, BecauseID: because, Quantity: part.Quantity, Cost: int64(part.Cost)}))
	}
	return err
}

// SavePieces writes how often something was told of pieces.
func (s Store) SavePieces(ctx context.Context, pieces map[id.ID]*materials.Piece) (err error) {
	for _, p := range pieces {
		err = errors.Join(err, s.q.UpdatePiece(ctx, storedb.UpdatePieceParams{ID: p.ID, Version: p.Version}))
	}
	return err
}

// Method says how the shop counts what its stock cost, and whether that is settled.
func (s Store) Method(ctx context.Context) (m materials.Method, version int64, settled bool, err error) {
	row, err := s.q.GetMethod(ctx)
	return materials.Method(row.CostMethod), row.Version, row.Settled, err
}

// LockMethod is Method, and keeps entries from being written until the transaction ends.
func (s Store) LockMethod(ctx context.Context) (m materials.Method, version int64, settled bool, err error) {
	if err := s.q.LockEntries(ctx); err != nil {
		return "", 0, false, err
	}
	return s.Method(ctx)
}

// SetMethod chooses how the shop counts.
func (s Store) SetMethod(ctx context.Context, m materials.Method, version int64) error {
	return s.q.SetMethod(ctx, storedb.SetMethodParams{CostMethod: string(m), Version: version})
}
