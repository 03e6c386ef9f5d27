package server

import (
	"context"
	"time"

	"tackfree/pkg/coating"
	"tackfree/pkg/id"
	"tackfree/pkg/once"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	"tackfree/services/materials/internal/materials"
	"tackfree/services/materials/internal/store"
)

// SetCoatingSheet implements MaterialsService.
func (s *Server) SetCoatingSheet(ctx context.Context, r *materialsv1.SetCoatingSheetRequest) (*materialsv1.SetCoatingSheetResponse, error) {
	now := s.Shop.Now()
	productID, err := id.One("product", r.Product, "products")
	if err != nil {
		return nil, err
	}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*materialsv1.SetCoatingSheetResponse, error) {
		st := store.New(tx)
		p, err := st.Lock(ctx, productID)
		if err != nil {
			return nil, err
		}
		if err := wire.CheckEtag(r.Etag, p.Version); err != nil {
			return nil, err
		}
		facts, err := p.SetSheet(decodeSheet(r.CoatingSheet))
		if err != nil {
			return nil, err
		}
		if err := st.SetSheet(ctx, p); err != nil {
			return nil, err
		}
		return &materialsv1.SetCoatingSheetResponse{Product: s.encode(p)}, s.tell(ctx, tx, p, facts, now, now)
	})
}

// decodeSheet reads an absent sheet as none, and an absent method as the brush.
func decodeSheet(m *typev1.CoatingSheet) *materials.Sheet {
	if m == nil {
		return nil
	}
	s := &materials.Sheet{
		Family: families[m.Family], Carrier: carriers[m.Carrier], Light: m.Light, BlocksStains: m.BlocksStains, Method: coating.Brush,
		SolidsPercent: m.VolumeSolidsPercent, DryFilmUm: m.DryFilmUm, ThinningPercent: m.ThinningPercent,
		TransferPercent: m.TransferPercent, LossPerSetUpLitres: m.LossPerSetUpLitres,
		ReferenceCelsius: m.ReferenceCelsius, ReferenceHumidity: m.ReferenceHumidityPercent, RatePerTenCelsius: m.RatePerTenCelsius,
		SetToTouch: stated(m.SetToTouchMinutes), TackFree: stated(m.TackFreeMinutes), Sand: stated(m.SandMinutes),
		Recoat: stated(m.RecoatMinutes), RecoatCloses: stated(m.RecoatClosesMinutes), Cure: stated(m.CureMinutes),
		MinCelsius: m.MinCelsius, MaxCelsius: m.MaxCelsius, MaxHumidity: m.MaxHumidityPercent, VOCGramsPerLitre: m.VocGramsPerLitre,
	}
	if m.Method != typev1.ApplicationMethod_APPLICATION_METHOD_UNSPECIFIED {
		s.Method = methods[m.Method]
	}
	return s
}

// encodeSheet writes no sheet as an absent one.
func encodeSheet(s *materials.Sheet) *typev1.CoatingSheet {
	if s == nil {
		return nil
	}
	return &typev1.CoatingSheet{
		Family: families.number(s.Family), Carrier: carriers.number(s.Carrier), Light: s.Light, BlocksStains: s.BlocksStains, Method: methods.number(s.Method),
		VolumeSolidsPercent: s.SolidsPercent, DryFilmUm: s.DryFilmUm, ThinningPercent: s.ThinningPercent,
		TransferPercent: s.TransferPercent, LossPerSetUpLitres: s.LossPerSetUpLitres,
		ReferenceCelsius: s.ReferenceCelsius, ReferenceHumidityPercent: s.ReferenceHumidity, RatePerTenCelsius: s.RatePerTenCelsius,
		SetToTouchMinutes: minutes(s.SetToTouch), TackFreeMinutes: minutes(s.TackFree), SandMinutes: minutes(s.Sand),
		RecoatMinutes: minutes(s.Recoat), RecoatClosesMinutes: minutes(s.RecoatCloses), CureMinutes: minutes(s.Cure),
		MinCelsius: s.MinCelsius, MaxCelsius: s.MaxCelsius, MaxHumidityPercent: s.MaxHumidity, VocGramsPerLitre: s.VOCGramsPerLitre,
	}
}

// mostMinutes is nearly two centuries: a Duration cannot hold many more, and no coating
// takes so long.
const mostMinutes = 100_000_000

func stated(minutes int32) time.Duration {
	return time.Duration(min(minutes, mostMinutes)) * time.Minute
}

func minutes(d time.Duration) int32 { return int32(d / time.Minute) }
