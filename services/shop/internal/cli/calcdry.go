package cli

import (
	"fmt"
	"math"
	"time"

	"tackfree/pkg/climate"
	"tackfree/pkg/dimension"
	"tackfree/pkg/drying"
)

type dryCmd struct {
	output
	Carrier    string      `help:"What it dries by: water, solvent, oil or two-part." required:""`
	Stated     hour        `help:"The time that the maker states, such as 90min or 4h, at most 90d." required:"" placeholder:"TIME"`
	StatedTemp celsius     `help:"What that time is for: 5C to 60C. Default ${default}." default:"25C"`
	StatedRH   percent     `name:"stated-rh" help:"What that time is for, in percent, 5 to 95. Default ${default}." default:"50"`
	StatedFilm micrometre  `help:"The wet film that it is for: 1um to 5mm. Default ${default}." default:"100um"`
	MinTemp    *celsius    `help:"The lowest temperature that the maker allows, -20C up to --stated-temp; without it, 4.4C (40F)." placeholder:"TEMP"`
	Temp       celsius     `help:"Temperature of the air here, such as 60F: -40C to 60C." required:"" placeholder:"TEMP"`
	RH         percent     `name:"rh" help:"Relative humidity here, in percent, 0.1 to 100." required:"" placeholder:"PERCENT"`
	Film       *micrometre `help:"The wet film here, 1um to 5mm; without it, as stated." placeholder:"FILM"`
}

func (c *dryCmd) Run(e *env) error {
	air, err := climate.NewAir(float64(c.Temp), float64(c.RH))
	if err != nil {
		return err
	}
	p, err := c.product()
	if err != nil {
		return err
	}
	var start time.Time
	curve, err := drying.Trace(p.Kinetics, []drying.Reading{{At: start, Air: air}})
	if err != nil {
		return err
	}
	coat := drying.Coat{At: start}
	if c.Film != nil {
		coat.FilmUm = float64(*c.Film)
	}
	windows, err := p.Forecast(curve, coat)
	if err != nil {
		return err
	}
	return c.window(e, p.Kinetics, air, windows[drying.DryToRecoat])
}

// product is what the flags say of it. What is 0 there was typed, and does not stand for a
// default.
func (c *dryCmd) product() (p drying.Product, err error) {
	if err := c.check(); err != nil {
		return p, err
	}
	p = drying.Product{Kinetics: drying.Kinetics{Carrier: drying.Carrier(c.Carrier), ReferenceCelsius: float64(c.StatedTemp), ReferenceHumidity: float64(c.StatedRH)},
		FilmUm: float64(c.StatedFilm)}
	if c.MinTemp != nil {
		p.MinCelsius = float64(*c.MinTemp)
		if p.MinCelsius == 0 {
			p.MinCelsius = math.SmallestNonzeroFloat64 // freezing itself, and not the default
		}
	}
	p.Stated[drying.DryToRecoat] = time.Duration(float64(c.Stated) * float64(time.Hour))
	return p, nil
}

func (c *dryCmd) check() error {
	if err := dimension.Above("--stated", float64(c.Stated), 0, drying.MaxStated.Hours(), "h"); err != nil {
		return err
	}
	if err := dimension.Within("--stated-temp", float64(c.StatedTemp), drying.MinReferenceCelsius, drying.MaxReferenceCelsius, "°C"); err != nil {
		return err
	}
	if err := dimension.Within("--stated-rh", float64(c.StatedRH), drying.MinReferenceHumidity, drying.MaxReferenceHumidity, "%"); err != nil {
		return err
	}
	if err := dimension.Within("--stated-film", float64(c.StatedFilm), drying.MinFilmUm, drying.MaxFilmUm, "µm"); err != nil {
		return err
	}
	if c.Film != nil {
		return dimension.Within("--film", float64(*c.Film), drying.MinFilmUm, drying.MaxFilmUm, "µm")
	}
	return nil
}

// window prints when it is; nothing, if it never is.
func (c *dryCmd) window(e *env, k drying.Kinetics, air climate.Air, w drying.Window) error {
	cold, err := k.TooCold(air)
	if err != nil {
		return err
	}
	hours := func(t time.Time) *float64 {
		if t.IsZero() {
			return nil
		}
		return number(t.Sub(time.Time{}).Hours())
	}
	figures := struct {
		Early  *float64 `json:"early_h"`
		Likely *float64 `json:"likely_h"`
		Late   *float64 `json:"late_h"`
		Cold   bool     `json:"too_cold"`
	}{hours(w.Early), hours(w.Likely), hours(w.Late), cold}
	return c.figures(e, figures, func() string {
		return dryWords(figures.Early, figures.Likely, figures.Late, cold) + coldWords(k, air, cold)
	})
}

func dryWords(early, likely, late *float64, cold bool) string {
	switch never := early == nil || likely == nil || late == nil; {
	case never && cold:
		return "At this temperature it does not dry."
	case never:
		return "In this air it does not dry: warm the room, or take water out of the air."
	}
	return fmt.Sprintf("Most likely after %.1f h; nine times in ten not before %.1f h, and nine in ten by %.1f h.", *likely, *early, *late)
}

func coldWords(k drying.Kinetics, air climate.Air, cold bool) string {
	if !cold {
		return ""
	}
	lowest, err := k.Lowest()
	if err != nil {
		return ""
	}
	return fmt.Sprintf(" At %.1f °C it is colder than the %.1f °C that it needs at least: drying and cure nearly stop, the film may stay soft for good, and these times are not to be relied upon. Warm the room before coating.",
		air.Celsius(), lowest)
}
