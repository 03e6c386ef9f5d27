package cli

import (
	"context"
	"fmt"
	"strings"

	materialsv1 "tackfree/proto/tackfree/materials/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type mixCmd struct {
	Make   makeMixCmd  `cmd:"" help:"Mix so much by a recipe; it is a lot of what it makes from then on."`
	Like   likeMixCmd  `cmd:"" help:"Mix so much as an earlier mix was really made, so that the colour is the same."`
	List   listMixCmd  `cmd:"" help:"List what was mixed, newest first."`
	Show   showMixCmd  `cmd:"" help:"Show what went into a mix and where it went."`
	Undo   undoMixCmd  `cmd:"" help:"It was a slip: what went into the mix is on the shelf again, as if it had never been made."`
	Recipe recipeGroup `cmd:"" help:"What mixes are made by."`
}

// mixFlags are what is said of a mix.
type mixFlags struct {
	Quantity string `arg:"" help:"How much of all parts together, such as 500mL."`
	Yield    string `help:"What there was of it in the end; without it, as much." placeholder:"QUANTITY"`
	Place    string `help:"Where it stands, by the place's word." placeholder:"WORD"`
	Note     string `help:"What there is to say of it."`
	Override string `help:"Why parts are used though they have expired." placeholder:"REASON"`
}

type makeMixCmd struct {
	timed
	Recipe string `arg:"" help:"What the recipe is called."`
	mixFlags
}

func (c *makeMixCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		recipe, err := shop.Recipe(e.ctx, c.Recipe)
		if err != nil {
			return err
		}
		return c.make(e, shop, &c.timed, &materialsv1.MakeMixRequest{By: &materialsv1.MakeMixRequest_Recipe{Recipe: recipe.Name}})
	})
}

type likeMixCmd struct {
	timed
	Mix string `arg:"" help:"The number on its lid."`
	mixFlags
}

func (c *likeMixCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		mix, err := shop.Mix(e.ctx, c.Mix)
		if err != nil {
			return err
		}
		return c.make(e, shop, &c.timed, &materialsv1.MakeMixRequest{By: &materialsv1.MakeMixRequest_Like{Like: mix.Name}})
	})
}

// make mixes by what the request says already, with what the flags say.
func (f mixFlags) make(e *env, shop *client.Shop, c *timed, r *materialsv1.MakeMixRequest) (err error) {
	r.RequestId, r.Note, r.OverrideReason = c.request(), f.Note, f.Override
	if r.Quantity, err = quantity(f.Quantity); err != nil {
		return err
	}
	if r.Yield, err = optionalQuantity(f.Yield); err != nil {
		return err
	}
	if r.Place, err = optionalPlace(e.ctx, shop, f.Place); err != nil {
		return err
	}
	if r.MixTime, err = c.at(e.ctx, shop); err != nil {
		return err
	}
	resp, err := shop.Mixes.MakeMix(e.ctx, r)
	if err != nil {
		return err
	}
	defer noteClosed(e, shop, r.MixTime)
	return c.print(e, resp, func() error {
		if err := printMix(e, shop, resp.Mix); err != nil {
			return err
		}
		return sayRecostedBelow(e, shop, resp.Recostings)
	})
}

type listMixCmd struct {
	listOutput
	Recipe  string `help:"Only by this recipe." placeholder:"NAME"`
	Product string `help:"Only of this product." placeholder:"NAME"`
	Piece   string `help:"Only what this piece got." placeholder:"TAG"`
	Left    bool   `help:"Only those of which something is left."`
}

func (c *listMixCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		filter, err := c.filter(e, shop)
		if err != nil {
			return err
		}
		all, err := client.All(e.ctx, func(ctx context.Context, token string) ([]*materialsv1.Mix, string, error) {
			filter.PageToken = token
			r, err := shop.Mixes.ListMixes(ctx, filter)
			return r.GetMixes(), r.GetNextPageToken(), err
		})
		if err != nil {
			return err
		}
		return c.print(e, &materialsv1.ListMixesResponse{Mixes: all}, func() error { return printMixes(e, shop, all) })
	})
}

func (c *listMixCmd) filter(e *env, shop *client.Shop) (*materialsv1.ListMixesRequest, error) {
	f := &materialsv1.ListMixesRequest{WithLeft: c.Left, PageSize: 1000}
	var err error
	if c.Recipe != "" {
		recipe, err := shop.Recipe(e.ctx, c.Recipe)
		if err != nil {
			return nil, err
		}
		f.Recipe = recipe.Name
	}
	if f.Product, err = optionalProduct(e, shop, c.Product); err != nil {
		return nil, err
	}
	f.Piece, err = optionalPiece(e, shop, c.Piece)
	return f, err
}

func printMixes(e *env, shop *client.Shop, all []*materialsv1.Mix) error {
	terms, err := shop.Terms(e.ctx)
	if err != nil {
		return err
	}
	t := &report.Table{Headings: []string{" mix", "when", "recipe", "makes", " amount", " left", " cost", "usable until", "who", "remark"}}
	for _, m := range all {
		l, usable := m.GetLot(), "–"
		if !m.Undone {
			usable = until(terms, l.GetExpireTime())
		}
		t.Add(fmt.Sprint(m.Number), terms.Clock(m.MixTime), m.RecipeName, m.ProductName, report.Quantity(l.GetReceived()), report.Quantity(m.Left),
			report.Money(l.GetCost()), usable, m.Actor, mixRemark(m))
	}
	return t.Print(e.out)
}

// mixRemark is what there is to say of a mix.
func mixRemark(m *materialsv1.Mix) string {
	var all []string
	if m.Undone {
		all = append(all, "undone")
	}
	if m.Note != "" {
		all = append(all, m.Note)
	}
	return strings.Join(all, "; ")
}

type showMixCmd struct {
	listOutput
	Mix string `arg:"" help:"The number on its lid."`
}

func (c *showMixCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		m, err := shop.Mix(e.ctx, c.Mix)
		if err != nil {
			return err
		}
		resp, err := shop.Mixes.GetMix(e.ctx, &materialsv1.GetMixRequest{Name: m.Name})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printMix(e, shop, resp.Mix) })
	})
}

// printMix prints a mix with what went into it and where it went.
func printMix(e *env, shop *client.Shop, m *materialsv1.Mix) error {
	if err := printMixes(e, shop, []*materialsv1.Mix{m}); err != nil {
		return err
	}
	fmt.Fprintln(e.out)
	parts := &report.Table{Headings: []string{"of", " amount", " cost"}}
	for _, p := range m.GetParts() {
		parts.Add(p.ProductName, report.Quantity(p.Quantity), report.Money(p.Cost))
	}
	if err := parts.Print(e.out); err != nil || len(m.GetUses()) == 0 {
		return err
	}
	fmt.Fprintln(e.out)
	return printMixUses(e, shop, m.Uses)
}

func printMixUses(e *env, shop *client.Shop, all []*materialsv1.Mix_Use) error {
	terms, err := shop.Terms(e.ctx)
	if err != nil {
		return err
	}
	words := newStageWords(e, shop)
	t := &report.Table{Headings: []string{"went at", " piece", "stage", " pass", " amount"}}
	for _, u := range all {
		tag, title, err := words.of(u.Stage, u.StageKind)
		if err != nil {
			return err
		}
		t.Add(terms.Clock(u.Time), tag, title, fmt.Sprint(u.Pass), report.Quantity(u.Quantity))
	}
	return t.Print(e.out)
}
