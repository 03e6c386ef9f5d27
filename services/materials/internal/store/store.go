// Package store keeps products, their lots and every movement of them in Postgres. Row
// types never leave it.
//
// Commands lock in one order: a product, with which go its lots, before the piece that
// gets of it or gives back. So people who take from two cans for one piece wait for each
// other in a line and never in a circle. Both locks are taken in the same round trip as
// the read that follows them, which therefore sees the newest rows.
package store

import (
	"context"
	"embed"
	"errors"
	"time"

	"github.com/jackc/pgx/v5"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	"tackfree/services/materials/internal/materials"
	"tackfree/services/materials/internal/store/storedb"
)

// Migrations are the service's own tables.
//
//go:embed migrations/*.sql
var Migrations embed.FS

var stockTooSmall = fault.New(fault.Precondition, "STOCK_TOO_SMALL",
	"There is not that much left; read the product again and take less.").At("quantity")

// Constraints are the faults behind the constraints of the tables.
var Constraints = pg.Constraints{
	"product_name_once": fault.New(fault.Exists, "PRODUCT_NAME_TAKEN",
		"Another product already has this name; choose another, or receive stock of that one.").At("display_name"),
	"product_never_below_zero": stockTooSmall,
	"lot_never_below_zero":     stockTooSmall,
	"take_back_once": fault.New(fault.Precondition, "ISSUE_TAKEN_BACK",
		"This was already taken back; read the list of issues again.").At("issue"),
}

// Store reads and writes products in one transaction, or reads outside one.
type Store struct{ q *storedb.Queries }

// New makes a store over a transaction or a view.
func New(q pg.Querier) Store { return Store{storedb.New(q)} }

// Insert writes a new product. Fault at commit: PRODUCT_NAME_TAKEN.
func (s Store) Insert(ctx context.Context, p materials.Product) error {
	return s.q.InsertProduct(ctx, toRow(p))
}

// Update writes what a command may change of the product itself, but for its sheet.
func (s Store) Update(ctx context.Context, p materials.Product) error {
	row := toRow(p)
	return s.q.UpdateProduct(ctx, storedb.UpdateProductParams{
		ID: row.ID, Threshold: row.Threshold, OnHand: row.OnHand, Value: row.Value, Low: row.Low, Version: row.Version})
}

// Receive writes the lot that came in, and the product as it is with it.
func (s Store) Receive(ctx context.Context, p materials.Product, l materials.Lot, actor string) error {
	return errors.Join(
		s.Update(ctx, p),
		s.q.InsertLot(ctx, toLotRow(p.ID, l)),
		s.q.InsertMovement(ctx, received(p.ID, l, actor)))
}

// Lock reads a product and keeps others from changing it and its lots until the
// transaction ends. Fault: PRODUCT_NOT_FOUND.
func (s Store) Lock(ctx context.Context, i id.ID) (materials.Product, error) {
	row, err := s.q.LockProduct(ctx, i)
	return whole(row.Product, err)
}

// LockWithLots is Lock with the piece that is to get something, which it makes when it
// is new here, and with the lots that have something left, in one round trip: the locks
// are statements of their own, so that the reading after them sees what the one who held
// them before has written. Fault: PRODUCT_NOT_FOUND.
func (s Store) LockWithLots(ctx context.Context, product, piece id.ID) (materials.Product, materials.Piece, []materials.Lot, error) {
	err := errors.Join(s.q.LockProductFirst(ctx, product), s.q.MakePiece(ctx, piece), s.q.LockPiece(ctx, piece))
	if err != nil {
		return materials.Product{}, materials.Piece{}, nil, err
	}
	rows, err := s.q.GetProductWithOpenLots(ctx, storedb.GetProductWithOpenLotsParams{ID: product, PieceID: piece})
	if err == nil && len(rows) == 0 {
		err = pgx.ErrNoRows
	}
	if err != nil {
		p, err := whole(storedb.Product{}, err)
		return p, materials.Piece{}, nil, err
	}
	p, err := fromRow(rows[0].Product)
	return p, materials.Piece(rows[0].Piece), openLots(rows), err
}

// Get reads a product. Fault: PRODUCT_NOT_FOUND.
func (s Store) Get(ctx context.Context, i id.ID) (materials.Product, error) {
	row, err := s.q.GetProduct(ctx, i)
	return whole(row.Product, err)
}

// List reads up to limit products whose names come after a name, by name.
func (s Store) List(ctx context.Context, afterName string, limit int32) ([]materials.Product, error) {
	rows, err := s.q.ListProducts(ctx, storedb.ListProductsParams{AfterKey: wire.NameKey(afterName), PageLimit: limit})
	if err != nil {
		return nil, err
	}
	products := make([]materials.Product, len(rows))
	for n, row := range rows {
		if products[n], err = fromRow(row.Product); err != nil {
			return nil, err
		}
	}
	return products, nil
}

// LotKey is a place in the order of a product's lots.
type LotKey struct {
	At time.Time
	ID id.ID
}

// Lots reads up to limit lots of a product after a place, oldest first; used-up ones too
// if asked.
func (s Store) Lots(ctx context.Context, product id.ID, after LotKey, usedUpToo bool, limit int32) ([]materials.Lot, error) {
	rows, err := s.q.ListLots(ctx, storedb.ListLotsParams{
		ProductID: product, AfterAt: after.At, AfterID: after.ID, UsedUpToo: usedUpToo, PageLimit: limit})
	if err != nil {
		return nil, err
	}
	lots := make([]materials.Lot, len(rows))
	for n, row := range rows {
		lots[n] = fromLotRow(row.Lot)
	}
	return lots, nil
}
