package workflow

import (
	"time"

	"tackfree/pkg/climate"
	"tackfree/pkg/coating"
	"tackfree/pkg/drying"
	"tackfree/pkg/finish"
	"tackfree/pkg/id"
)

// PlanProduct is a product as it was when the plan was made.
type PlanProduct struct {
	ID     id.ID       `json:"id"`
	Name   string      `json:"name"`
	Sheet  *Sheet      `json:"sheet,omitempty"` // nil: no coating, or nobody entered its sheet
	OnHand *PlanAmount `json:"-"`               // nil: not asked for
}

// Sheet is what a coating's data sheet says; a zero is what it does not say. Shares are
// percent, films µm.
type Sheet struct {
	Family             finish.Family  `json:"family"`
	Carrier            drying.Carrier `json:"carrier"`
	Light              bool           `json:"light"`
	BlocksStains       bool           `json:"blocks_stains"`
	Method             coating.Method `json:"method"`
	SolidsPercent      float64        `json:"solids_percent"`
	DryFilmUm          float64        `json:"dry_film_um"`
	ThinningPercent    float64        `json:"thinning_percent"`
	TransferPercent    float64        `json:"transfer_percent"`
	LossPerSetUpLitres float64        `json:"loss_per_set_up_litres"`
	ReferenceCelsius   float64        `json:"reference_celsius"`
	ReferenceHumidity  float64        `json:"reference_humidity"`
	RatePerTenCelsius  float64        `json:"rate_per_ten_celsius"`
	SetToTouch         time.Duration  `json:"set_to_touch"`
	TackFree           time.Duration  `json:"tack_free"`
	Sand               time.Duration  `json:"sand"`
	Recoat             time.Duration  `json:"recoat"`
	RecoatCloses       time.Duration  `json:"recoat_closes"`
	Cure               time.Duration  `json:"cure"`
	MinCelsius         float64        `json:"min_celsius"`
	MaxCelsius         float64        `json:"max_celsius"`
	MaxHumidity        float64        `json:"max_humidity"`
}

// seen is the product as the rules see it; one without a sheet is only its name.
func (p PlanProduct) seen() finish.Product {
	out := finish.Product{ID: p.ID.String(), Name: p.Name}
	if s := p.Sheet; s != nil {
		out.Family, out.Light, out.BlocksStains = s.Family, s.Light, s.BlocksStains
		out.Recoat, out.RecoatCloses, out.Cure = s.Recoat, s.RecoatCloses, s.Cure
		out.Method, out.SolidsPercent, out.DryFilmUm, out.ThinningPercent = s.Method, s.SolidsPercent, s.DryFilmUm, s.ThinningPercent
		out.TransferPercent, out.LossPerSetUpLitres = s.TransferPercent, s.LossPerSetUpLitres
	}
	return out
}

// leastFilm stands for the film of a product that leaves none to be measured, µm: nothing
// depends on how thick that is.
const leastFilm = 1

// coating is how the product dries and in what air it may be put on; nil for one without a
// sheet. Its times are taken for the film that the sheet asks for, thinned as the shop
// thins it.
func (p PlanProduct) coating() *Coating {
	s := p.Sheet
	if s == nil {
		return nil
	}
	c := &Coating{Limits: s.limits(), Dries: drying.Product{FilmUm: s.wetFilm(s.DryFilmUm), Kinetics: drying.Kinetics{
		Carrier: s.Carrier, ReferenceCelsius: s.ReferenceCelsius, ReferenceHumidity: s.ReferenceHumidity, Q10: s.RatePerTenCelsius}}}
	if c.Dries.FilmUm == 0 {
		c.Dries.FilmUm = leastFilm
	}
	for m, stated := range map[drying.Milestone]time.Duration{drying.SetToTouch: s.SetToTouch, drying.TackFree: s.TackFree, drying.DryToSand: s.Sand,
		drying.DryToRecoat: s.Recoat, drying.RecoatCloses: s.RecoatCloses, drying.Cured: s.Cure} {
		c.Dries.Stated[m] = stated
	}
	return c
}

// limits are the usual ones where the sheet says nothing of the air.
func (s Sheet) limits() climate.Limits {
	if s.MinCelsius == 0 && s.MaxCelsius == 0 && s.MaxHumidity == 0 {
		return climate.DefaultLimits
	}
	return climate.Limits{MinCelsius: s.MinCelsius, MaxCelsius: s.MaxCelsius, MaxHumidity: s.MaxHumidity, Spread: climate.DefaultLimits.Spread}
}

// wetFilm is how thick a coat stands wet that dries to a film; 0: not known.
func (s Sheet) wetFilm(dryFilmUm float64) float64 {
	if dryFilmUm == 0 || s.SolidsPercent == 0 {
		return 0
	}
	wet, err := coating.WetFilm(dryFilmUm, s.SolidsPercent, s.ThinningPercent)
	if err != nil {
		return 0 // a film that cannot be: the maker's holds
	}
	return wet
}
