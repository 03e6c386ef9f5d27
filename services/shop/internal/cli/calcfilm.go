package cli

import (
	"fmt"

	"tackfree/pkg/coating"
)

type coverageCmd struct {
	output
	Area     squareM    `help:"Area to coat, such as 36ft2 or 3.3m2." required:"" placeholder:"AREA"`
	Coats    int        `help:"How many coats." default:"1"`
	Solids   percent    `help:"Volume solids of the product, in percent." required:"" placeholder:"PERCENT"`
	DFT      micrometre `name:"dft" help:"Dry film of each coat, such as 1.5mil or 40um." required:"" placeholder:"FILM"`
	Transfer *percent   `help:"Share of the solids that ends up on the piece, in percent; or say the --method." placeholder:"PERCENT" xor:"transfer"`
	Method   string     `help:"How it is applied, for a usual share: brush, roller, wipe, dip, air spray, airless, air-assisted airless, hvlp." xor:"transfer"`
	Thinning percent    `help:"Thinner, in percent of the product's volume." default:"0"`
	SetUps   int        `help:"How often the tool is filled and cleaned." default:"0"`
	Loss     litre      `help:"What each of those loses, such as 30mL." default:"0L" placeholder:"VOLUME"`
}

func (c *coverageCmd) Run(e *env) error {
	j := coating.Job{AreaM2: float64(c.Area), Coats: c.Coats, DryFilmUm: float64(c.DFT), SolidsPercent: float64(c.Solids),
		ThinningPercent: float64(c.Thinning), SetUps: c.SetUps, LossPerSetUpLitres: float64(c.Loss), TransferPercent: 100}
	var err error
	switch {
	case c.Transfer != nil:
		j.TransferPercent = float64(*c.Transfer)
	case c.Method != "":
		if j.TransferPercent, err = coating.Method(c.Method).TransferEfficiency(); err != nil {
			return err
		}
	}
	n, err := j.Need()
	if err != nil {
		return err
	}
	ounces, err := coating.FluidOunces(n.Litres)
	if err != nil {
		return err
	}
	figures := map[string]float64{"litres": n.Litres, "fluid_ounces": ounces, "thinner_litres": n.ThinnerLitres, "spreading_rate_m2_per_l": n.SpreadingRate,
		"practical_rate_m2_per_l": n.PracticalRate, "wet_film_um": n.WetFilmUm}
	return c.figures(e, figures, func() string {
		return fmt.Sprintf("It takes %.2f L (%.1f fl oz) of the product and %.2f L of thinner. A coat stands %.0f µm (%.1f mil) wet; a litre covers %.1f m² with nothing lost, %.1f m² with what is lost in the air.",
			n.Litres, ounces, n.ThinnerLitres, n.WetFilmUm, n.WetFilmUm/25.4, n.SpreadingRate, n.PracticalRate)
	})
}

type vocCmd struct {
	output
	Density       gramsPerL `help:"Density of the coating, such as 1.02kg/L or 8.5lb/gal." required:"" placeholder:"DENSITY"`
	Solids        percent   `help:"What stays, in percent of the mass." required:"" placeholder:"PERCENT"`
	Water         percent   `help:"Water, in percent of the mass." default:"0"`
	Exempt        percent   `help:"Exempt compounds, in percent of the mass." default:"0"`
	ExemptDensity gramsPerL `help:"Density of those." default:"800g/L" placeholder:"DENSITY"`
	Volume        *litre    `help:"How much is used, for what it lets go." placeholder:"VOLUME"`
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
