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
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/pg"
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
	"supplier_name_once": fault.New(fault.Exists, "SUPPLIER_NAME_TAKEN",
		"Another supplier already has this name; choose another, or change that one.").At("display_name"),
	"recipe_name_once": fault.New(fault.Exists, "RECIPE_NAME_TAKEN",
		"Another recipe already has this name; choose another, or change that one.").At("recipe.display_name"),
	"product_never_below_zero": stockTooSmall,
	"lot_never_below_zero":     stockTooSmall,
	"entry_undone_once": fault.New(fault.Precondition, "ISSUE_TAKEN_BACK",
		"This was already taken back; read the list of issues again.").At("issue"),
	"place_word_once": fault.New(fault.Conflict, "CONTENTION",
		"Somebody else saved this place at the same moment; try again."),
	"equipment_name_once": fault.New(fault.Exists, "EQUIPMENT_NAME_TAKEN",
		"Other equipment already has this name; choose another, such as the name with a number.").At("equipment.display_name"),
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
		ID: row.ID, Threshold: row.Threshold, OnHand: row.OnHand, Value: row.Value, Low: row.Low, Version: row.Version,
		NewestAt: unlessZero(p.Newest.At), NewestRank: int32(p.Newest.Rank), NewestID: unlessNil(p.Newest.ID), LastQuantity: p.Last.Quantity, LastCost: int64(p.Last.Cost)})
}

// Lock reads a product and keeps others from changing it and its lots until the
// transaction ends. Fault: PRODUCT_NOT_FOUND.
func (s Store) Lock(ctx context.Context, i id.ID) (materials.Product, error) {
	row, err := s.q.LockProduct(ctx, i)
	return whole(row.Product, err)
}

// Get reads a product. Fault: PRODUCT_NOT_FOUND.
func (s Store) Get(ctx context.Context, i id.ID) (materials.Product, error) {
	row, err := s.q.GetProduct(ctx, i)
	return whole(row.Product, err)
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
