package store

import (
	"time"

	"github.com/shopspring/decimal"

	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/services/materials/internal/materials"
	"tackfree/services/materials/internal/store/storedb"
)

func toEntryRow(product id.ID, e materials.Entry) storedb.InsertEntryParams {
	takes := e.Takes
	if takes == "" {
		takes = materials.Fresh
	}
	return storedb.InsertEntryParams{
		ID: e.ID, ProductID: product, Kind: string(e.Kind), Purpose: string(e.Purpose), At: e.At, Quantity: e.Quantity, Cost: int64(e.Cost),
		LotID: unlessNil(e.Lot), IntoLotID: unlessNil(e.Into), OfID: unlessNil(e.Of), ExpiresAt: unlessZero(e.Expires), Opened: e.Opened,
		Takes: string(takes), PlaceID: unlessNil(e.Place), PieceID: unlessNil(e.To.Piece), StageID: unlessNil(e.To.ID), StageKind: e.To.Kind,
		Pass: e.To.Pass, Cause: string(e.Cause), MixID: unlessNil(e.Mix), Supplier: e.Supplier, BatchCode: e.Code, Reason: e.Reason,
		Actor: e.Actor, RecordedAt: e.Recorded, UndoneAt: unlessZero(e.UndoneAt), OrderID: unlessNil(e.Order), OrderLine: e.Line,
	}
}

func fromEntryRow(row storedb.Entry) materials.Entry {
	return materials.Entry{
		ID: row.ID, Kind: materials.EntryKind(row.Kind), Purpose: materials.Purpose(row.Purpose), At: row.At.UTC(), Quantity: row.Quantity,
		Cost: money.Amount(row.Cost), Lot: row.LotID.UUID, Into: row.IntoLotID.UUID, Of: row.OfID.UUID, Expires: orZero(row.ExpiresAt),
		Opened: row.Opened, Takes: materials.Takes(row.Takes), Place: row.PlaceID.UUID,
		To:    materials.Stage{Piece: row.PieceID.UUID, ID: row.StageID.UUID, Kind: row.StageKind, Pass: row.Pass},
		Cause: materials.Cause(row.Cause), Mix: row.MixID.UUID, Supplier: row.Supplier, Code: row.BatchCode, Reason: row.Reason,
		Actor: row.Actor, Recorded: row.RecordedAt.UTC(), UndoneAt: orZero(row.UndoneAt), Order: row.OrderID.UUID, Line: row.OrderLine,
	}
}

func toLotRow(product id.ID, l materials.Lot) storedb.SaveLotParams {
	return storedb.SaveLotParams{
		ID: l.ID, ProductID: product, RootID: l.Root, Quantity: l.Quantity, QuantityLeft: l.Left, Cost: int64(l.Cost), CostLeft: int64(l.CostLeft),
		ReceivedAt: l.ReceivedAt, Supplier: l.Supplier, ExpiresAt: unlessZero(l.Expires), Opened: l.Opened, Closed: l.Closed,
		PlaceID: unlessNil(l.Place), MixID: unlessNil(l.Mix), BatchCode: l.Code,
	}
}

func fromLotRow(row storedb.Lot) materials.Lot {
	return materials.Lot{
		ID: row.ID, Root: row.RootID, Quantity: row.Quantity, Left: row.QuantityLeft,
		Cost: money.Amount(row.Cost), CostLeft: money.Amount(row.CostLeft), ReceivedAt: row.ReceivedAt.UTC(), Supplier: row.Supplier,
		Expires: orZero(row.ExpiresAt), Opened: row.Opened, Closed: row.Closed, Place: row.PlaceID.UUID, Mix: row.MixID.UUID, Code: row.BatchCode,
	}
}

// shelfLots reads the lots beside a product; one without any has a row without a lot.
func shelfLots(rows []storedb.GetShelfRow) []materials.Lot {
	var lots []materials.Lot
	for _, row := range rows {
		if !row.LotID.Valid {
			continue
		}
		lots = append(lots, fromLotRow(storedb.Lot{
			ID: row.LotID.UUID, RootID: row.RootID.UUID, Quantity: row.Quantity.Decimal, QuantityLeft: row.QuantityLeft.Decimal,
			Cost: *row.Cost, CostLeft: *row.CostLeft, ReceivedAt: *row.ReceivedAt, Supplier: *row.Supplier, ExpiresAt: row.ExpiresAt,
			Opened: *row.Opened, Closed: *row.Closed, PlaceID: row.PlaceID, MixID: row.MixID, BatchCode: *row.BatchCode,
		}))
	}
	return lots
}

func partOf(lot id.ID, q decimal.Decimal, cost int64) materials.Part {
	return materials.Part{Lot: lot, Quantity: q, Cost: money.Amount(cost)}
}

func orZero(t *time.Time) time.Time {
	if t == nil {
		return time.Time{}
	}
	return t.UTC()
}
