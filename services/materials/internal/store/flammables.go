package store

import (
	"context"

	"github.com/jackc/pgx/v5/pgtype"
	"github.com/shopspring/decimal"

	"tackfree/pkg/drying"
	"tackfree/pkg/id"
	"tackfree/services/materials/internal/materials"
	"tackfree/services/materials/internal/store/storedb"
)

// Stored reads what stands where, of what is or may be a liquid, by product name and place. What
// was mixed and has no flash point of its own is as flammable as the most flammable of its parts.
func (s Store) Stored(ctx context.Context) ([]materials.Stored, error) {
	rows, err := s.q.StoredLiquids(ctx, materials.LiquidCategories)
	if err != nil {
		return nil, err
	}
	parts, err := s.partsOf(ctx, rows)
	stored := make([]materials.Stored, len(rows))
	for n, row := range rows {
		stored[n] = fromStored(row)
		stored[n].Liquid, stored[n].ByParts = stored[n].Liquid.Mixed(parts[row.MixID.UUID])
	}
	return stored, err
}

// partsOf reads what went into the mixes of some rows.
func (s Store) partsOf(ctx context.Context, rows []storedb.StoredLiquidsRow) (map[id.ID][]materials.Liquid, error) {
	var mixes []id.ID
	for _, row := range rows {
		if row.MixID.Valid {
			mixes = append(mixes, row.MixID.UUID)
		}
	}
	if len(mixes) == 0 {
		return nil, nil
	}
	liquids, err := s.q.LiquidsOfMixes(ctx, mixes)
	parts := map[id.ID][]materials.Liquid{}
	for _, row := range liquids {
		parts[row.WholeID] = append(parts[row.WholeID], fromLiquid(row.SheetCarrier, row.AboutFlashPointCelsius, row.AboutBoilingPointCelsius))
	}
	return parts, err
}

func fromStored(row storedb.StoredLiquidsRow) materials.Stored {
	s := materials.Stored{Product: row.ID, Name: row.DisplayName, Unit: row.Unit, Quantity: row.Quantity, Since: row.NewestAt.UTC(),
		Litres: litresOf(row.Quantity, row.Unit, row.AboutDensityGramsPerMl),
		Liquid: fromLiquid(row.SheetCarrier, row.AboutFlashPointCelsius, row.AboutBoilingPointCelsius)}
	if row.PlaceID.Valid {
		s.Place = materials.StoragePlace{ID: row.PlaceID.UUID, Word: *row.Word, Name: *row.PlaceName, Kind: materials.PlaceKind(*row.Kind), Area: *row.Area}
	}
	return s
}

func fromLiquid(carrier string, flash, boiling pgtype.Float8) materials.Liquid {
	return materials.Liquid{FlashPoint: fromFloat(flash), BoilingPoint: fromFloat(boiling), WaterBorne: carrier == string(drying.Water)}
}

// litresOf is a volume, also of what is counted in g and has a known density, g/mL; else zero.
func litresOf(quantity decimal.Decimal, unit string, density float64) decimal.Decimal {
	switch {
	case unit == "L":
		return quantity
	case unit == "g" && density > 0:
		return quantity.Div(decimal.NewFromFloat(1000 * density))
	}
	return decimal.Zero
}
