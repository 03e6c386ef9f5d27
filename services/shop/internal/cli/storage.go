package cli

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
	"strings"

	materialsv1 "tackfree/proto/tackfree/materials/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type storageCmd struct {
	Place      placeGroup    `cmd:"" help:"Where lots stand."`
	Flammables flammablesCmd `cmd:"" help:"Show how much flammable liquid stands together, beside the limits of 29 CFR 1910.106."`
	Emissions  emissionsCmd  `cmd:"" help:"Show what volatile compounds a month put into the air."`
	Waste      wasteLogCmd   `cmd:"" help:"List what was thrown away or lost, newest first."`
	Oily       oilyGroup     `cmd:"" help:"Rags and other waste with oil in it."`
}

type placeGroup struct {
	Save savePlaceCmd  `cmd:"" help:"Write a place down, or change it: what is not said stays."`
	List listPlacesCmd `cmd:"" help:"List the places."`
}

type savePlaceCmd struct {
	command
	Word     string  `arg:"" help:"What it goes by: shelf-2, yellow-cabinet …"`
	Name     string  `help:"What people call it; without it, its word."`
	Kind     string  `help:"What it is: open, cabinet (for flammable liquids), room (an inside storage room) or outdoors." placeholder:"KIND"`
	FireArea *string `help:"The fire area of the building that it is in; without it, the building is one." placeholder:"WORD"`
	Retired  *bool   `help:"Nothing new is put there." negatable:""`
}

func (c *savePlaceCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		p, err := c.known(e, shop)
		if err != nil {
			return err
		}
		p.Etag, p.DisplayName = "", cmp.Or(c.Name, p.DisplayName)
		put(&p.FireArea, c.FireArea, same)
		put(&p.Retired, c.Retired, same)
		if c.Kind != "" {
			if p.Kind, err = readEnum[materialsv1.Place_Kind]("KIND_", c.Kind, materialsv1.Place_Kind_value); err != nil {
				return err
			}
		}
		resp, err := shop.Storage.SavePlace(e.ctx, &materialsv1.SavePlaceRequest{RequestId: c.request(), Place: p})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printPlaces(e, []*materialsv1.Place{resp.Place}) })
	})
}

// known is the place as it is, or a new one.
func (c *savePlaceCmd) known(e *env, shop *client.Shop) (*materialsv1.Place, error) {
	name := "places/" + strings.TrimPrefix(c.Word, "places/")
	resp, err := shop.Storage.ListPlaces(e.ctx, &materialsv1.ListPlacesRequest{ShowRetired: true})
	if err != nil {
		return nil, err
	}
	for _, p := range resp.Places {
		if p.Name == name {
			return p, nil
		}
	}
	if c.Kind == "" {
		return nil, errors.New("of a new place say its --kind: open, cabinet, room or outdoors")
	}
	return &materialsv1.Place{Name: name, DisplayName: bare(name)}, nil
}

type listPlacesCmd struct {
	listOutput
	All bool `help:"Also those that nothing new is put at."`
}

func (c *listPlacesCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		resp, err := shop.Storage.ListPlaces(e.ctx, &materialsv1.ListPlacesRequest{ShowRetired: c.All})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printPlaces(e, resp.Places) })
	})
}

func printPlaces(e *env, all []*materialsv1.Place) error {
	t := &report.Table{Headings: []string{"place", "called", "kind", "fire area", ""}}
	for _, p := range all {
		retired := ""
		if p.Retired {
			retired = "retired"
		}
		t.Add(bare(p.Name), p.DisplayName, enumWord("KIND_", p.Kind.String()), orDash(p.FireArea), retired)
	}
	return t.Print(e.out)
}

type flammablesCmd struct{ listOutput }

func (c *flammablesCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		resp, err := shop.Storage.GetFlammables(e.ctx, &materialsv1.GetFlammablesRequest{})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printFlammables(e, resp) })
	})
}

func printFlammables(e *env, r *materialsv1.GetFlammablesResponse) error {
	t := &report.Table{Headings: []string{"where", "what counts", " held", " limit", " of it", "", "source"}}
	for _, f := range r.Places {
		addFlammables(t, f, cmp.Or(f.DisplayName, "nobody said where"))
	}
	for _, f := range r.Areas {
		addFlammables(t, f, "in the open in "+cmp.Or(f.FireArea, "the building"))
	}
	if err := t.Print(e.out); err != nil {
		return err
	}
	sayOfFlammables(e, r)
	return sayCaution(e, r.Caution)
}

// addFlammables adds what counts together beside its limits, or what there is where there is no limit.
func addFlammables(t *report.Table, f *materialsv1.Flammables, where string) {
	for _, l := range f.Limits {
		over := ""
		if l.Over {
			over = "OVER"
		}
		t.Add(where, l.Of, report.Quantity(l.Held), report.Quantity(l.Limit), share(l.Percent), over, l.Source)
	}
	if len(f.Limits) == 0 {
		t.Add(where, cmp.Or(each(f.Categories, categoryWord), "none that is known"), "", "–", "", "", "")
	}
}

// sayOfFlammables says below what there is to know of each place, and of which products nobody
// knows what counts.
func sayOfFlammables(e *env, r *materialsv1.GetFlammablesResponse) {
	for _, f := range r.Places {
		sayText(e, cmp.Or(f.DisplayName, "Nobody said where"), f.Text)
	}
	for _, f := range r.Areas {
		sayText(e, cmp.Or(f.FireArea, "The building"), f.Text)
	}
	askForUnknown(e, slices.Concat(r.Places, r.Areas))
}

// askForUnknown asks once for each product that is in no sum.
func askForUnknown(e *env, all []*materialsv1.Flammables) {
	asked := map[string]bool{}
	for _, f := range all {
		for _, u := range f.Unknown {
			if !asked[u.Product] {
				asked[u.Product] = true
				fmt.Fprintf(e.out, "\n%s is in no sum, for %s. What it is, this says: shop product describe %q --flash-point TEMP --density DENSITY\n", u.ProductName, u.Reason, u.ProductName)
			}
		}
	}
}

// sayText prints what there is to say of something, if anything; of what, unless it begins so.
func sayText(e *env, of, text string) {
	if text == "" {
		return
	}
	if !strings.HasPrefix(text, of) {
		text = of + ": " + text
	}
	fmt.Fprintf(e.out, "\n%s\n", wrapped(text, ""))
}

func categoryWord(c *materialsv1.Flammables_Category) string {
	return fmt.Sprintf("category %d: %s", c.Category, report.Quantity(c.Quantity))
}

// sayCaution prints what whoever reads an answer should know, below it.
func sayCaution(e *env, text string) error {
	if text == "" {
		return nil
	}
	_, err := fmt.Fprintf(e.out, "\n%s\n", wrapped(text, ""))
	return err
}
