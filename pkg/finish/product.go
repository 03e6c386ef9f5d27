package finish

import (
	"math"
	"time"

	"tackfree/pkg/coating"
	"tackfree/pkg/dimension"
	"tackfree/pkg/fault"
)

// Product is a coating as the rules see it, and what a need of it is computed from.
type Product struct {
	ID           string // the caller's own name for it, kept as it is
	Name         string
	Family       Family
	Light        bool          // of a light colour, on which bleeding shows
	BlocksStains bool          // holds tannin and old colour back
	Recoat       time.Duration // from when on it takes another coat
	RecoatCloses time.Duration // until when without scuffing; 0: for ever
	Cure         time.Duration // until it takes hardware, stacking and delivery

	Method             coating.Method // how it is brought on; empty: by brush
	SolidsPercent      float64        // by volume, as sold; 0: not known
	DryFilmUm          float64        // of one coat; 0: not known
	ThinningPercent    float64        // thinner as a share of its volume
	TransferPercent    float64        // of the solids, that ends up on the piece; 0: what is usual for the method
	LossPerSetUpLitres float64        // of what is thinned, in the tool and the hose
}

func (p Product) check() error {
	if err := p.Family.check(); err != nil {
		return err
	}
	if err := dimension.Within("dry to recoat", p.Recoat.Hours(), 0, 30*24, "h"); err != nil {
		return err
	}
	if p.RecoatCloses != 0 {
		if err := dimension.Within("recoat window closes", p.RecoatCloses.Hours(), p.Recoat.Hours(), 90*24, "h"); err != nil {
			return err
		}
	}
	if err := dimension.Within("cured", p.Cure.Hours(), p.Recoat.Hours(), 90*24, "h"); err != nil {
		return err
	}
	_, err := p.litres(1)
	return err
}

// stated refuses a coating of which nobody knows when it takes another coat, or when it has
// cured: a plan with it would wait for nothing. Fault: NOT_STATED.
func (p Product) stated() error {
	for _, time := range []struct {
		name  string
		known bool
	}{{"until it takes another coat", p.Recoat != 0}, {"until it has cured", p.Cure != 0}} {
		if !time.known {
			return fault.New(fault.Precondition, "NOT_STATED", "Nobody stated how long %s dries %s; enter the time from its data sheet.", p.Name, time.name).At("products").With("product", p.Name)
		}
	}
	return nil
}

// method is how the product is brought on.
func (p Product) method() coating.Method {
	if p.Method == "" {
		return coating.Brush
	}
	return p.Method
}

func (p Product) sprayed() bool {
	switch p.Method {
	case coating.AirSpray, coating.Airless, coating.AirAssistedAirless, coating.HVLP:
		return true
	}
	return false
}

// measured reports whether enough is known of the product to compute what a coat takes.
func (p Product) measured() bool { return p.SolidsPercent != 0 && p.DryFilmUm != 0 }

// litres is what one coat of an area (m²) takes of the product as it is sold, with one
// filling of the tool; 0 where the area or the product is not known. Faults: OUT_OF_RANGE,
// METHOD_UNKNOWN.
func (p Product) litres(areaM2 float64) (float64, error) {
	transfer, err := p.method().TransferEfficiency()
	if err != nil || !p.measured() || areaM2 == 0 {
		return 0, err
	}
	if p.TransferPercent != 0 {
		transfer = p.TransferPercent
	}
	need, err := coating.Job{AreaM2: areaM2, Coats: 1, DryFilmUm: p.DryFilmUm, SolidsPercent: p.SolidsPercent, ThinningPercent: p.ThinningPercent,
		TransferPercent: transfer, SetUps: 1, LossPerSetUpLitres: p.LossPerSetUpLitres}.Need()
	return need.Litres, err
}

// wetFilm is how thick a coat stands wet, in µm; 0: not known, or wiped off.
func (p Product) wetFilm() float64 {
	if !p.measured() || p.Method == coating.Wipe { // what is wiped leaves a film that does not run
		return 0
	}
	wet, _ := coating.WetFilm(p.DryFilmUm, p.SolidsPercent, p.ThinningPercent) // it was checked
	return wet
}

// shellacTie is the tie coat and stain block that every shop can mix. Times: US Army TM
// 43-0139, paragraph 2-23.
var shellacTie = Product{Name: "dewaxed shellac", Family: DewaxedShellac, BlocksStains: true, Recoat: 150 * time.Minute, Cure: 24 * time.Hour}

// ShopShellac is the dewaxed shellac that every shop mixes: what a tie coat, a seal and a
// stain block are made of where the palette has nothing else. It has no ID.
func ShopShellac() Product { return shellacTie }

// maxWetUm is how thick a coat may stand wet. Common practice on furniture: 6 mil; more
// runs on what stands upright, and stays soft.
const maxWetUm = 150

// thin is the product in coats so thin that none sags.
func (p Product) thin() Product {
	p.DryFilmUm /= float64(p.passes())
	return p
}

// passes is in how many thin coats one of the film that is wanted goes on.
func (p Product) passes() int {
	return max(1, int(math.Ceil(p.wetFilm()/maxWetUm-1e-9)))
}
