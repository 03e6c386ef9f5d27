package cli

import (
	"encoding/json"
	"fmt"

	"github.com/alecthomas/kong"

	"tackfree/pkg/dimension"
)

type calcCmd struct {
	EMC      emcCmd      `cmd:"" help:"How moist wood becomes in this air; or, with --moisture, what air makes it so."`
	Dewpoint dewpointCmd `cmd:"" help:"Where the air's water condenses, and whether it is fit for coating."`
	Coverage coverageCmd `cmd:"" help:"How much of a product an area takes."`
	VOC      vocCmd      `cmd:"" name:"voc" help:"Volatile compounds of a coating by what it is made of."`
	Dry      dryCmd      `cmd:"" help:"When a film is dry in this air, by the time that its maker states."`
	Sand     sandCmd     `cmd:"" help:"The grades from coarse to fine."`
}

// The values of the calculations, each with its unit: 70F, 36ft2, 1.5mil, 50%.
type (
	celsius    float64
	percent    float64
	squareM    float64
	micrometre float64
	litre      float64
	gramsPerL  float64
	hour       float64
)

// Decode implements kong.MapperValue; so do those that follow.
func (v *celsius) Decode(c *kong.DecodeContext) error {
	return decode(c, dimension.Temperature, (*float64)(v))
}

func (v *percent) Decode(c *kong.DecodeContext) error {
	return decode(c, dimension.Percent, (*float64)(v))
}

func (v *squareM) Decode(c *kong.DecodeContext) error {
	return decode(c, dimension.Area, (*float64)(v))
}

func (v *micrometre) Decode(c *kong.DecodeContext) error {
	return decode(c, dimension.Film, (*float64)(v))
}

func (v *litre) Decode(c *kong.DecodeContext) error {
	return decode(c, dimension.Volume, (*float64)(v))
}

func (v *gramsPerL) Decode(c *kong.DecodeContext) error {
	return decode(c, dimension.Density, (*float64)(v))
}

func (v *hour) Decode(c *kong.DecodeContext) error {
	return decode(c, dimension.Time, (*float64)(v))
}

func decode(c *kong.DecodeContext, kind dimension.Kind, into *float64) (err error) {
	var text string
	if err := c.Scan.PopValueInto("number and unit", &text); err != nil {
		return err
	}
	*into, err = kind.Parse(text)
	return err
}

// figures prints the figures of a calculation as JSON, or lets text write them for people.
func (o output) figures(e *env, figures any, text func() string) error {
	if o.JSON {
		return json.NewEncoder(e.out).Encode(figures)
	}
	_, err := fmt.Fprintln(e.out, text())
	return err
}

// number is a figure that a script reads.
func number(v float64) *float64 { return &v }
