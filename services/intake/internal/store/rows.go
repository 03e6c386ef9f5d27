package store

import (
	"fmt"

	"github.com/google/uuid"
	"github.com/shopspring/decimal"

	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/pkg/quantity"
	"tackfree/services/intake/internal/intake"
	"tackfree/services/intake/internal/store/storedb"
)

func toRow(p intake.Piece) storedb.InsertPieceParams {
	row := storedb.InsertPieceParams{
		ID: p.ID, Tag: p.Tag, Title: p.Title, Kind: p.Kind, State: string(p.State), ScrapReason: p.ScrapReason,
		TakenInAt: p.TakenInAt, Version: p.Version, Size: string(p.Size), Condition: string(p.Condition),
		ProspectID: uuid.NullUUID{UUID: p.Prospect, Valid: p.Prospect != id.Nil},
	}
	if p.Purchase == nil {
		row.Client, row.ClientID = &p.Client, orNull(p.ClientRecord)
		return row
	}
	price := int64(p.Purchase.Price)
	row.Price, row.Source, row.PurchaseDate = &price, &p.Purchase.Source, &p.Purchase.Day
	row.LotID = uuid.NullUUID{UUID: p.Purchase.Lot, Valid: p.Purchase.Lot != id.Nil}
	return row
}

func fromRow(row storedb.Piece) intake.Piece {
	p := intake.Piece{
		ID: row.ID, Tag: row.Tag, Title: row.Title, Kind: row.Kind, State: intake.State(row.State),
		ScrapReason: row.ScrapReason, TakenInAt: row.TakenInAt, Version: row.Version, Size: intake.Size(row.Size), Condition: intake.Condition(row.Condition), Prospect: row.ProspectID.UUID,
	}
	if row.Price == nil {
		p.Client, p.ClientRecord = *row.Client, row.ClientID.UUID
		return p
	}
	p.Purchase = &intake.Purchase{Price: money.Amount(*row.Price), Source: *row.Source, Day: *row.PurchaseDate, Lot: row.LotID.UUID}
	return p
}

func toPartRow(piece id.ID, position int, p intake.Part) storedb.InsertPartParams {
	return storedb.InsertPartParams{
		ID: p.ID, PieceID: piece, Position: int32(position), Label: p.Label, Count: p.Count,
		Length: p.Length.Value, LengthUnit: p.Length.Unit.Symbol,
		Width: p.Width.Value, WidthUnit: p.Width.Unit.Symbol,
		Thickness: p.Thickness.Value, ThicknessUnit: p.Thickness.Unit.Symbol,
	}
}

func fromPartRow(row storedb.Part) (p intake.Part, err error) {
	p = intake.Part{ID: row.ID, Label: row.Label, Count: row.Count}
	if p.Length, err = measured(row.Length, row.LengthUnit); err != nil {
		return p, err
	}
	if p.Width, err = measured(row.Width, row.WidthUnit); err != nil {
		return p, err
	}
	p.Thickness, err = measured(row.Thickness, row.ThicknessUnit)
	return p, err
}

func measured(value decimal.Decimal, symbol string) (quantity.Quantity, error) {
	if symbol == "" {
		return quantity.Quantity{}, nil
	}
	unit, err := quantity.UnitOf(symbol)
	if err != nil {
		return quantity.Quantity{}, fmt.Errorf("stored unit: %w", err)
	}
	return quantity.Quantity{Value: value, Unit: unit}, nil
}
