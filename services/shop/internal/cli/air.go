package cli

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type airCmd struct {
	Zone     saveZoneCmd       `cmd:"" help:"Write a zone down: a room, a booth, a rack."`
	Zones    listZonesCmd      `cmd:"" help:"List the zones and their last readings."`
	Read     readAirCmd        `cmd:"" help:"Enter a reading."`
	Import   importReadingsCmd `cmd:"" help:"Take readings over from a table of values separated by commas."`
	Readings listReadingsCmd   `cmd:"" help:"List readings."`
	Now      conditionsCmd     `cmd:"" help:"What the last reading means for wood and for coats."`
}

func zoneName(word string) string {
	if word == "" {
		return ""
	}
	return "climateZones/" + strings.TrimPrefix(word, "climateZones/")
}

type saveZoneCmd struct {
	command
	Word string `arg:"" help:"What it goes by: bench, spray-booth …"`
	Name string `help:"What people call it." required:""`
	Kind string `help:"What it is: bench-room, booth, rack or outdoors." enum:"bench-room,booth,rack,outdoors" required:""`
}

func (c *saveZoneCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		kind := workflowv1.ClimateZone_Kind_value["KIND_"+strings.ToUpper(strings.ReplaceAll(c.Kind, "-", "_"))]
		resp, err := shop.Climate.SaveZone(e.ctx, &workflowv1.SaveZoneRequest{RequestId: c.request(),
			Zone: &workflowv1.ClimateZone{Name: zoneName(c.Word), DisplayName: c.Name, Kind: workflowv1.ClimateZone_Kind(kind)}})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printZones(e, shop, []*workflowv1.ClimateZone{resp.Zone}) })
	})
}

type listZonesCmd struct{ listOutput }

func (c *listZonesCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		resp, err := shop.Climate.ListZones(e.ctx, &workflowv1.ListZonesRequest{})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printZones(e, shop, resp.Zones) })
	})
}

func printZones(e *env, shop *client.Shop, zones []*workflowv1.ClimateZone) error {
	terms, err := shop.Terms(e.ctx)
	if err != nil {
		return err
	}
	t := &report.Table{Headings: []string{"zone", "called", "kind", "last read", " air", " humidity"}}
	for _, z := range zones {
		row := []string{bare(z.Name), z.DisplayName, report.Kind(strings.ToLower(strings.TrimPrefix(z.Kind.String(), "KIND_"))), "–", "", ""}
		if r := z.LastReading; r != nil {
			row[3], row[4], row[5] = terms.Clock(r.ReadTime), degrees(r.Celsius), share(r.HumidityPercent)
		}
		t.Add(row...)
	}
	return t.Print(e.out)
}

func degrees(celsius float64) string { return fmt.Sprintf("%.1f °C", celsius) }

func share(percent float64) string { return fmt.Sprintf("%.0f %%", percent) }

type readAirCmd struct {
	timed
	Zone     string   `arg:"" help:"The zone's word."`
	Air      celsius  `arg:"" help:"The air's temperature: 21C or 70F."`
	Humidity percent  `arg:"" help:"Its relative humidity: 55%."`
	Surface  *celsius `help:"The temperature of what is to be coated, if it is another." placeholder:"TEMPERATURE"`
	Source   string   `help:"Who or what read it." placeholder:"NAME"`
}

func (c *readAirCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		r := &workflowv1.Reading{Zone: zoneName(c.Zone), Celsius: float64(c.Air), HumidityPercent: float64(c.Humidity), Source: c.Source}
		if c.Surface != nil {
			r.SurfaceCelsius = number(float64(*c.Surface))
		}
		var err error
		if r.ReadTime, err = c.at(e.ctx, shop); err != nil {
			return err
		}
		resp, err := shop.Climate.RecordReading(e.ctx, &workflowv1.RecordReadingRequest{RequestId: c.request(), Reading: r})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error {
			says := "The reading is written down."
			if resp.Duplicate {
				says = "That reading was there already."
			}
			_, err := fmt.Fprintln(e.out, says)
			return err
		})
	})
}

type importReadingsCmd struct {
	command
	Zone string `arg:"" help:"The zone's word."`
	File string `arg:"" type:"existingfile" help:"Its first line names the columns: time, celsius or fahrenheit, humidity, and perhaps surface_celsius or surface_fahrenheit."`
}

func (c *importReadingsCmd) Run(e *env) error {
	table, err := os.ReadFile(c.File)
	if err != nil {
		return err
	}
	return e.with(func(shop *client.Shop) error {
		shown := e.waiting("taking over "+filepath.Base(c.File), c.JSON)
		resp, err := shop.Climate.ImportReadings(e.ctx, &workflowv1.ImportReadingsRequest{RequestId: c.request(), Zone: zoneName(c.Zone), Csv: string(table)})
		shown.end()
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error {
			_, err := fmt.Fprintf(e.out, "%d readings are new, %d were there already.\n", resp.Recorded, resp.Duplicates)
			return err
		})
	})
}

type listReadingsCmd struct {
	listOutput
	Zone string `arg:"" help:"The zone's word."`
	From string `help:"From this time on." placeholder:"TIME"`
	To   string `help:"Until this time." placeholder:"TIME"`
}

func (c *listReadingsCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		r := &workflowv1.ListReadingsRequest{Zone: zoneName(c.Zone), PageSize: 1000}
		var err error
		if r.FromTime, err = instant(e.ctx, shop, c.From); err != nil {
			return err
		}
		if r.ToTime, err = instant(e.ctx, shop, c.To); err != nil {
			return err
		}
		readings, err := client.All(e.ctx, func(ctx context.Context, token string) ([]*workflowv1.Reading, string, error) {
			r.PageToken = token
			resp, err := shop.Climate.ListReadings(ctx, r)
			return resp.GetReadings(), resp.GetNextPageToken(), err
		})
		if err != nil {
			return err
		}
		return c.print(e, &workflowv1.ListReadingsResponse{Readings: readings}, func() error { return printReadings(e, shop, readings) })
	})
}

func printReadings(e *env, shop *client.Shop, readings []*workflowv1.Reading) error {
	terms, err := shop.Terms(e.ctx)
	if err != nil {
		return err
	}
	t := &report.Table{Headings: []string{"read", " air", " humidity", " surface", "by"}}
	for _, r := range readings {
		surface := ""
		if r.SurfaceCelsius != nil {
			surface = degrees(*r.SurfaceCelsius)
		}
		t.Add(terms.Clock(r.ReadTime), degrees(r.Celsius), share(r.HumidityPercent), surface, r.Source)
	}
	return t.Print(e.out)
}

type conditionsCmd struct {
	listOutput
	Zone    string `arg:"" help:"The zone's word."`
	Product string `help:"Judge by what this product may be put on in." placeholder:"NAME"`
}

func (c *conditionsCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		r := &workflowv1.GetConditionsRequest{Zone: zoneName(c.Zone)}
		if c.Product != "" {
			p, err := shop.Product(e.ctx, c.Product)
			if err != nil {
				return err
			}
			r.Product = p.Name
		}
		resp, err := shop.Climate.GetConditions(e.ctx, r)
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printConditions(e, shop, resp) })
	})
}

func printConditions(e *env, shop *client.Shop, c *workflowv1.GetConditionsResponse) error {
	terms, err := shop.Terms(e.ctx)
	if err != nil {
		return err
	}
	fit := "Fit for coating."
	if !c.FitForCoating {
		fit = "Not fit for coating: " + strings.TrimSuffix(strings.Join(c.Obstacles, "; "), ".") + "."
	}
	_, err = fmt.Fprintf(e.out, "%s: %s, %s relative humidity, dew point %s.\nWood comes to %.1f %% moisture; the air takes up %.1f hPa more.\n%s\n",
		terms.Clock(c.Reading.ReadTime), degrees(c.Reading.Celsius), share(c.Reading.HumidityPercent), degrees(c.DewPointCelsius),
		c.WoodMoisturePercent, c.VapourPressureDeficitHpa, fit)
	return err
}
