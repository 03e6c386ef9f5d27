package cli

import (
	"errors"
	"fmt"

	"tackfree/pkg/climate"
	"tackfree/pkg/dimension"
)

type emcCmd struct {
	output
	Temp     celsius  `help:"Temperature of the air, such as 70F or 21C: 30F to 140F." required:"" placeholder:"TEMP"`
	RH       *percent `name:"rh" help:"Relative humidity in percent, 0.1 to 100." placeholder:"PERCENT" xor:"way"`
	Moisture *percent `help:"Moisture content that is wanted, in percent of the dry mass." placeholder:"PERCENT" xor:"way"`
}

func (c *emcCmd) Run(e *env) error {
	if err := dimension.Within("air temperature", float64(c.Temp), climate.MinWoodCelsius, climate.MaxCelsius, "°C"); err != nil {
		return err
	}
	switch {
	case c.Moisture != nil:
		rh, err := climate.HumidityFor(float64(*c.Moisture), float64(c.Temp))
		if err != nil {
			return err
		}
		return c.figures(e, map[string]float64{"rh_percent": rh}, func() string {
			return fmt.Sprintf("At %.1f °C wood comes to %.1f %% in air of %.1f %% relative humidity.", c.Temp, *c.Moisture, rh)
		})
	case c.RH == nil:
		return errors.New("say the humidity of the air with --rh, or the moisture that is wanted with --moisture")
	}
	air, err := climate.NewAir(float64(c.Temp), float64(*c.RH))
	if err != nil {
		return err
	}
	emc, err := air.EquilibriumMoisture()
	if err != nil {
		return err
	}
	return c.figures(e, map[string]float64{"emc_percent": emc}, func() string {
		return fmt.Sprintf("Wood comes to %.1f %% of its dry mass in air of %.1f °C and %.0f %%.", emc, c.Temp, *c.RH)
	})
}

type dewpointCmd struct {
	output
	Temp    celsius  `help:"Temperature of the air, such as 70F or 21C: -40C to 60C." required:"" placeholder:"TEMP"`
	RH      *percent `name:"rh" help:"Relative humidity in percent, 0.1 to 100; or give --wet-bulb." placeholder:"PERCENT" xor:"water"`
	WetBulb *celsius `help:"Wet bulb of a ventilated psychrometer, at sea level and above freezing." placeholder:"TEMP" xor:"water"`
	Surface *celsius `help:"Temperature of the surface to coat, -40C to 60C; without it, that of the air." placeholder:"TEMP"`
}

func (c *dewpointCmd) Run(e *env) error {
	air, err := c.air()
	if err != nil {
		return err
	}
	surface := c.Temp
	if c.Surface != nil {
		surface = *c.Surface
	}
	v, err := climate.Judge(air, float64(surface), climate.DefaultLimits)
	if err != nil {
		return err
	}
	figures := struct {
		DewPoint  float64            `json:"dew_point_c"`
		Humidity  float64            `json:"rh_percent"`
		Spread    float64            `json:"spread_c"`
		Deficit   float64            `json:"vapour_pressure_deficit_hpa"`
		Absolute  float64            `json:"absolute_humidity_g_per_m3"`
		Go        bool               `json:"fit_for_coating"`
		Obstacles []climate.Obstacle `json:"obstacles"`
	}{v.DewPoint, air.Humidity(), v.Spread, air.Deficit(), air.AbsoluteHumidity(), v.Go(), append([]climate.Obstacle{}, v.Obstacles...)}
	return c.figures(e, figures, func() string {
		return fmt.Sprintf("The dew point of air of %.1f °C and %.0f %% is %.1f °C. It is %s.", air.Celsius(), air.Humidity(), v.DewPoint, v)
	})
}

func (c *dewpointCmd) air() (climate.Air, error) {
	switch {
	case c.WetBulb != nil:
		return climate.FromWetBulb(float64(c.Temp), float64(*c.WetBulb), 1013)
	case c.RH == nil:
		return climate.Air{}, errors.New("say the humidity of the air with --rh or with --wet-bulb")
	}
	return climate.NewAir(float64(c.Temp), float64(*c.RH))
}
