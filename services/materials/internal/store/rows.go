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
		Value: money.Amount(row.Value), Low: row.Low, Sheet: fromSheetRow(row), Version: row.Version,
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

func toLotRow(product id.ID, l materials.Lot) storedb.InsertLotParams {
	return storedb.InsertLotParams{
		ID: l.ID, ProductID: product, Quantity: l.Quantity, QuantityLeft: l.Left,
		Cost: int64(l.Cost), CostLeft: int64(l.CostLeft), ReceivedAt: l.ReceivedAt, Supplier: l.Supplier,
	}
}

func fromLotRow(row storedb.Lot) materials.Lot {
	return materials.Lot{
		ID: row.ID, Quantity: row.Quantity, Left: row.QuantityLeft,
		Cost: money.Amount(row.Cost), CostLeft: money.Amount(row.CostLeft), ReceivedAt: row.ReceivedAt.UTC(), Supplier: row.Supplier,
	}
}

// openLots reads the lots beside a product; one without any has a row without a lot.
func openLots(rows []storedb.GetProductWithOpenLotsRow) []materials.Lot {
	var lots []materials.Lot
	for _, row := range rows {
		if !row.LotID.Valid {
			continue
		}
		lots = append(lots, fromLotRow(storedb.Lot{
			ID: row.LotID.UUID, Quantity: row.Quantity.Decimal, QuantityLeft: row.QuantityLeft.Decimal,
			Cost: *row.Cost, CostLeft: *row.CostLeft, ReceivedAt: *row.ReceivedAt, Supplier: *row.Supplier,
		}))
	}
	return lots
}

func received(product id.ID, l materials.Lot, actor string) storedb.InsertMovementParams {
	return storedb.InsertMovementParams{
		ProductID: product, LotID: l.ID, Kind: "receive", Quantity: l.Quantity, Cost: int64(l.Cost), Actor: actor, At: l.ReceivedAt,
	}
}

func issued(product id.ID, i materials.Issue, d materials.Drawn) storedb.InsertMovementParams {
	return storedb.InsertMovementParams{
		ProductID: product, LotID: d.Lot.ID, Kind: "issue", Quantity: d.Quantity.Neg(), Cost: -int64(d.Cost),
		IssueID: some(i.ID), Actor: i.Actor, At: i.At,
	}
}

func takenBack(product id.ID, i materials.Issue, d materials.Drawn) storedb.InsertMovementParams {
	return storedb.InsertMovementParams{
		ProductID: product, LotID: d.Lot.ID, Kind: "take_back", Quantity: d.Quantity, Cost: int64(d.Cost),
		IssueID: some(i.ID), Actor: i.Back.Actor, At: i.Back.At,
	}
}

func toIssueRow(product id.ID, i materials.Issue) storedb.Issue {
	return storedb.Issue{
		ID: i.ID, ProductID: product, PieceID: i.Stage.Piece, StageID: i.Stage.ID, StageKind: i.Stage.Kind, Pass: i.Stage.Pass,
		Actor: i.Actor, IssuedAt: i.At,
	}
}

// fromIssueRow reads an issue but for its draws.
func fromIssueRow(row storedb.GetIssueRow) (e Entry, err error) {
	i := materials.Issue{
		ID: row.Issue.ID, At: row.Issue.IssuedAt.UTC(), Actor: row.Issue.Actor,
		Stage: materials.Stage{ID: row.Issue.StageID, Piece: row.Issue.PieceID, Kind: row.Issue.StageKind, Pass: row.Issue.Pass},
	}
	if row.Reason != nil {
		i.Back = &materials.TakeBack{Reason: *row.Reason, Actor: *row.TakenBackBy, At: row.TakenBackAt.UTC()}
	}
	p, err := fromRow(row.Product)
	return Entry{Product: p, Piece: materials.Piece(row.Piece), Issue: i}, err
}

func fromDrawRow(row storedb.ListDrawsRow) materials.Drawn {
	return materials.Drawn{Lot: fromLotRow(row.Lot), Quantity: row.Quantity, Cost: money.Amount(row.Cost)}
}

func some(i id.ID) uuid.NullUUID { return uuid.NullUUID{UUID: i, Valid: true} }

// unlessNil is null for no id.
func unlessNil(i id.ID) uuid.NullUUID { return uuid.NullUUID{UUID: i, Valid: i != id.Nil} }
