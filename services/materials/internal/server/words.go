package server

import (
	"tackfree/pkg/coating"
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
