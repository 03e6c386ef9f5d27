package wire

import (
	"time"

	"tackfree/pkg/coating"
	"tackfree/pkg/datasheet"
	"tackfree/pkg/drying"
	"tackfree/pkg/finish"
	typev1 "tackfree/proto/tackfree/type/v1"
)

// The words of the trades, by their numbers in the contract.
var (
	families = words[typev1.FilmFamily, finish.Family]{
		typev1.FilmFamily_FILM_FAMILY_SHELLAC: finish.Shellac, typev1.FilmFamily_FILM_FAMILY_DEWAXED_SHELLAC: finish.DewaxedShellac,
		typev1.FilmFamily_FILM_FAMILY_NITROCELLULOSE_LACQUER: finish.NitroLacquer, typev1.FilmFamily_FILM_FAMILY_CATALYSED_LACQUER: finish.CatalysedLacquer,
		typev1.FilmFamily_FILM_FAMILY_DRYING_OIL: finish.DryingOil, typev1.FilmFamily_FILM_FAMILY_OIL_VARNISH: finish.OilVarnish,
		typev1.FilmFamily_FILM_FAMILY_OIL_POLYURETHANE: finish.OilPolyurethane, typev1.FilmFamily_FILM_FAMILY_WATER_ACRYLIC: finish.WaterAcrylic,
		typev1.FilmFamily_FILM_FAMILY_WATER_POLYURETHANE: finish.WaterPolyurethane, typev1.FilmFamily_FILM_FAMILY_CHALK_PAINT: finish.ChalkPaint,
		typev1.FilmFamily_FILM_FAMILY_MILK_PAINT: finish.MilkPaint, typev1.FilmFamily_FILM_FAMILY_LATEX: finish.Latex,
		typev1.FilmFamily_FILM_FAMILY_WAX: finish.Wax, typev1.FilmFamily_FILM_FAMILY_TWO_PART: finish.TwoPart,
	}
	carriers = words[typev1.Carrier, drying.Carrier]{
		typev1.Carrier_CARRIER_WATER: drying.Water, typev1.Carrier_CARRIER_SOLVENT: drying.Solvent,
		typev1.Carrier_CARRIER_OIL: drying.Oil, typev1.Carrier_CARRIER_TWO_PART: drying.TwoPart,
	}
	methods = words[typev1.ApplicationMethod, coating.Method]{
		typev1.ApplicationMethod_APPLICATION_METHOD_BRUSH: coating.Brush, typev1.ApplicationMethod_APPLICATION_METHOD_ROLLER: coating.Roller,
		typev1.ApplicationMethod_APPLICATION_METHOD_WIPE: coating.Wipe, typev1.ApplicationMethod_APPLICATION_METHOD_DIP: coating.Dip,
		typev1.ApplicationMethod_APPLICATION_METHOD_AIR_SPRAY: coating.AirSpray, typev1.ApplicationMethod_APPLICATION_METHOD_AIRLESS: coating.Airless,
		typev1.ApplicationMethod_APPLICATION_METHOD_AIR_ASSISTED_AIRLESS: coating.AirAssistedAirless, typev1.ApplicationMethod_APPLICATION_METHOD_HVLP: coating.HVLP,
	}
)

// words are the numbers of an enum with what a trade calls them.
type words[E ~int32, W ~string] map[E]W

// number finds a word; each number has another.
func (w words[E, W]) number(word W) (e E) {
	for e, known := range w {
		if known == word {
			return e
		}
	}
	return e
}

// FromSheet reads an absent sheet as none, and an absent method as the brush.
func FromSheet(m *typev1.CoatingSheet) *datasheet.Sheet {
	if m == nil {
		return nil
	}
	s := &datasheet.Sheet{
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

// ToSheet writes no sheet as an absent one.
func ToSheet(s *datasheet.Sheet) *typev1.CoatingSheet {
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
