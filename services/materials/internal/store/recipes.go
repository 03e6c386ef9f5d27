package store

import (
	"context"
	"errors"
	"time"

	"github.com/jackc/pgx/v5"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/wire"
	"tackfree/services/materials/internal/materials"
	"tackfree/services/materials/internal/store/storedb"
)

// Recipe is a recipe beside the product that it makes.
type Recipe struct {
	materials.Recipe
	Product materials.Product
}

// SaveRecipe writes a recipe in place of the one before. Fault at commit: RECIPE_NAME_TAKEN.
func (s Store) SaveRecipe(ctx context.Context, r materials.Recipe) error {
	err := errors.Join(s.q.InsertRecipe(ctx, storedb.InsertRecipeParams{ID: r.ID, DisplayName: r.Name, NameKey: wire.NameKey(r.Name), MakesID: r.Makes,
		KeepsMinutes: int32(r.Keeps.Minutes()), Note: r.Note, Version: r.Version}), s.q.DeleteRecipeParts(ctx, r.ID))
	for n, p := range r.Parts {
		err = errors.Join(err, s.q.InsertRecipePart(ctx, storedb.InsertRecipePartParams{RecipeID: r.ID, Number: int32(n), ProductID: p.Product.ID, Parts: p.Parts, ToEach: p.ToEach}))
	}
	return err
}

// Circular says whether what a recipe makes is, by whatever recipes, one of its own parts.
func (s Store) Circular(ctx context.Context, r materials.Recipe) (bool, error) {
	parts := make([]id.ID, len(r.Parts))
	for n, p := range r.Parts {
		parts[n] = p.Product.ID
	}
	return s.q.MadeOf(ctx, storedb.MadeOfParams{Parts: parts, RecipeID: r.ID, MakesID: r.Makes})
}

// LockRecipe is Recipe, and keeps others from changing it until the transaction ends.
func (s Store) LockRecipe(ctx context.Context, recipe id.ID) (Recipe, error) {
	if err := s.q.LockRecipe(ctx, recipe); err != nil {
		return Recipe{}, err
	}
	return s.Recipe(ctx, recipe)
}

// Recipe reads a recipe. Fault: RECIPE_NOT_FOUND.
func (s Store) Recipe(ctx context.Context, recipe id.ID) (Recipe, error) {
	row, err := s.q.GetRecipe(ctx, recipe)
	if errors.Is(err, pgx.ErrNoRows) {
		return Recipe{}, fault.New(fault.NotFound, "RECIPE_NOT_FOUND", "There is no such recipe; look it up in the list.").At("recipe")
	}
	if err != nil {
		return Recipe{}, err
	}
	all, err := s.withRecipeParts(ctx, []storedb.ListRecipesRow{storedb.ListRecipesRow(row)})
	if err != nil {
		return Recipe{}, err
	}
	return all[0], nil
}

// Recipes reads up to limit recipes whose names come after a name, by name.
func (s Store) Recipes(ctx context.Context, after string, limit int32) ([]Recipe, error) {
	rows, err := s.q.ListRecipes(ctx, storedb.ListRecipesParams{AfterKey: wire.NameKey(after), PageLimit: limit})
	if err != nil {
		return nil, err
	}
	return s.withRecipeParts(ctx, rows)
}

func (s Store) withRecipeParts(ctx context.Context, rows []storedb.ListRecipesRow) ([]Recipe, error) {
	out, at, all := make([]Recipe, len(rows)), map[id.ID]*Recipe{}, make([]id.ID, len(rows))
	for n, row := range rows {
		makes, err := fromRow(row.Product)
		if err != nil {
			return nil, err
		}
		r := row.Recipe
		out[n] = Recipe{Product: makes, Recipe: materials.Recipe{ID: r.ID, Name: r.DisplayName, Makes: r.MakesID,
			Keeps: time.Duration(r.KeepsMinutes) * time.Minute, Note: r.Note, Version: r.Version}}
		at[r.ID], all[n] = &out[n], r.ID
	}
	parts, err := s.q.ListRecipeParts(ctx, all)
	if err != nil {
		return nil, err
	}
	for _, row := range parts {
		p, err := fromRow(row.Product)
		if err != nil {
			return nil, err
		}
		r := at[row.RecipePart.RecipeID]
		r.Parts = append(r.Parts, materials.RecipePart{Product: p, Parts: row.RecipePart.Parts, ToEach: row.RecipePart.ToEach})
	}
	return out, nil
}
