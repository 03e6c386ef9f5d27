package store

import (
	"errors"
	"fmt"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
	"github.com/shopspring/decimal"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/pkg/quantity"
	"tackfree/pkg/wire"
	"tackfree/services/materials/internal/materials"
	"tackfree/services/materials/internal/store/storedb"
)

// toRow gives arrays that are empty rather than nil, which would be null. The sheet is
// not of it: only SetSheet writes that.
func toRow(p materials.Product) storedb.InsertProductParams {
	labels := make([]string, len(p.Packages))
	contents := make([]decimal.Decimal, len(p.Packages))
	for n, pack := range p.Packages {
		labels[n], contents[n] = pack.Label, pack.Content
	}
	return storedb.InsertProductParams{
		ID: p.ID, DisplayName: p.Name, NameKey: wire.NameKey(p.Name), Unit: p.Unit.Symbol, PackageLabels: labels, PackageContents: contents,
		Threshold: p.Threshold, OnHand: p.OnHand, Value: int64(p.Value), Low: p.Low, Version: p.Version,
	}
}

func fromRow(row storedb.Product) (materials.Product, error) {
	unit, err := quantity.UnitOf(row.Unit)
	if err != nil {
		return materials.Product{}, fmt.Errorf("stored unit: %w", err)
	}
	p := materials.Product{
		ID: row.ID, Name: row.DisplayName, Unit: unit, Threshold: row.Threshold, OnHand: row.OnHand,
		Value: money.Amount(row.Value), Low: row.Low, Newest: materials.Mark{At: orZero(row.NewestAt), Rank: int(row.NewestRank), ID: row.NewestID.UUID},
		Last: materials.Worth{Quantity: row.LastQuantity, Cost: money.Amount(row.LastCost)}, Sheet: fromSheetRow(row), Details: fromDetailsRow(row), Version: row.Version,
	}
	for n, label := range row.PackageLabels {
		p.Packages = append(p.Packages, materials.Package{Label: label, Content: row.PackageContents[n]})
	}
	return p, nil
}

// whole turns the answer for one row into the product.
func whole(row storedb.Product, err error) (materials.Product, error) {
	if errors.Is(err, pgx.ErrNoRows) {
		return materials.Product{}, fault.New(fault.NotFound, "PRODUCT_NOT_FOUND",
			"There is no such product; look its name up in the list.").At("product")
	}
	if err != nil {
		return materials.Product{}, err
	}
	return fromRow(row)
}

func some(i id.ID) uuid.NullUUID { return uuid.NullUUID{UUID: i, Valid: true} }

// unlessNil is null for no id.
func unlessNil(i id.ID) uuid.NullUUID { return uuid.NullUUID{UUID: i, Valid: i != id.Nil} }
