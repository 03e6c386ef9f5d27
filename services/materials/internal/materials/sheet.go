package materials

import (
	"time"

	"tackfree/pkg/coating"
	"tackfree/pkg/drying"
	"tackfree/pkg/fault"
	"tackfree/pkg/finish"
)

// Sheet is what the data sheet of a coating says, as far as anybody plans or computes with
// it. Shares are percent. A zero is what the sheet does not say; where there is a usual
// value, that holds.
type Sheet struct {
	Family       finish.Family
	Carrier      drying.Carrier
	Light        bool           // of a light colour, on which bleeding shows
	BlocksStains bool           // holds tannin and old colour back
	Method       coating.Method // how the shop puts it on

	SolidsPercent      float64 // by volume, as sold
	DryFilmUm          float64 // of one coat, µm; 0: it leaves none that can be measured
	ThinningPercent    float64 // thinner as a share of the volume
	TransferPercent    float64 // of the solids used, what ends up on the piece; 0: the usual for the method
	LossPerSetUpLitres float64 // what each filling and cleaning of the tool loses

	ReferenceCelsius  float64 // of the air that the times are for; 0: 25 °C
	ReferenceHumidity float64 // percent; 0: 50 %
	RatePerTenCelsius float64 // how many times faster for each 10 °C more; 0: the usual law

	SetToTouch, TackFree, Sand time.Duration
	Recoat                     time.Duration // from when on it takes another coat
	RecoatCloses               time.Duration // until when it takes one without scuffing; 0: for ever
	Cure                       time.Duration

	MinCelsius, MaxCelsius, MaxHumidity float64 // that it may be put on in; all 0: the usual limits

	VOCGramsPerLitre float64 // as sold
}

// SetSheet says what the product's data sheet says; nil says that it is no coating. A
// sheet that is taken can be computed with: the films, the drying, the bonds and the air
// are tried on it. Faults at fields of coating_sheet: NOT_STATED, OUT_OF_RANGE,
// STATED_OUT_OF_ORDER.
func (p *Product) SetSheet(sheet *Sheet) ([]Fact, error) {
	if sheet != nil {
		if err := sheet.check(); err != nil {
			return nil, err
		}
	}
	p.Sheet = sheet
	return p.tell(SheetSet{}), nil
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
	return fault.New(fault.Invalid, "NOT_STATED", "The sheet does not say %s; look it up in the maker's data sheet.", what).At("coating_sheet." + field)
}
