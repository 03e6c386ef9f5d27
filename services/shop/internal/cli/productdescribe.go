package cli

import (
	"errors"
	"fmt"
	"math"
	"strings"

	"tackfree/pkg/finish"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type productCmd struct {
	Describe describeCmd    `cmd:"" help:"Say what a product is: its category, its colour, how long it keeps, what its label warns of. What is not said stays."`
	Rename   renameCmd      `cmd:"" help:"Call a product otherwise."`
	Packages packagesCmd    `cmd:"" help:"Say in which packages a product is sold, in place of those before."`
	Show     showProductCmd `cmd:"" help:"The same as stock show."`
}

type describeCmd struct {
	command
	Product string `arg:"" help:"Display name."`

	Category    *string    `help:"paint, primer, stain, topcoat, solvent, abrasive, filler, hardware, consumable …" placeholder:"WORD"`
	Density     *gramsPerL `help:"How heavy it is, such as 1.2kg/L or 10lb/gal." placeholder:"DENSITY"`
	VOC         *gramsPerL `name:"voc" help:"Its volatile organic compounds as sold, such as 350g/L; 0g/L: none." placeholder:"DENSITY"`
	FlashPoint  *celsius   `help:"Its flash point, such as 38C or 100F." placeholder:"TEMP"`
	Boiling     *celsius   `help:"Its boiling point." placeholder:"TEMP"`
	KeepsClosed *hour      `help:"How long it keeps from when it came in, such as 730d." placeholder:"TIME"`
	KeepsOpen   *hour      `help:"How long it keeps from when it was opened, such as 90d." placeholder:"TIME"`
	PotLife     *hour      `help:"How long it can be used once it is mixed, such as 4h." placeholder:"TIME"`
	Colour      *string    `help:"Its colour."`
	Sheen       *string    `help:"Its sheen."`
	Maker       *string    `help:"Who makes it."`
	Article     *string    `help:"The maker's number." placeholder:"NUMBER"`
	Spread      *float64   `help:"How many square metres a litre covers, as the maker says." placeholder:"NUMBER"`
	Hazards     *string    `help:"Hazard statements and words of the pictograms, as on the label." placeholder:"TEXT"`
	Ingredients *string    `help:"What is in it, as on the label." placeholder:"TEXT"`
	SafetySheet *string    `help:"Where its safety data sheet is." placeholder:"TEXT"`
	SheetDate   *string    `help:"Of what day that is." placeholder:"DAY"`
	Caution     []string   `help:"A caution that whoever uses it should have read: lead, lead-residue, stripper, dust, fire, oily-rags, vapour, two-part; or several with commas between. An empty one takes all away." placeholder:"ID,…" sep:"none"`
	Note        *string    `help:"What else there is to say of it."`
}

func (c *describeCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		p, err := shop.Product(e.ctx, c.Product)
		if err != nil {
			return err
		}
		details := p.Details
		if details == nil {
			details = &typev1.ProductDetails{}
		}
		said, err := c.change(details)
		if err != nil {
			return err
		}
		if !said {
			return errors.New("say what the product is: --category, --keeps-open, --flash-point …")
		}
		resp, err := shop.Catalogue.DescribeProduct(e.ctx, &materialsv1.DescribeProductRequest{RequestId: c.request(), Product: p.Name, Details: details})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printDetails(e, resp.Product) })
	})
}

// change puts what was said into the details, and reports whether anything was.
func (c *describeCmd) change(d *typev1.ProductDetails) (said bool, err error) {
	for _, f := range []struct{ from, to *string }{{c.Category, &d.Category}, {c.Colour, &d.Colour}, {c.Sheen, &d.Sheen}, {c.Maker, &d.Maker}, {c.Article, &d.Article},
		{c.Hazards, &d.Hazards}, {c.Ingredients, &d.Ingredients}, {c.SafetySheet, &d.SafetySheet}, {c.Note, &d.Note}} {
		said = put(f.to, f.from, same) || said
	}
	for _, f := range []struct {
		from *hour
		to   *int32
	}{{c.KeepsClosed, &d.KeepsClosedDays}, {c.KeepsOpen, &d.KeepsOpenDays}} {
		said = put(f.to, f.from, hour.days) || said
	}
	said = put(&d.PotLifeMinutes, c.PotLife, hour.minutes) || said
	said = put(&d.DensityGramsPerMl, c.Density, func(v gramsPerL) float64 { return float64(v) / 1000 }) || said
	said = put(&d.VocGramsPerLitre, c.VOC, func(v gramsPerL) *float64 { return number(float64(v)) }) || said
	said = put(&d.SquareMetresPerLitre, c.Spread, same) || said
	said = put(&d.FlashPointCelsius, c.FlashPoint, func(v celsius) *float64 { return number(float64(v)) }) || said
	said = put(&d.BoilingPointCelsius, c.Boiling, func(v celsius) *float64 { return number(float64(v)) }) || said
	if c.Caution != nil {
		said, d.Cautions = true, words(c.Caution)
	}
	if c.SheetDate != nil {
		said = true
		d.SafetySheetDate, err = client.Day(*c.SheetDate)
	}
	return said, err
}

// put puts what was said where it belongs, and reports whether it was.
func put[F, T any](to *T, from *F, as func(F) T) bool {
	if from == nil {
		return false
	}
	*to = as(*from)
	return true
}

func same[T any](v T) T { return v }

// days counts whole days: what keeps for less than one more does not keep for that one.
func (v hour) days() int32 { return int32(max(-1, min(math.Floor(float64(v)/24+1e-9), math.MaxInt32))) }

// printDetails prints what is known of a product beside its data sheet; what nobody said is left out.
func printDetails(e *env, p *materialsv1.Product) error {
	d := p.GetDetails()
	if d == nil {
		_, err := fmt.Fprintf(e.out, "Nobody said what %s is; say it with: shop product describe %q --category WORD\n", p.DisplayName, p.DisplayName)
		return err
	}
	t := &report.Table{Headings: []string{p.DisplayName, ""}}
	for _, l := range [][2]string{{"category", d.Category}, {"colour", d.Colour}, {"sheen", d.Sheen}, {"maker", d.Maker}, {"article", d.Article},
		{"density", measured(known(d.DensityGramsPerMl), "g/mL")}, {"volatile compounds", measured(d.VocGramsPerLitre, "g/L")}, {"flash point", measured(d.FlashPointCelsius, "°C")}, {"boiling point", measured(d.BoilingPointCelsius, "°C")},
		{"keeps closed", some(d.KeepsClosedDays, "days")}, {"keeps open", some(d.KeepsOpenDays, "days")}, {"pot life", potLife(d)},
		{"a litre covers", measured(known(d.SquareMetresPerLitre), "m²")}, {"hazards", d.Hazards}, {"ingredients", d.Ingredients},
		{"safety data sheet", strings.TrimSpace(d.SafetySheet + " " + client.WriteDay(d.SafetySheetDate))}, {"cautions", strings.Join(d.Cautions, ", ")}, {"note", d.Note}} {
		if l[1] != "" {
			t.Add(l[0], l[1])
		}
	}
	if err := t.Print(e.out); err != nil {
		return err
	}
	return printHazardTexts(e, d.Cautions)
}

// measured writes a figure; one that nobody said is empty.
func measured(v *float64, unit string) string {
	if v == nil {
		return ""
	}
	return fmt.Sprintf("%.4g %s", *v, unit)
}

// known is a figure that is zero where nobody said it: no liquid has no density.
func known(v float64) *float64 {
	if v == 0 {
		return nil
	}
	return &v
}

func potLife(d *typev1.ProductDetails) string {
	if d.PotLifeMinutes == 0 {
		return ""
	}
	return lengthWord(d.PotLifeMinutes)
}

func some(n int32, of string) string {
	if n == 0 {
		return ""
	}
	return fmt.Sprintf("%d %s", n, of)
}

// printHazardTexts prints what each caution says.
func printHazardTexts(e *env, ids []string) error {
	for _, id := range ids {
		if h, known := finish.FindHazard(id); known {
			if _, err := fmt.Fprintf(e.out, "\n%s: %s\n", strings.ToUpper(id), h.Text); err != nil {
				return err
			}
		}
	}
	return nil
}
