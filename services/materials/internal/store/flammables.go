package store

import (
	"context"

	"github.com/shopspring/decimal"

	"tackfree/pkg/drying"
	"tackfree/services/materials/internal/materials"
	"tackfree/services/materials/internal/store/storedb"
)

// Stored reads what stands where, of what is or may be a liquid, by product name and place.
func (s Store) Stored(ctx context.Context) ([]materials.Stored, error) {
	rows, err := s.q.StoredLiquids(ctx)
	stored := make([]materials.Stored, len(rows))
	for n, row := range rows {
		stored[n] = fromStored(row)
	}
	return stored, err
}

func fromStored(row storedb.StoredLiquidsRow) materials.Stored {
	s := materials.Stored{Product: row.ID, Name: row.DisplayName, Unit: row.Unit, Quantity: row.Quantity, Since: row.NewestAt.UTC(),
		Litres: litresOf(row.Quantity, row.Unit, row.AboutDensityGramsPerMl)}
	s.Liquid.WaterBorne = row.SheetCarrier == string(drying.Water)
	if row.HasFlashPoint {
		s.Liquid.FlashPoint = &row.FlashPoint
	}
	if row.HasBoilingPoint {
		s.Liquid.BoilingPoint = &row.BoilingPoint
	}
	if row.PlaceID.Valid {
		s.Place = materials.StoragePlace{ID: row.PlaceID.UUID, Word: *row.Word, Name: *row.PlaceName, Kind: materials.PlaceKind(*row.Kind), Area: *row.Area}
	}
	return s
}

// litresOf is a volume, also of what is counted in g and has a known density, g/mL; else zero.
func litresOf(quantity decimal.Decimal, unit string, density float64) decimal.Decimal {
	switch {
	case unit == "L":
		return quantity
	case density > 0:
		return quantity.Div(decimal.NewFromFloat(1000 * density))
	}
	return decimal.Zero
}
