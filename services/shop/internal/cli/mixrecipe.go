package cli

import (
	"cmp"
	"errors"
	"fmt"
	"strings"
	"time"

	materialsv1 "tackfree/proto/tackfree/materials/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type recipeGroup struct {
	Add    addRecipeCmd    `cmd:"" help:"Write a recipe down."`
	Change changeRecipeCmd `cmd:"" help:"Write a recipe anew: what is not said stays, and mixes that were made by it stay what they are."`
	List   listRecipesCmd  `cmd:"" help:"List the recipes."`
	Show   showRecipeCmd   `cmd:"" help:"Show a recipe."`
}

type addRecipeCmd struct {
	command
	Name  string   `arg:"" help:"What it is called."`
	Parts []string `arg:"" name:"part" help:"Each of its parts, as 'Walnut stain=3' 'Natural stain=1'; or beside them so much to each L (or kg, m, each) of what is made: 'Van Dyke pigment=20g/L'." sep:"none"`
	Makes string   `help:"The product that it makes." required:"" placeholder:"NAME"`
	Keeps *hour    `help:"Its pot life, or how long it keeps, such as 4h or 90d; without it, as the product that it makes." placeholder:"TIME"`
	Note  string   `help:"What there is to say of it."`
}

func (c *addRecipeCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		r := &materialsv1.Recipe{DisplayName: c.Name, Note: c.Note}
		put(&r.KeepsMinutes, c.Keeps, hour.minutes)
		if err := fillRecipe(e, shop, r, c.Makes, c.Parts); err != nil {
			return err
		}
		resp, err := shop.Mixes.SaveRecipe(e.ctx, &materialsv1.SaveRecipeRequest{RequestId: c.request(), Recipe: r})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printRecipe(e, shop, resp.Recipe) })
	})
}

type changeRecipeCmd struct {
	command
	Recipe string   `arg:"" help:"What it is called now."`
	Parts  []string `arg:"" optional:"" name:"part" help:"All of its parts, as when it is added; none: they stay." sep:"none"`
	Name   string   `help:"What it is called from now on."`
	Makes  string   `help:"The product that it makes; then say all parts too." placeholder:"NAME"`
	Keeps  *hour    `help:"Its pot life, or how long it keeps; 0h: as the product that it makes." placeholder:"TIME"`
	Note   *string  `help:"What there is to say of it."`
}

func (c *changeRecipeCmd) Run(e *env) error {
	if c.Makes != "" && len(c.Parts) == 0 {
		return errors.New("what is made of what goes together: say all its parts with --makes")
	}
	return e.with(func(shop *client.Shop) error {
		r, err := c.find(e, shop)
		if err != nil {
			return err
		}
		r.Etag, r.DisplayName = "", cmp.Or(c.Name, r.DisplayName)
		put(&r.KeepsMinutes, c.Keeps, hour.minutes)
		put(&r.Note, c.Note, same)
		if len(c.Parts) > 0 {
			if err := fillRecipe(e, shop, r, cmp.Or(c.Makes, r.Makes), c.Parts); err != nil {
				return err
			}
		}
		resp, err := shop.Mixes.SaveRecipe(e.ctx, &materialsv1.SaveRecipeRequest{RequestId: c.request(), Recipe: r})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printRecipe(e, shop, resp.Recipe) })
	})
}

// find finds the recipe. A change that is given again may have changed its name.
func (c *changeRecipeCmd) find(e *env, shop *client.Shop) (*materialsv1.Recipe, error) {
	r, err := shop.Recipe(e.ctx, c.Recipe)
	if err == nil || c.RequestID == "" || c.Name == "" {
		return r, err
	}
	if renamed, again := shop.Recipe(e.ctx, c.Name); again == nil {
		return renamed, nil
	}
	return nil, err
}

// fillRecipe finds what a recipe makes and of what.
func fillRecipe(e *env, shop *client.Shop, r *materialsv1.Recipe, makes string, parts []string) error {
	products, err := shop.AllProducts(e.ctx)
	if err != nil {
		return err
	}
	made, err := client.ProductOf(products, makes)
	if err != nil {
		return err
	}
	r.Makes, r.MakesName, r.Parts = made.Name, made.DisplayName, nil
	for _, text := range parts {
		part, err := typedPart(text, made.Unit, products)
		if err != nil {
			return err
		}
		r.Parts = append(r.Parts, part)
	}
	return nil
}

// typedPart reads a part of what is counted in a unit.
func typedPart(text, unit string, products []*materialsv1.Product) (*materialsv1.Recipe_Part, error) {
	name, value, err := pair(text, "Walnut stain=3")
	if err != nil {
		return nil, err
	}
	p, err := client.ProductOf(products, name)
	if err != nil {
		return nil, err
	}
	part, err := recipePart(value, unit)
	if err != nil {
		return nil, err
	}
	part.Product, part.ProductName = p.Name, p.DisplayName
	return part, nil
}

// recipePart reads a number of parts, or so much to each of what is counted in a unit.
func recipePart(value, unit string) (*materialsv1.Recipe_Part, error) {
	much, per, beside := strings.Cut(value, "/")
	if !beside {
		return &materialsv1.Recipe_Part{Share: &materialsv1.Recipe_Part_Parts{Parts: strings.TrimSpace(value)}}, nil
	}
	if strings.TrimSpace(per) != eachOf(unit) {
		return nil, fmt.Errorf("%q is beside the parts: say how much of it goes to each %s of what is made, such as 20g/%s", value, eachOf(unit), eachOf(unit))
	}
	q, err := quantity(much)
	return &materialsv1.Recipe_Part{Share: &materialsv1.Recipe_Part_ToEach{ToEach: q}}, err
}

// eachOf is what so much goes to each of, of what is counted in a unit: kilograms of what is
// counted in grams.
func eachOf(unit string) string {
	if unit == "g" {
		return "kg"
	}
	return unit
}

type listRecipesCmd struct{ listOutput }

func (c *listRecipesCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		all, err := shop.AllRecipes(e.ctx)
		if err != nil {
			return err
		}
		return c.print(e, &materialsv1.ListRecipesResponse{Recipes: all}, func() error { return printRecipes(e, shop, all) })
	})
}

func printRecipes(e *env, shop *client.Shop, all []*materialsv1.Recipe) error {
	units, err := unitsOf(e, shop)
	if err != nil {
		return err
	}
	t := &report.Table{Headings: []string{"recipe", "makes", "of", "keeps", "note"}}
	for _, r := range all {
		part := func(p *materialsv1.Recipe_Part) string { return p.ProductName + " " + shareOf(p, units[r.Makes]) }
		t.Add(r.DisplayName, r.MakesName, each(r.Parts, part), keepsWord(r), r.Note)
	}
	return t.Print(e.out)
}

// unitsOf are the units that products are counted in, by their names.
func unitsOf(e *env, shop *client.Shop) (map[string]string, error) {
	products, err := shop.AllProducts(e.ctx)
	units := map[string]string{}
	for _, p := range products {
		units[p.Name] = p.Unit
	}
	return units, err
}

func keepsWord(r *materialsv1.Recipe) string {
	if r.GetKeepsMinutes() == 0 {
		return "as what it makes"
	}
	return lengthWord(r.GetKeepsMinutes())
}

// lengthWord writes a length of time in minutes as whole days, if it is some, or else by the clock.
func lengthWord(minutes int32) string {
	if minutes >= 2*24*60 && minutes%(24*60) == 0 {
		return some(minutes/(24*60), "days")
	}
	return report.Length(time.Duration(minutes)*time.Minute) + " h"
}

// shareOf writes how much of a part goes in, of what makes something that is counted in a unit.
func shareOf(p *materialsv1.Recipe_Part, unit string) string {
	if q := p.GetToEach(); q != nil {
		return report.Quantity(q) + " to each " + eachOf(unit)
	}
	return p.GetParts()
}

type showRecipeCmd struct {
	listOutput
	Recipe string `arg:"" help:"What it is called."`
}

func (c *showRecipeCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		r, err := shop.Recipe(e.ctx, c.Recipe)
		if err != nil {
			return err
		}
		resp, err := shop.Mixes.GetRecipe(e.ctx, &materialsv1.GetRecipeRequest{Name: r.Name})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printRecipe(e, shop, resp.Recipe) })
	})
}

func printRecipe(e *env, shop *client.Shop, r *materialsv1.Recipe) error {
	units, err := unitsOf(e, shop)
	if err != nil {
		return err
	}
	fmt.Fprintf(e.out, "%s makes %s; it keeps %s.\n", r.GetDisplayName(), r.GetMakesName(), keepsWord(r))
	if r.GetNote() != "" {
		fmt.Fprintln(e.out, r.Note)
	}
	fmt.Fprintln(e.out)
	t := &report.Table{Headings: []string{"of", " parts"}}
	for _, p := range r.GetParts() {
		t.Add(p.ProductName, shareOf(p, units[r.Makes]))
	}
	return t.Print(e.out)
}
