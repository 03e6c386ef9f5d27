package cli

import (
	"fmt"
	"strings"
	"time"

	"tackfree/pkg/climate"
	"tackfree/pkg/drying"
	"tackfree/pkg/finish"
)

type dryCmd struct {
	output
	Carrier    string     `help:"What it dries by: water, solvent, oil or two-part." required:""`
	Stated     hour       `help:"The time that the maker states, such as 90min or 4h." required:"" placeholder:"TIME"`
	StatedTemp celsius    `help:"What that time is for." default:"25C" placeholder:"TEMP"`
	StatedRH   percent    `name:"stated-rh" help:"What that time is for, in percent." default:"50"`
	StatedFilm micrometre `help:"The wet film that it is for." default:"100um" placeholder:"FILM"`
	Temp       celsius    `help:"Temperature of the air here." required:"" placeholder:"TEMP"`
	RH         percent    `name:"rh" help:"Relative humidity here, in percent." required:"" placeholder:"PERCENT"`
	Film       micrometre `help:"The wet film here; without it, as stated." placeholder:"FILM"`
}

func (c *dryCmd) Run(e *env) error {
	air, err := climate.NewAir(float64(c.Temp), float64(c.RH))
	if err != nil {
		return err
	}
	p := drying.Product{Kinetics: drying.Kinetics{Carrier: drying.Carrier(c.Carrier), ReferenceCelsius: float64(c.StatedTemp), ReferenceHumidity: float64(c.StatedRH)},
		FilmUm: float64(c.StatedFilm)}
	p.Stated[drying.DryToRecoat] = time.Duration(float64(c.Stated) * float64(time.Hour))
	var start time.Time
	curve, err := drying.Trace(p.Kinetics, []drying.Reading{{At: start, Air: air}})
	if err != nil {
		return err
	}
	windows, err := p.Forecast(curve, drying.Coat{At: start, FilmUm: float64(c.Film)})
	if err != nil {
		return err
	}
	return c.window(e, start, windows[drying.DryToRecoat])
}

// window prints when it is; nothing, if it never is.
func (c *dryCmd) window(e *env, start time.Time, w drying.Window) error {
	hours := func(t time.Time) *float64 {
		if t.IsZero() {
			return nil
		}
		return number(t.Sub(start).Hours())
	}
	figures := struct {
		Early  *float64 `json:"early_h"`
		Likely *float64 `json:"likely_h"`
		Late   *float64 `json:"late_h"`
	}{hours(w.Early), hours(w.Likely), hours(w.Late)}
	return c.figures(e, figures, func() string {
		if figures.Likely == nil || figures.Early == nil || figures.Late == nil {
			return "In this air it does not dry: warm the room, or take water out of the air."
		}
		return fmt.Sprintf("Most likely after %.1f h; nine times in ten not before %.1f h, and nine in ten by %.1f h.", *figures.Likely, *figures.Early, *figures.Late)
	})
}

type sandCmd struct {
	output
	From string `help:"The coarsest grade: P80, or 80 for a CAMI grade." required:"" placeholder:"GRADE"`
	To   string `help:"The finest grade." required:"" placeholder:"GRADE"`
}

func (c *sandCmd) Run(e *env) error {
	from, err := finish.ParseGrit(c.From)
	if err != nil {
		return err
	}
	to, err := finish.ParseGrit(c.To)
	if err != nil {
		return err
	}
	sequence, err := finish.SandingSequence(from, to)
	if err != nil {
		return err
	}
	type step struct {
		Grade string  `json:"grade"`
		Size  float64 `json:"micrometres"`
	}
	steps, words := make([]step, len(sequence)), make([]string, len(sequence))
	for i, g := range sequence {
		size, err := g.Micrometres()
		if err != nil {
			return err
		}
		steps[i], words[i] = step{g.String(), size}, fmt.Sprintf("%s (%g µm)", g, size)
	}
	figures := struct {
		Sequence []step `json:"sequence"`
		Stain    bool   `json:"fit_before_stain"`
	}{steps, to.FitForStain()}
	return c.figures(e, figures, func() string {
		text := strings.Join(words, ", ") + "."
		if !figures.Stain {
			text += " For a stain that soaks in, end between P150 and P220."
		}
		return text + " Wear a mask and use extraction; on paint of unknown age, test for lead first."
	})
}
