package cli

import (
	"fmt"
	"strconv"
	"time"

	"tackfree/pkg/finish"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type showProductCmd struct {
	listOutput
	Product string `arg:"" help:"Display name."`
}

func (c *showProductCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		p, err := shop.Product(e.ctx, c.Product)
		if err != nil {
			return err
		}
		resp, err := shop.Materials.GetProduct(e.ctx, &materialsv1.GetProductRequest{Name: p.Name})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printAll(e, resp.Product) })
	})
}

// printAll prints all that is known of a product.
func printAll(e *env, p *materialsv1.Product) error {
	if err := printProducts(e, []*materialsv1.Product{p}); err != nil {
		return err
	}
	if err := printSheet(e, p); err != nil {
		return err
	}
	if p.GetUsageFactor() != 0 {
		fmt.Fprintf(e.out, "The shop takes %s times what its data sheet plans.\n", timesPlanned(p.UsageFactor))
	}
	fmt.Fprintln(e.out)
	if err := printPackages(e, p); err != nil {
		return err
	}
	fmt.Fprintln(e.out)
	return printDetails(e, p)
}

// printSheet prints what the data sheet states, and leaves out what it does not.
func printSheet(e *env, p *materialsv1.Product) error {
	s := p.CoatingSheet
	if s == nil {
		_, err := fmt.Fprintf(e.out, "%s has no coating sheet.\n", p.DisplayName)
		return err
	}
	t := &report.Table{Headings: []string{p.DisplayName, " " + coatingOf(p)}}
	t.Add("dries by", wordOf(s.Carrier, carriers))
	t.Add("is put on by", wordOf(s.Method, methods))
	for _, word := range []struct {
		name string
		says bool
	}{{"of a light colour", s.Light}, {"blocks stains", s.BlocksStains}} {
		if word.says {
			t.Add(word.name, "yes")
		}
	}
	for _, f := range figuresOf(s) {
		if f.value != 0 {
			t.Add(f.name, strconv.FormatFloat(f.value, 'g', 6, 64)+f.unit)
		}
	}
	for _, w := range timesOf(s) {
		if w.minutes != 0 {
			t.Add(w.name, report.Length(time.Duration(w.minutes)*time.Minute)+" h")
		}
	}
	return t.Print(e.out)
}

// coatingOf is the film of a coating in a word.
func coatingOf(p *materialsv1.Product) string {
	if p.CoatingSheet == nil {
		return ""
	}
	return wordOf(p.CoatingSheet.Family, finish.Families())
}

type figure struct {
	name  string
	value float64
	unit  string
}

func figuresOf(s *typev1.CoatingSheet) []figure {
	return []figure{
		{"volume solids", s.VolumeSolidsPercent, " %"}, {"dry film of a coat", s.DryFilmUm, " µm"}, {"thinning", s.ThinningPercent, " %"},
		{"ends up on the piece", s.TransferPercent, " %"}, {"lost with each set-up", s.LossPerSetUpLitres, " L"}, {"volatile compounds", s.VocGramsPerLitre, " g/L"},
		{"coldest to put on in", s.MinCelsius, " °C"}, {"hottest", s.MaxCelsius, " °C"}, {"dampest", s.MaxHumidityPercent, " %"},
		{"times are for", s.ReferenceCelsius, " °C"}, {"and for", s.ReferenceHumidityPercent, " %"}, {"faster for each 10 °C", s.RatePerTenCelsius, " times"},
	}
}

type stated struct {
	name    string
	minutes int32
}

func timesOf(s *typev1.CoatingSheet) []stated {
	return []stated{
		{"set to touch", s.SetToTouchMinutes}, {"tack-free", s.TackFreeMinutes}, {"dry to sand", s.SandMinutes},
		{"dry to recoat", s.RecoatMinutes}, {"recoat window closes", s.RecoatClosesMinutes}, {"cured", s.CureMinutes},
	}
}
