package server

import (
	"tackfree/pkg/coating"
	"tackfree/pkg/drying"
	"tackfree/pkg/finish"
	"tackfree/pkg/id"
	"tackfree/pkg/quantity"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	"tackfree/services/workflow/internal/workflow"
)

// The words of the trades, by their numbers in the contract.
var (
	families = map[typev1.FilmFamily]finish.Family{
		typev1.FilmFamily_FILM_FAMILY_SHELLAC: finish.Shellac, typev1.FilmFamily_FILM_FAMILY_DEWAXED_SHELLAC: finish.DewaxedShellac,
		typev1.FilmFamily_FILM_FAMILY_NITROCELLULOSE_LACQUER: finish.NitroLacquer, typev1.FilmFamily_FILM_FAMILY_CATALYSED_LACQUER: finish.CatalysedLacquer,
		typev1.FilmFamily_FILM_FAMILY_DRYING_OIL: finish.DryingOil, typev1.FilmFamily_FILM_FAMILY_OIL_VARNISH: finish.OilVarnish,
		typev1.FilmFamily_FILM_FAMILY_OIL_POLYURETHANE: finish.OilPolyurethane, typev1.FilmFamily_FILM_FAMILY_WATER_ACRYLIC: finish.WaterAcrylic,
		typev1.FilmFamily_FILM_FAMILY_WATER_POLYURETHANE: finish.WaterPolyurethane, typev1.FilmFamily_FILM_FAMILY_CHALK_PAINT: finish.ChalkPaint,
		typev1.FilmFamily_FILM_FAMILY_MILK_PAINT: finish.MilkPaint, typev1.FilmFamily_FILM_FAMILY_LATEX: finish.Latex,
		typev1.FilmFamily_FILM_FAMILY_WAX: finish.Wax, typev1.FilmFamily_FILM_FAMILY_TWO_PART: finish.TwoPart,
	}
	carriers = map[typev1.Carrier]drying.Carrier{
		typev1.Carrier_CARRIER_WATER: drying.Water, typev1.Carrier_CARRIER_SOLVENT: drying.Solvent,
		typev1.Carrier_CARRIER_OIL: drying.Oil, typev1.Carrier_CARRIER_TWO_PART: drying.TwoPart,
	}
	methods = map[typev1.ApplicationMethod]coating.Method{
		typev1.ApplicationMethod_APPLICATION_METHOD_UNSPECIFIED: coating.Brush,
		typev1.ApplicationMethod_APPLICATION_METHOD_BRUSH:       coating.Brush, typev1.ApplicationMethod_APPLICATION_METHOD_ROLLER: coating.Roller,
		typev1.ApplicationMethod_APPLICATION_METHOD_WIPE: coating.Wipe, typev1.ApplicationMethod_APPLICATION_METHOD_DIP: coating.Dip,
		typev1.ApplicationMethod_APPLICATION_METHOD_AIR_SPRAY: coating.AirSpray, typev1.ApplicationMethod_APPLICATION_METHOD_AIRLESS: coating.Airless,
		typev1.ApplicationMethod_APPLICATION_METHOD_AIR_ASSISTED_AIRLESS: coating.AirAssistedAirless, typev1.ApplicationMethod_APPLICATION_METHOD_HVLP: coating.HVLP,
	}
)

// decodeProduct reads what materials says of a product.
func decodeProduct(i id.ID, m *materialsv1.Product) (workflow.PlanProduct, error) {
	p := workflow.PlanProduct{ID: i, Name: m.DisplayName, Sheet: decodeSheet(m.CoatingSheet)}
	if m.OnHand == nil {
		return p, nil
	}
	q, err := quantity.Parse(m.OnHand.Value, m.OnHand.Unit)
	if err == nil {
		p.OnHand = workflow.NewPlanAmount(q)
	}
	return p, err
}

// decodeSheet reads an absent sheet as none.
func decodeSheet(m *typev1.CoatingSheet) *workflow.Sheet {
	if m == nil {
		return nil
	}
	return &workflow.Sheet{
		Family: families[m.Family], Carrier: carriers[m.Carrier], Light: m.Light, BlocksStains: m.BlocksStains, Method: methods[m.Method],
		SolidsPercent: m.VolumeSolidsPercent, DryFilmUm: m.DryFilmUm, ThinningPercent: m.ThinningPercent,
		TransferPercent: m.TransferPercent, LossPerSetUpLitres: m.LossPerSetUpLitres,
		ReferenceCelsius: m.ReferenceCelsius, ReferenceHumidity: m.ReferenceHumidityPercent, RatePerTenCelsius: m.RatePerTenCelsius,
		SetToTouch: minutes(m.SetToTouchMinutes), TackFree: minutes(m.TackFreeMinutes), Sand: minutes(m.SandMinutes),
		Recoat: minutes(m.RecoatMinutes), RecoatCloses: minutes(m.RecoatClosesMinutes), Cure: minutes(m.CureMinutes),
		MinCelsius: m.MinCelsius, MaxCelsius: m.MaxCelsius, MaxHumidity: m.MaxHumidityPercent,
	}
}
