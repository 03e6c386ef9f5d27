package cli

import (
	"fmt"
	"strings"

	salesv1 "tackfree/proto/tackfree/sales/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type taxCmd struct {
	Set    setTaxCmd    `cmd:"" help:"State what a place takes of sales tax from a day on; what was sold keeps its tax."`
	List   listTaxCmd   `cmd:"" help:"List places and what they take."`
	Retire retireTaxCmd `cmd:"" help:"Sell nothing more at a place; what was sold stands."`
	Report taxReportCmd `cmd:"" help:"What was sold and taxed from a day to another, by place and rate, and what is to be remitted."`
}

type setTaxCmd struct {
	command
	Place    string `arg:"" help:"Name of the place, such as 'Springfield'."`
	Percent  string `arg:"" help:"What it takes of a price, such as 8.25."`
	From     string `help:"From which day on, such as 2026-03-02; without it, today." placeholder:"DAY"`
	Delivery bool   `help:"A charge for delivery is taxed there too."`
	Default  bool   `help:"What is sold and says no place is sold here."`
}

func (c *setTaxCmd) Run(e *env) error {
	r := &salesv1.SetTaxPlaceRequest{DisplayName: c.Place, Percent: strings.TrimSpace(strings.TrimSuffix(c.Percent, "%")), DeliveryTaxed: c.Delivery, MakeDefault: c.Default}
	if c.From != "" {
		var err error
		if r.FromDate, err = client.Day(c.From); err != nil {
			return err
		}
	}
	return e.with(func(shop *client.Shop) error {
		r.RequestId = c.request()
		resp, err := shop.Taxes.SetTaxPlace(e.ctx, r)
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printTaxPlaces(e, resp.Place) })
	})
}

type listTaxCmd struct {
	listOutput
	Retired bool `help:"Also those that were retired."`
}

func (c *listTaxCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		resp, err := shop.Taxes.ListTaxPlaces(e.ctx, &salesv1.ListTaxPlacesRequest{ShowRetired: c.Retired})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printTaxPlaces(e, resp.Places...) })
	})
}

type retireTaxCmd struct {
	command
	Place string `arg:"" help:"Name of the place."`
}

func (c *retireTaxCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		all, err := shop.Taxes.ListTaxPlaces(e.ctx, &salesv1.ListTaxPlacesRequest{ShowRetired: true})
		if err != nil {
			return err
		}
		name := ""
		for _, p := range all.Places {
			if strings.EqualFold(p.DisplayName, strings.TrimSpace(c.Place)) {
				name = p.Name
			}
		}
		if name == "" {
			return fmt.Errorf("nobody stated the sales tax of %q; `shop tax list --retired` lists the places", c.Place)
		}
		resp, err := shop.Taxes.RetireTaxPlace(e.ctx, &salesv1.RetireTaxPlaceRequest{RequestId: c.request(), Name: name})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printTaxPlaces(e, resp.Place) })
	})
}

func printTaxPlaces(e *env, all ...*salesv1.TaxPlace) error {
	t := &report.Table{Headings: []string{"place", " percent", "from", "delivery", "state"}}
	for _, p := range all {
		state := "in use"
		switch {
		case p.Retired:
			state = "retired"
		case p.IsDefault:
			state = "default"
		}
		for _, r := range p.Rates {
			delivery := "not taxed"
			if r.DeliveryTaxed {
				delivery = "taxed"
			}
			t.Add(p.DisplayName, r.Percent, client.WriteDay(r.FromDate), delivery, state)
		}
	}
	return t.Print(e.out)
}

type taxReportCmd struct {
	listOutput
	From string `arg:"" help:"First day, such as 2026-03-01."`
	To   string `arg:"" help:"Last day, such as 2026-03-31."`
}

func (c *taxReportCmd) Run(e *env) error {
	r := &salesv1.GetTaxReportRequest{}
	var err error
	if r.FromDate, err = client.Day(c.From); err != nil {
		return err
	}
	if r.ToDate, err = client.Day(c.To); err != nil {
		return err
	}
	return e.with(func(shop *client.Shop) error {
		resp, err := shop.Taxes.GetTaxReport(e.ctx, r)
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printTaxReport(e, resp) })
	})
}

func printTaxReport(e *env, r *salesv1.GetTaxReportResponse) error {
	t := &report.Table{Headings: []string{"place", " percent", " sold", " exempt", " taxable", " tax", " sold, back", " tax back", " to remit"}}
	add := func(place, percent string, row *salesv1.GetTaxReportResponse_Row) {
		t.Add(place, percent, report.Money(row.GrossSales), report.Money(row.Exempt), report.Money(row.Taxable), report.Money(row.TaxCollected),
			report.Money(row.SalesRefunded), report.Money(row.TaxRefunded), report.Money(row.NetTax))
	}
	for _, row := range r.Rows {
		place := row.Place
		if place == "" {
			place = "tax said, or none"
		}
		add(place, orDash(row.Percent), row)
	}
	add("all", "", r.Total)
	return t.Print(e.out)
}
