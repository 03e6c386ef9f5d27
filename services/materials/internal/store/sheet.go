package store

import (
	"context"
	"errors"
	"time"

	"tackfree/pkg/coating"
	"tackfree/pkg/datasheet"
	"tackfree/pkg/drying"
	"tackfree/pkg/finish"
	"tackfree/services/materials/internal/materials"
	"tackfree/services/materials/internal/store/storedb"
)

// SetSheet writes what the product's data sheet says, or that there is none, and the
// product as it is with it.
func (s Store) SetSheet(ctx context.Context, p materials.Product) error {
	return errors.Join(s.Update(ctx, p), s.q.UpdateSheet(ctx, toSheetRow(p)))
}

// toSheetRow writes no sheet as one that says nothing.
func toSheetRow(p materials.Product) storedb.UpdateSheetParams {
	s := datasheet.Sheet{}
	if p.Sheet != nil {
		s = *p.Sheet
	}
	return storedb.UpdateSheetParams{
		ID: p.ID, SheetFamily: string(s.Family), SheetCarrier: string(s.Carrier), SheetLight: s.Light, SheetBlocksStains: s.BlocksStains,
		SheetMethod: string(s.Method), SheetVolumeSolidsPercent: s.SolidsPercent, SheetDryFilmUm: s.DryFilmUm, SheetThinningPercent: s.ThinningPercent,
		SheetTransferPercent: s.TransferPercent, SheetLossPerSetUpLitres: s.LossPerSetUpLitres,
		SheetReferenceCelsius: s.ReferenceCelsius, SheetReferenceHumidityPercent: s.ReferenceHumidity, SheetRatePerTenCelsius: s.RatePerTenCelsius,
		SheetSetToTouchMinutes: minutes(s.SetToTouch), SheetTackFreeMinutes: minutes(s.TackFree), SheetSandMinutes: minutes(s.Sand),
		SheetRecoatMinutes: minutes(s.Recoat), SheetRecoatClosesMinutes: minutes(s.RecoatCloses), SheetCureMinutes: minutes(s.Cure),
		SheetMinCelsius: s.MinCelsius, SheetMaxCelsius: s.MaxCelsius, SheetMaxHumidityPercent: s.MaxHumidity, SheetVocGramsPerLitre: s.VOCGramsPerLitre,
	}
}

func fromSheetRow(row storedb.Product) *datasheet.Sheet {
	if row.SheetFamily == "" {
		return nil
	}
	return &datasheet.Sheet{
		Family: finish.Family(row.SheetFamily), Carrier: drying.Carrier(row.SheetCarrier), Light: row.SheetLight, BlocksStains: row.SheetBlocksStains,
		Method: coating.Method(row.SheetMethod), SolidsPercent: row.SheetVolumeSolidsPercent, DryFilmUm: row.SheetDryFilmUm, ThinningPercent: row.SheetThinningPercent,
		TransferPercent: row.SheetTransferPercent, LossPerSetUpLitres: row.SheetLossPerSetUpLitres,
		ReferenceCelsius: row.SheetReferenceCelsius, ReferenceHumidity: row.SheetReferenceHumidityPercent, RatePerTenCelsius: row.SheetRatePerTenCelsius,
		SetToTouch: stated(row.SheetSetToTouchMinutes), TackFree: stated(row.SheetTackFreeMinutes), Sand: stated(row.SheetSandMinutes),
		Recoat: stated(row.SheetRecoatMinutes), RecoatCloses: stated(row.SheetRecoatClosesMinutes), Cure: stated(row.SheetCureMinutes),
		MinCelsius: row.SheetMinCelsius, MaxCelsius: row.SheetMaxCelsius, MaxHumidity: row.SheetMaxHumidityPercent, VOCGramsPerLitre: row.SheetVocGramsPerLitre,
	}
}

func minutes(d time.Duration) int32 { return int32(d / time.Minute) }

func stated(minutes int32) time.Duration { return time.Duration(minutes) * time.Minute }
