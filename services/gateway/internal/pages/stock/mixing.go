package stock

import (
	"context"
	"strings"

	"tackfree/pkg/clients"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	"tackfree/services/gateway/internal/typed"
	"tackfree/services/gateway/internal/web"
)

// loadMixing reads by which recipes a product is mixed here, and what was mixed lately. Of a product that
// no recipe makes nothing was.
func (p *onePage) loadMixing(ctx context.Context, s *clients.Suite) error {
	recipes, err := clients.All(ctx, func(ctx context.Context, token string) ([]*materialsv1.Recipe, string, error) {
		r, err := s.Mixes.ListRecipes(ctx, &materialsv1.ListRecipesRequest{PageSize: many, PageToken: token})
		return r.GetRecipes(), r.GetNextPageToken(), err
	})
	for _, r := range recipes {
		if r.Makes == p.Product.Name {
			p.Forms.Recipes = append(p.Forms.Recipes, r)
		}
	}
	if err != nil || len(p.Forms.Recipes) == 0 {
		return err
	}
	r, err := s.Mixes.ListMixes(ctx, &materialsv1.ListMixesRequest{Product: p.Product.Name, PageSize: short})
	for _, m := range r.GetMixes() {
		if !m.Undone {
			p.Forms.Mixes = append(p.Forms.Mixes, m)
		}
	}
	return err
}

// mix mixes some of a product by a recipe, or like a mix that was made before.
func mix(a *web.Asked, f *typed.Form) error {
	r := &materialsv1.MakeMixRequest{RequestId: a.RequestID(), Quantity: f.Quantity("amount", "unit"), Yield: f.Quantity("yield", "unit"), Place: f.Text("place"),
		Note: f.Text("note"), OverrideReason: f.Text("override")}
	if like := f.Text("by"); isMix(like) {
		r.By = &materialsv1.MakeMixRequest_Like{Like: like}
	} else {
		r.By = &materialsv1.MakeMixRequest_Recipe{Recipe: like}
	}
	if err := f.Err(); err != nil {
		return err
	}
	if r.Quantity == nil {
		return missing(a, "QUANTITY_MISSING", "product.mix.missing")
	}
	_, err := a.Kit.Suite.Mixes.MakeMix(a.Context(), r)
	return err
}

// isMix reports whether a name is one of a mix.
func isMix(name string) bool { return strings.HasPrefix(name, "mixes/") }

func undoMix(a *web.Asked, f *typed.Form) error {
	_, err := a.Kit.Suite.Mixes.UndoMix(a.Context(), &materialsv1.UndoMixRequest{RequestId: a.RequestID(), Name: f.Text("mix"), Reason: f.Text("reason")})
	return err
}
