// Package datasheet is what a coating's maker states of it, and what that means to those
// who compute with it. Trade, pure.
//
//	Sheet ─▶ Check: every trade that will compute with it tries it  (check.go)
//	      ─▶ Product: to the rules of layers         (package finish)
//	      ─▶ Dries: to the dry clock                 (package drying)
//	      ─▶ Limits: to the judgement of the air     (package climate)
package datasheet

import (
	"cmp"
	"time"

	"tackfree/pkg/climate"
	"tackfree/pkg/coating"
	"tackfree/pkg/drying"
	"tackfree/pkg/finish"
)

// Sheet is what the data sheet of a coating says, as far as anybody plans or computes with
// it. Shares are percent, films µm. A zero is what the sheet does not say; where there is a
// usual value, that holds.
type Sheet struct {
	Family       finish.Family  `json:"family"`
	Carrier      drying.Carrier `json:"carrier"`
	Light        bool           `json:"light"`         // of a light colour, on which bleeding shows
	BlocksStains bool           `json:"blocks_stains"` // holds tannin and old colour back
	Method       coating.Method `json:"method"`        // how the shop puts it on

	SolidsPercent      float64 `json:"solids_percent"`         // by volume, as sold
	DryFilmUm          float64 `json:"dry_film_um"`            // of one coat; 0: it leaves none that can be measured
	ThinningPercent    float64 `json:"thinning_percent"`       // thinner as a share of the volume
	TransferPercent    float64 `json:"transfer_percent"`       // of the solids used, what ends up on the piece; 0: the usual for the method
	LossPerSetUpLitres float64 `json:"loss_per_set_up_litres"` // what each filling and cleaning of the tool loses

	ReferenceCelsius  float64 `json:"reference_celsius"`    // of the air that the times are for; 0: 25 °C
	ReferenceHumidity float64 `json:"reference_humidity"`   // percent; 0: 50 %
	RatePerTenCelsius float64 `json:"rate_per_ten_celsius"` // how many times faster for each 10 °C; 0: the usual law

	SetToTouch   time.Duration `json:"set_to_touch"`
	TackFree     time.Duration `json:"tack_free"`
	Sand         time.Duration `json:"sand"`
	Recoat       time.Duration `json:"recoat"`        // from when on it takes another coat
	RecoatCloses time.Duration `json:"recoat_closes"` // until when it takes one without scuffing; 0: for ever
	Cure         time.Duration `json:"cure"`

	// The air and the surface that it may be put on in; all 0: the usual limits.
	MinCelsius  float64 `json:"min_celsius"`
	MaxCelsius  float64 `json:"max_celsius"`
	MaxHumidity float64 `json:"max_humidity"`

	VOCGramsPerLitre float64 `json:"voc_grams_per_litre"` // as sold
}

// Product is the coating as the rules of layers see it, without a name.
func (s Sheet) Product() finish.Product {
	return finish.Product{Family: s.Family, Light: s.Light, BlocksStains: s.BlocksStains, Recoat: s.Recoat, RecoatCloses: s.RecoatCloses, Cure: s.Cure,
		Method: s.Method, SolidsPercent: s.SolidsPercent, DryFilmUm: s.DryFilmUm, ThinningPercent: s.ThinningPercent,
		TransferPercent: s.TransferPercent, LossPerSetUpLitres: s.LossPerSetUpLitres}
}

// some stands for the film of a product that leaves none to be measured, µm: nothing
// depends on how thick that is.
const some = 1

// Dries is how a coat dries that is laid as the sheet asks, thinned as the shop thins it.
func (s Sheet) Dries() drying.Product {
	p := drying.Product{FilmUm: s.WetFilm(s.DryFilmUm), Kinetics: drying.Kinetics{Carrier: s.Carrier, ReferenceCelsius: s.ReferenceCelsius,
		ReferenceHumidity: s.ReferenceHumidity, Q10: s.RatePerTenCelsius, MinCelsius: s.lowest()}}
	if p.FilmUm == 0 {
		p.FilmUm = some
	}
	for m, stated := range map[drying.Milestone]time.Duration{drying.SetToTouch: s.SetToTouch, drying.TackFree: s.TackFree, drying.DryToSand: s.Sand,
		drying.DryToRecoat: s.Recoat, drying.RecoatCloses: s.RecoatCloses, drying.Cured: s.Cure} {
		p.Stated[m] = stated
	}
	return p
}

// lowest is the temperature under which it hardly dries, as far as the sheet tells: nothing
// is put on colder, and nothing is tried warmer. 0: it does not tell.
func (s Sheet) lowest() float64 {
	return min(s.MinCelsius, cmp.Or(s.ReferenceCelsius, drying.DefaultReferenceCelsius))
}

// Limits is the air that it may be put on in: the usual where the sheet says nothing.
func (s Sheet) Limits() climate.Limits {
	if s.MinCelsius == 0 && s.MaxCelsius == 0 && s.MaxHumidity == 0 {
		return climate.DefaultLimits
	}
	return climate.Limits{MinCelsius: s.MinCelsius, MaxCelsius: s.MaxCelsius, MaxHumidity: s.MaxHumidity, Spread: climate.DefaultLimits.Spread}
}

// WetFilm is how thick, µm, a coat stands wet, thinned as the shop thins it, that dries to a
// film; 0: there is none, or it cannot be told.
func (s Sheet) WetFilm(dryFilmUm float64) float64 {
	if dryFilmUm == 0 || s.SolidsPercent == 0 {
		return 0
	}
	wet, err := coating.WetFilm(dryFilmUm, s.SolidsPercent, s.ThinningPercent)
	if err != nil {
		return 0 // a film that cannot be: the maker's holds
	}
	return wet
}
