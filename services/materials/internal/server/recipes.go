package server

import (
	"context"
	"fmt"
	"time"

	"github.com/shopspring/decimal"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/once"
	"tackfree/pkg/outbox"
	"tackfree/pkg/page"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	"tackfree/services/materials/internal/materials"
	"tackfree/services/materials/internal/store"
)

// SaveRecipe implements MixService.
func (s *Server) SaveRecipe(ctx context.Context, r *materialsv1.SaveRecipeRequest) (*materialsv1.SaveRecipeResponse, error) {
	now := s.Shop.Now()
	recipe, err := decodeRecipe(r.Recipe)
	if err != nil {
		return nil, err
	}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*materialsv1.SaveRecipeResponse, error) {
		st, recipe := store.New(tx), recipe
		if r.Recipe.Name == "" {
			recipe.ID = id.New()
		} else if recipe.Version, err = lockRecipe(ctx, st, recipe.ID, r.Etag); err != nil {
			return nil, err
		}
		makes, err := fillRecipe(ctx, st, &recipe, r.Recipe)
		if err != nil {
			return nil, err
		}
		if circular, err := st.Circular(ctx, recipe); err != nil {
			return nil, err
		} else if circular {
			return nil, madeOfItself(makes)
		}
		recipe.Version++
		tx.After(s.changedAll)
		if err := st.SaveRecipe(ctx, recipe); err != nil {
			return nil, err
		}
		return &materialsv1.SaveRecipeResponse{Recipe: encodeRecipe(store.Recipe{Recipe: recipe, Product: makes})}, s.Log.Append(ctx, tx, outbox.Event{
			Kind: "recipe", Aggregate: recipe.ID, Version: recipe.Version, OccurredAt: now,
			Payload: recipeSaved(recipe, makes)}, now)
	})
}

func madeOfItself(p materials.Product) error {
	return fault.New(fault.Invalid, "MADE_OF_ITSELF", "By the recipes of its parts, %s would be made of itself; make it a product of its own.", p.Name).At("recipe.parts")
}

// lockRecipe gives the version of a recipe that is written anew. Faults: RECIPE_NOT_FOUND, ETAG_MISMATCH.
func lockRecipe(ctx context.Context, st store.Store, recipe id.ID, etag string) (int64, error) {
	old, err := st.LockRecipe(ctx, recipe)
	if err != nil {
		return 0, err
	}
	return old.Version, wire.CheckEtag(etag, old.Version)
}

// decodeRecipe reads a recipe but for its products.
func decodeRecipe(m *materialsv1.Recipe) (r materials.Recipe, err error) {
	r = materials.Recipe{Keeps: time.Duration(m.KeepsMinutes) * time.Minute, Note: wire.Name(m.Note)}
	if m.Name != "" {
		if r.ID, err = id.One("recipe.name", m.Name, "recipes"); err != nil {
			return r, err
		}
	}
	if r.Makes, err = id.One("recipe.makes", m.Makes, "products"); err != nil {
		return r, err
	}
	r.Name, err = nameOf("recipe.display_name", m.DisplayName)
	return r, err
}

// fillRecipe reads the products of a recipe and how much of each goes into it.
func fillRecipe(ctx context.Context, st store.Store, r *materials.Recipe, m *materialsv1.Recipe) (makes materials.Product, err error) {
	if makes, err = st.Get(ctx, r.Makes); err != nil {
		return makes, notFoundAt("recipe.makes", err)
	}
	for n, part := range m.Parts {
		field := fmt.Sprintf("recipe.parts[%d].", n)
		product, err := id.One(field+"product", part.Product, "products")
		if err != nil {
			return makes, err
		}
		p := materials.RecipePart{}
		if p.Product, err = st.Get(ctx, product); err != nil {
			return makes, notFoundAt(field+"product", err)
		}
		if part.GetToEach() != nil {
			p.ToEach, err = counted(field+"to_each", part.GetToEach(), p.Product.Unit)
		} else {
			p.Parts, err = partsOf(field+"parts", part.GetParts())
		}
		if err != nil {
			return makes, err
		}
		r.Parts = append(r.Parts, p)
	}
	return makes, r.Check(makes)
}

// partsOf reads a number of parts. Fault: QUANTITY_NOT_POSITIVE.
func partsOf(field, typed string) (decimal.Decimal, error) {
	d, err := decimal.NewFromString(typed)
	if err != nil || !d.IsPositive() {
		return d, fault.New(fault.Invalid, "QUANTITY_NOT_POSITIVE", "%s must be above zero, such as 3 or 0.5.", fault.The(field)).At(field)
	}
	return d, nil
}

func encodeRecipe(r store.Recipe) *materialsv1.Recipe {
	out := &materialsv1.Recipe{Name: id.Name("recipes", r.ID), DisplayName: r.Name, Makes: id.Name("products", r.Makes), MakesName: r.Product.Name,
		KeepsMinutes: int32(r.Keeps.Minutes()), Note: r.Note, Etag: wire.Etag(r.Version)}
	for _, p := range r.Parts {
		m := &materialsv1.Recipe_Part{Product: id.Name("products", p.Product.ID), ProductName: p.Product.Name}
		if p.Parts.IsPositive() {
			m.Share = &materialsv1.Recipe_Part_Parts{Parts: p.Parts.String()}
		} else {
			m.Share = &materialsv1.Recipe_Part_ToEach{ToEach: amountOf(p.Product, p.ToEach)}
		}
		out.Parts = append(out.Parts, m)
	}
	return out
}

func recipeSaved(r materials.Recipe, makes materials.Product) *eventsv1.RecipeSaved {
	out := &eventsv1.RecipeSaved{RecipeId: r.ID.String(), DisplayName: r.Name, ProductId: makes.ID.String(), KeepsMinutes: int32(r.Keeps.Minutes())}
	for _, p := range r.Parts {
		part := &eventsv1.RecipeSaved_Part{ProductId: p.Product.ID.String(), ProductName: p.Product.Name}
		if p.Parts.IsPositive() {
			part.Parts = p.Parts.String()
		} else {
			part.ToEach = amountOf(p.Product, p.ToEach)
		}
		out.Parts = append(out.Parts, part)
	}
	return out
}

// GetRecipe implements MixService.
func (s *Server) GetRecipe(ctx context.Context, r *materialsv1.GetRecipeRequest) (*materialsv1.GetRecipeResponse, error) {
	recipe, err := id.One("name", r.Name, "recipes")
	if err != nil {
		return nil, err
	}
	out := &materialsv1.GetRecipeResponse{}
	err = s.DB.Snapshot(ctx, func(q pg.Querier) error {
		found, err := store.New(q).Recipe(ctx, recipe)
		if err != nil {
			return notFoundAt("name", err)
		}
		out.Recipe = encodeRecipe(found)
		return nil
	})
	return out, err
}

// ListRecipes implements MixService.
func (s *Server) ListRecipes(ctx context.Context, r *materialsv1.ListRecipesRequest) (*materialsv1.ListRecipesResponse, error) {
	var after string
	if err := page.Read(r.PageToken, &after); err != nil {
		return nil, err
	}
	size := page.Size(r.PageSize)
	var recipes []store.Recipe
	err := s.DB.Snapshot(ctx, func(q pg.Querier) (err error) {
		recipes, err = store.New(q).Recipes(ctx, after, size)
		return err
	})
	if err != nil {
		return nil, err
	}
	out := &materialsv1.ListRecipesResponse{NextPageToken: page.Next(recipes, size, func(r store.Recipe) any { return r.Name })}
	for _, recipe := range recipes {
		out.Recipes = append(out.Recipes, encodeRecipe(recipe))
	}
	return out, nil
}
