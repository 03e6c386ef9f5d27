package cli

import (
	"fmt"
	"strings"

	"tackfree/pkg/coating"
)

type coverageCmd struct {
	output
	Area     squareM    `help:"Area to coat, such as 36ft2 or 3.3m2." required:"" placeholder:"AREA"`
	Coats    int        `help:"How many coats, 1 to 100. Default ${default}." default:"1"`
	Solids   percent    `help:"Volume solids of the product, in percent." required:"" placeholder:"PERCENT"`
	DFT      micrometre `name:"dft" help:"Dry film of each coat, such as 1.5mil or 40um." required:"" placeholder:"FILM"`
	Transfer *percent   `help:"Share of the solids that ends up on the piece, in percent; or say the --method. Without both, 100, and the answer says so." placeholder:"PERCENT" xor:"transfer"`
	Method   *string    `help:"How it is applied, for a usual share: brush, roller, wipe, dip, air spray, airless, air-assisted airless, hvlp." xor:"transfer"`
	Thinning percent    `help:"Thinner, in percent of the product's volume, 0 to 500. Default ${default}." default:"0"`
	SetUps   *int       `help:"How often the tool is filled and cleaned; without it, once if there is a --loss, and the answer says so."`
	Loss     *litre     `help:"What each of those loses, such as 30mL or 1floz; without it, nothing." placeholder:"VOLUME"`
}

// job is what the flags ask for, with what was assumed where they say nothing.
func (c *coverageCmd) job() (j coating.Job, assumed []string, err error) {
	j = coating.Job{AreaM2: float64(c.Area), Coats: c.Coats, DryFilmUm: float64(c.DFT), SolidsPercent: float64(c.Solids), ThinningPercent: float64(c.Thinning)}
	switch {
	case c.Transfer != nil:
		j.TransferPercent = float64(*c.Transfer)
	case c.Method != nil:
		j.TransferPercent, err = coating.Method(*c.Method).TransferEfficiency()
	default:
		j.TransferPercent = 100
		assumed = append(assumed, "all of the solids end up on the piece (100 %; say --method or --transfer)")
	}
	if c.Loss != nil {
		j.LossPerSetUpLitres = float64(*c.Loss)
	}
	switch {
	case c.SetUps != nil:
		j.SetUps = *c.SetUps
	case c.Loss != nil:
		j.SetUps = 1
		assumed = append(assumed, "the tool is set up once (say --set-ups)")
	}
	if c.Loss == nil && j.SetUps > 0 {
		assumed = append(assumed, "nothing is lost at a set-up (say --loss)")
	}
	return j, assumed, err
}

// coverage is the answer for scripts.
type coverage struct {
	Litres        float64  `json:"litres"`
	SpreadingRate float64  `json:"spreading_rate_m2_per_l"`
	FluidOunces   float64  `json:"fluid_ounces"`
	Thinner       float64  `json:"thinner_litres"`
	PracticalRate float64  `json:"practical_rate_m2_per_l"`
	WetFilm       float64  `json:"wet_film_um"`
	Loss          float64  `json:"loss_litres"`
	Transfer      float64  `json:"transfer_percent"`
	SetUps        int      `json:"set_ups"`
	Assumed       []string `json:"assumed"`
}

func (c *coverageCmd) Run(e *env) error {
	j, assumed, err := c.job()
	if err != nil {
		return err
	}
	n, err := j.Need()
	if err != nil {
		return err
	}
	ounces, err := coating.FluidOunces(n.Litres)
	if err != nil {
		return err
	}
	answer := coverage{Litres: n.Litres, SpreadingRate: n.SpreadingRate, FluidOunces: ounces, Thinner: n.ThinnerLitres, PracticalRate: n.PracticalRate, WetFilm: n.WetFilmUm,
		Loss: n.LossLitres, Transfer: j.TransferPercent, SetUps: j.SetUps, Assumed: append([]string{}, assumed...)}
	return c.figures(e, answer, answer.String)
}

// String is the answer for people.
func (c coverage) String() string {
	text := fmt.Sprintf("It takes %.2f L (%.1f fl oz) of the product and %.2f L of thinner. A coat stands %.0f µm (%.1f mil) wet; a litre covers %.1f m² with nothing lost, %.1f m² with what is lost in the air.",
		c.Litres, c.FluidOunces, c.Thinner, c.WetFilm, c.WetFilm/25.4, c.SpreadingRate, c.PracticalRate)
	if len(c.Assumed) > 0 {
		text += " Assumed: " + strings.Join(c.Assumed, "; ") + "."
	}
	return text
}

type vocCmd struct {
	output
	Density       gramsPerL `help:"Density of the coating, such as 1.02kg/L or 8.5lb/gal." required:"" placeholder:"DENSITY"`
	Solids        percent   `help:"What stays, in percent of the mass." required:"" placeholder:"PERCENT"`
	Water         percent   `help:"Water, in percent of the mass. Default ${default}." default:"0"`
	Exempt        percent   `help:"Exempt compounds, in percent of the mass. Default ${default}." default:"0"`
	ExemptDensity gramsPerL `help:"Density of those, 500g/L to 3000g/L. Default ${default}." default:"800g/L"`
	Volume        *litre    `help:"How much is used, such as 2L or 1qt, for what it lets go." placeholder:"VOLUME"`
}

func (c *vocCmd) Run(e *env) error {
	v, err := coating.Formula{DensityGL: float64(c.Density), SolidsPercent: float64(c.Solids), WaterPercent: float64(c.Water),
		ExemptPercent: float64(c.Exempt), ExemptDensityGL: float64(c.ExemptDensity)}.VOC()
	if err != nil {
		return err
	}
	figures := struct {
		Actual    float64  `json:"actual_g_per_l"`
		LessWater float64  `json:"less_water_g_per_l"`
		Emission  *float64 `json:"emission_g,omitempty"`
	}{Actual: v.Actual, LessWater: v.LessWater}
	text := fmt.Sprintf("A litre holds %.0f g of volatile compounds; %.0f g for each litre without water and exempt compounds, which is what limits are stated in.", v.Actual, v.LessWater)
	if c.Volume != nil {
		grams, err := coating.Emission(float64(*c.Volume), v.Actual)
		if err != nil {
			return err
		}
		figures.Emission = &grams
		text += fmt.Sprintf(" The job lets go %.0f g.", grams)
	}
	return c.figures(e, figures, func() string { return text })
}
