package materials

import (
	"time"

	"tackfree/pkg/climate"
	"tackfree/pkg/coating"
	"tackfree/pkg/drying"
	"tackfree/pkg/fault"
	"tackfree/pkg/finish"
)

// check computes with the sheet as others will: each trade knows its own ranges.
func (s Sheet) check() error {
	if err := s.states(); err != nil {
		return err
	}
	for _, try := range []func() error{s.tryFilm, s.tryDrying, s.tryBond, s.tryAir} {
		if err := try(); err != nil {
			return atSheet(err)
		}
	}
	return nil
}

// some is a film of which nothing depends on how thick it is, µm.
const some = 1

func (s Sheet) tryFilm() error {
	job := coating.Job{AreaM2: 1, Coats: 1, DryFilmUm: s.DryFilmUm, SolidsPercent: s.SolidsPercent, ThinningPercent: s.ThinningPercent,
		TransferPercent: s.TransferPercent, SetUps: 1, LossPerSetUpLitres: s.LossPerSetUpLitres}
	usual, err := s.Method.TransferEfficiency()
	if err != nil {
		return err
	}
	if s.TransferPercent == 0 {
		job.TransferPercent = usual
	}
	if s.DryFilmUm == 0 {
		job.DryFilmUm = some
	}
	if s.SolidsPercent == 0 {
		job.SolidsPercent = 100
	}
	if _, err := job.Need(); err != nil {
		return err
	}
	_, err = coating.Blend(coating.Part{Litres: 1, VOC: s.VOCGramsPerLitre})
	return err
}

// tryDrying forecasts a coat as it stands wet: as sold, and thinned.
func (s Sheet) tryDrying() error {
	air, err := climate.NewAir(25, 50)
	if err != nil {
		return err
	}
	p := drying.Product{FilmUm: some, Kinetics: drying.Kinetics{Carrier: s.Carrier, ReferenceCelsius: s.ReferenceCelsius,
		ReferenceHumidity: s.ReferenceHumidity, Q10: s.RatePerTenCelsius}}
	for m, stated := range map[drying.Milestone]time.Duration{drying.SetToTouch: s.SetToTouch, drying.TackFree: s.TackFree, drying.DryToSand: s.Sand,
		drying.DryToRecoat: s.Recoat, drying.RecoatCloses: s.RecoatCloses, drying.Cured: s.Cure} {
		p.Stated[m] = stated
	}
	curve, err := drying.Trace(p.Kinetics, []drying.Reading{{Air: air}})
	if err != nil {
		return err
	}
	for _, thinning := range []float64{0, s.ThinningPercent} {
		coat, err := s.coat(thinning)
		if err != nil {
			return err
		}
		if _, err := p.Forecast(curve, coat); err != nil {
			return err
		}
	}
	return nil
}

// coat is one as it stands wet; without a film, as the maker says.
func (s Sheet) coat(thinning float64) (drying.Coat, error) {
	if s.DryFilmUm == 0 {
		return drying.Coat{}, nil
	}
	wet, err := coating.WetFilm(s.DryFilmUm, s.SolidsPercent, thinning)
	return drying.Coat{FilmUm: wet}, err
}

func (s Sheet) tryBond() error {
	_, err := finish.Check(finish.Assessment{Material: finish.SolidWood}, []finish.Step{{Kind: finish.PaintCoat, Product: finish.Product{
		Family: s.Family, Light: s.Light, BlocksStains: s.BlocksStains, Recoat: s.Recoat, RecoatCloses: s.RecoatCloses, Cure: s.Cure}}})
	return err
}

func (s Sheet) tryAir() error {
	if s.MinCelsius == 0 && s.MaxCelsius == 0 && s.MaxHumidity == 0 {
		return nil
	}
	air, err := climate.NewAir(25, 50)
	if err != nil {
		return err
	}
	_, err = climate.Judge(air, air.Celsius(), climate.Limits{MinCelsius: s.MinCelsius, MaxCelsius: s.MaxCelsius, MaxHumidity: s.MaxHumidity,
		Spread: climate.DefaultLimits.Spread})
	return err
}

// fields are what the trades call the figures of a sheet, and where they are in it.
var fields = map[string]string{
	"family": "family", "carrier": "carrier", "method": "method",
	"volume solids": "volume_solids_percent", "dry film": "dry_film_um", "wet film": "dry_film_um", "thinning": "thinning_percent",
	"transfer efficiency": "transfer_percent", "loss of a set-up": "loss_per_set_up_litres", "VOC": "voc_grams_per_litre",
	"reference temperature": "reference_celsius", "reference humidity": "reference_humidity_percent", "factor for 10 °C": "rate_per_ten_celsius",
	"stated time, set to touch": "set_to_touch_minutes", "stated time, tack-free": "tack_free_minutes", "stated time, dry to sand": "sand_minutes",
	"stated time, dry to recoat": "recoat_minutes", "stated time, recoat window closes": "recoat_closes_minutes", "stated time, cured": "cure_minutes",
	"dry to recoat": "recoat_minutes", "recoat window closes": "recoat_closes_minutes", "cured": "cure_minutes",
	"lowest temperature": "min_celsius", "highest temperature": "max_celsius", "highest humidity": "max_humidity_percent",
}

// atSheet points a trade's fault at the field that it is about. Of two times in the wrong
// order either may be meant, so that is a fault of the sheet.
func atSheet(err error) error {
	f := fault.Of(err)
	if f == nil || len(f.Fields) == 0 {
		return err
	}
	if field := fields[f.Fields[0].Path]; field != "" {
		return f.At("coating_sheet." + field)
	}
	return f.At("coating_sheet")
}
