package coating

import "tackfree/pkg/dimension"

const (
	maxArea  = 10_000 // m²
	maxCoats = 100
)

// Job is an area to coat.
type Job struct {
	AreaM2             float64 // above 0 to 10,000
	Coats              int     // 1 to 100
	DryFilmUm          float64 // of each coat; above 0 to 10,000
	SolidsPercent      float64 // by volume, of the product as it is sold; above 0 to 100
	ThinningPercent    float64 // thinner as a share of the product's volume; 0 to 500
	TransferPercent    float64 // of the solids, that ends up on the piece; above 0 to 100
	SetUps             int     // how often the tool is filled and cleaned; 0 to 100
	LossPerSetUpLitres float64 // of the thinned product, in the tool and the hose; 0 to 20
}

// Need is what a job takes.
type Need struct {
	Litres          float64 // of the product as it is sold
	ThinnerLitres   float64 // beside Litres
	SpreadingRate   float64 // m²/L of the product, with nothing lost
	PracticalRate   float64 // m²/L of the product, with what the method loses
	WetFilmUm       float64
	LossLitres      float64 // of Litres, what set-ups take
	OversprayLitres float64 // of Litres, what the method loses
}

// Need computes what the job takes: area × coats ÷ (spreading rate × transfer efficiency),
// and the loss of each set-up. Fault: OUT_OF_RANGE, which names the figure. Source: that of
// SpreadingRate; what is lost is common practice unless the shop measured it.
func (j Job) Need() (Need, error) {
	if err := j.check(); err != nil {
		return Need{}, err
	}
	rate, err := SpreadingRate(j.SolidsPercent, j.DryFilmUm)
	if err != nil {
		return Need{}, err
	}
	wet, err := WetFilm(j.DryFilmUm, j.SolidsPercent, j.ThinningPercent)
	if err != nil {
		return Need{}, err
	}
	n := Need{SpreadingRate: rate, PracticalRate: rate * j.TransferPercent / 100, WetFilmUm: wet}
	onPiece := j.AreaM2 * float64(j.Coats) / n.SpreadingRate
	used := j.AreaM2 * float64(j.Coats) / n.PracticalRate
	n.OversprayLitres = used - onPiece
	n.LossLitres = float64(j.SetUps) * j.LossPerSetUpLitres / (1 + j.ThinningPercent/100)
	n.Litres = used + n.LossLitres
	n.ThinnerLitres = n.Litres * j.ThinningPercent / 100
	return n, nil
}

func (j Job) check() error {
	if err := dimension.Above("area", j.AreaM2, 0, maxArea, "m²"); err != nil {
		return err
	}
	if err := dimension.Within("coats", float64(j.Coats), 1, maxCoats, ""); err != nil {
		return err
	}
	if err := dimension.Above("transfer efficiency", j.TransferPercent, 0, 100, "%"); err != nil {
		return err
	}
	if err := dimension.Within("set-ups", float64(j.SetUps), 0, maxCoats, ""); err != nil {
		return err
	}
	return dimension.Within("loss of a set-up", j.LossPerSetUpLitres, 0, 20, "L")
}
