package datasheet

import (
	"tackfree/pkg/climate"
	"tackfree/pkg/coating"
	"tackfree/pkg/drying"
	"tackfree/pkg/fault"
	"tackfree/pkg/finish"
)

// Check computes with the sheet as others will, each of which knows its own ranges. Faults
// at the names that the fields have in the contract: NOT_STATED, OUT_OF_RANGE,
// FAMILY_UNKNOWN, CARRIER_UNKNOWN, METHOD_UNKNOWN; STATED_OUT_OF_ORDER at none, for of two
// times either may be meant.
func (s Sheet) Check() error {
	if err := s.states(); err != nil {
		return err
	}
	for _, try := range []func() error{s.tryFilm, s.tryDrying, s.tryBond, s.tryAir} {
		if err := try(); err != nil {
			return atField(err)
		}
	}
	return nil
}

// soaksIn are the binders of stains, oils and waxes, which need not leave a film. Common
// practice.
var soaksIn = map[finish.Family]bool{
	finish.Wax: true, finish.DryingOil: true, finish.OilVarnish: true, finish.WaterAcrylic: true, finish.NitroLacquer: true,
}

// states refuses a sheet without what every plan and every estimate asks for.
func (s Sheet) states() error {
	switch {
	case s.DryFilmUm == 0 && !soaksIn[s.Family]:
		return notStated("dry_film_um", "how thick a coat of "+string(s.Family)+" is when it has dried; only a wax, an oil or a stain leaves no film")
	case s.SolidsPercent == 0 && s.DryFilmUm != 0:
		return notStated("volume_solids_percent", "the solids by volume, without which a film cannot be computed")
	case s.Recoat == 0:
		return notStated("recoat_minutes", "after what time it takes another coat")
	case s.Cure == 0:
		return notStated("cure_minutes", "after what time it has cured")
	}
	return nil
}

func notStated(field, what string) error {
	return fault.New(fault.Invalid, "NOT_STATED", "The sheet does not say %s; look it up in the maker's data sheet.", what).At(field)
}

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
	p := s.Dries()
	p.FilmUm = some
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
		Name: "coating", Family: s.Family, Recoat: s.Recoat, RecoatCloses: s.RecoatCloses, Cure: s.Cure}}})
	return err
}

func (s Sheet) tryAir() error {
	air, err := climate.NewAir(25, 50)
	if err != nil {
		return err
	}
	_, err = climate.Judge(air, air.Celsius(), s.Limits())
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

// atField points a trade's fault at the field that it is about.
func atField(err error) error {
	f := fault.Of(err)
	if f == nil || len(f.Fields) == 0 {
		return err
	}
	return f.At(fields[f.Fields[0].Path])
}
