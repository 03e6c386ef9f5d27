package store

import (
	"context"
	"errors"
	"time"

	"github.com/jackc/pgx/v5/pgtype"

	"tackfree/pkg/id"
	"tackfree/pkg/wire"
	"tackfree/services/materials/internal/materials"
	"tackfree/services/materials/internal/store/storedb"
)

// Describe writes what the product is called, what sizes it is sold in and what is known of
// it, and the product as it is with it. Fault at commit: PRODUCT_NAME_TAKEN.
func (s Store) Describe(ctx context.Context, p materials.Product) error {
	return errors.Join(s.Update(ctx, p), s.q.UpdateDetails(ctx, toDetailsRow(p)))
}

// Save writes all that a file of products may say of one, new or not. Fault at commit:
// PRODUCT_NAME_TAKEN.
func (s Store) Save(ctx context.Context, p materials.Product) error {
	return s.q.SaveProduct(ctx, toWholeRow(p))
}

// ProductFilter says which products are meant; empty words: any.
type ProductFilter struct{ Category, Search string }

// List reads up to limit products whose names come after a name, by name.
func (s Store) List(ctx context.Context, f ProductFilter, afterName string, limit int32) ([]materials.Product, error) {
	rows, err := s.q.ListProducts(ctx, storedb.ListProductsParams{
		AfterKey: wire.NameKey(afterName), Category: f.Category, SearchKey: wire.NameKey(f.Search), PageLimit: limit})
	return fromRows(rows, err, func(row storedb.ListProductsRow) storedb.Product { return row.Product })
}

// All reads all products, by name.
func (s Store) All(ctx context.Context) ([]materials.Product, error) {
	rows, err := s.q.AllProducts(ctx)
	return fromRows(rows, err, func(row storedb.AllProductsRow) storedb.Product { return row.Product })
}

// LockNamed reads the products of some names by the keys of these, and keeps others from
// changing them until the transaction ends.
func (s Store) LockNamed(ctx context.Context, keys []string) (map[string]materials.Product, error) {
	rows, err := s.q.LockProductsNamed(ctx, keys)
	products, err := fromRows(rows, err, func(row storedb.LockProductsNamedRow) storedb.Product { return row.Product })
	return byKey(products), err
}

// Named is LockNamed without the lock.
func (s Store) Named(ctx context.Context, keys []string) (map[string]materials.Product, error) {
	rows, err := s.q.ProductsNamed(ctx, keys)
	products, err := fromRows(rows, err, func(row storedb.ProductsNamedRow) storedb.Product { return row.Product })
	return byKey(products), err
}

// InUse reads which packages of some products suppliers offer.
func (s Store) InUse(ctx context.Context, products []id.ID) (map[id.ID][]materials.InUse, error) {
	rows, err := s.q.OfferedPackages(ctx, products)
	out := map[id.ID][]materials.InUse{}
	for _, row := range rows {
		out[row.ProductID] = append(out[row.ProductID], materials.InUse{Label: row.PackageLabel, Content: row.Content, Supplier: row.DisplayName})
	}
	return out, err
}

func fromRows[R any](rows []R, err error, of func(R) storedb.Product) ([]materials.Product, error) {
	if err != nil {
		return nil, err
	}
	products := make([]materials.Product, len(rows))
	for n, row := range rows {
		if products[n], err = fromRow(of(row)); err != nil {
			return nil, err
		}
	}
	return products, nil
}

func byKey(products []materials.Product) map[string]materials.Product {
	out := make(map[string]materials.Product, len(products))
	for _, p := range products {
		out[wire.NameKey(p.Name)] = p
	}
	return out
}

// toWholeRow writes all that a file of products may say of one.
func toWholeRow(p materials.Product) storedb.SaveProductParams {
	row, sheet, about := toRow(p), toSheetRow(p), toDetailsRow(p)
	return storedb.SaveProductParams{
		ID: row.ID, DisplayName: row.DisplayName, NameKey: row.NameKey, Unit: row.Unit, PackageLabels: row.PackageLabels,
		PackageContents: row.PackageContents, Threshold: row.Threshold, OnHand: row.OnHand, Value: row.Value, Low: row.Low, Version: row.Version,
		SheetFamily: sheet.SheetFamily, SheetCarrier: sheet.SheetCarrier, SheetLight: sheet.SheetLight, SheetBlocksStains: sheet.SheetBlocksStains,
		SheetMethod: sheet.SheetMethod, SheetVolumeSolidsPercent: sheet.SheetVolumeSolidsPercent, SheetDryFilmUm: sheet.SheetDryFilmUm,
		SheetThinningPercent: sheet.SheetThinningPercent, SheetTransferPercent: sheet.SheetTransferPercent,
		SheetLossPerSetUpLitres: sheet.SheetLossPerSetUpLitres, SheetReferenceCelsius: sheet.SheetReferenceCelsius,
		SheetReferenceHumidityPercent: sheet.SheetReferenceHumidityPercent, SheetRatePerTenCelsius: sheet.SheetRatePerTenCelsius,
		SheetSetToTouchMinutes: sheet.SheetSetToTouchMinutes, SheetTackFreeMinutes: sheet.SheetTackFreeMinutes, SheetSandMinutes: sheet.SheetSandMinutes,
		SheetRecoatMinutes: sheet.SheetRecoatMinutes, SheetRecoatClosesMinutes: sheet.SheetRecoatClosesMinutes, SheetCureMinutes: sheet.SheetCureMinutes,
		SheetMinCelsius: sheet.SheetMinCelsius, SheetMaxCelsius: sheet.SheetMaxCelsius, SheetMaxHumidityPercent: sheet.SheetMaxHumidityPercent,
		SheetVocGramsPerLitre: sheet.SheetVocGramsPerLitre, AboutCategory: about.AboutCategory, AboutDensityGramsPerMl: about.AboutDensityGramsPerMl,
		AboutFlashPointCelsius: about.AboutFlashPointCelsius, AboutBoilingPointCelsius: about.AboutBoilingPointCelsius,
		AboutClosedDays: about.AboutClosedDays, AboutOpenDays: about.AboutOpenDays, AboutPotLifeMinutes: about.AboutPotLifeMinutes,
		AboutColour: about.AboutColour, AboutSheen: about.AboutSheen, AboutMaker: about.AboutMaker, AboutArticle: about.AboutArticle,
		AboutSquareMetresPerLitre: about.AboutSquareMetresPerLitre, AboutHazards: about.AboutHazards, AboutIngredients: about.AboutIngredients,
		AboutSafetySheet: about.AboutSafetySheet, AboutSafetySheetDate: about.AboutSafetySheetDate, AboutCautions: about.AboutCautions,
		AboutNote: about.AboutNote, AboutVocGramsPerLitre: about.AboutVocGramsPerLitre,
	}
}

func toDetailsRow(p materials.Product) storedb.UpdateDetailsParams {
	row, d := toRow(p), p.Details
	return storedb.UpdateDetailsParams{
		ID: p.ID, DisplayName: row.DisplayName, NameKey: row.NameKey, PackageLabels: row.PackageLabels, PackageContents: row.PackageContents,
		AboutCategory: d.Category, AboutDensityGramsPerMl: d.Density,
		AboutFlashPointCelsius: toFloat(d.FlashCelsius), AboutBoilingPointCelsius: toFloat(d.BoilingCelsius), AboutVocGramsPerLitre: toFloat(d.VOC),
		AboutClosedDays: d.ClosedDays, AboutOpenDays: d.OpenDays, AboutPotLifeMinutes: minutes(d.PotLife),
		AboutColour: d.Colour, AboutSheen: d.Sheen, AboutMaker: d.Maker, AboutArticle: d.Article, AboutSquareMetresPerLitre: d.M2PerLitre,
		AboutHazards: d.Hazards, AboutIngredients: d.Ingredients, AboutSafetySheet: d.SafetySheet, AboutSafetySheetDate: toDay(d.SafetySheetDate),
		AboutCautions: append([]string{}, d.Cautions...), AboutNote: d.Note,
	}
}

func fromDetailsRow(row storedb.Product) materials.Details {
	d := materials.Details{
		Category: row.AboutCategory, Density: row.AboutDensityGramsPerMl,
		FlashCelsius: fromFloat(row.AboutFlashPointCelsius), BoilingCelsius: fromFloat(row.AboutBoilingPointCelsius), VOC: fromFloat(row.AboutVocGramsPerLitre),
		ClosedDays: row.AboutClosedDays, OpenDays: row.AboutOpenDays, PotLife: stated(row.AboutPotLifeMinutes),
		Colour: row.AboutColour, Sheen: row.AboutSheen, Maker: row.AboutMaker, Article: row.AboutArticle, M2PerLitre: row.AboutSquareMetresPerLitre,
		Hazards: row.AboutHazards, Ingredients: row.AboutIngredients, SafetySheet: row.AboutSafetySheet, Note: row.AboutNote,
	}
	if row.AboutSafetySheetDate != nil {
		d.SafetySheetDate = row.AboutSafetySheetDate.UTC()
	}
	if len(row.AboutCautions) > 0 {
		d.Cautions = row.AboutCautions
	}
	return d
}

func toFloat(v *float64) pgtype.Float8 {
	if v == nil {
		return pgtype.Float8{}
	}
	return pgtype.Float8{Float64: *v, Valid: true}
}

func fromFloat(v pgtype.Float8) *float64 {
	if !v.Valid {
		return nil
	}
	return &v.Float64
}

// toDay is null for no day.
func toDay(t time.Time) *time.Time {
	if t.IsZero() {
		return nil
	}
	return &t
}
