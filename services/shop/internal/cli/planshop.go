package cli

import (
	"context"
	"fmt"
	"maps"
	"slices"
	"strings"

	"tackfree/pkg/dimension"
	"tackfree/pkg/finish"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/client"
)

// wishes writes what the file says into a request about a piece in the shop: its parts by
// their labels there, its products by their names on the shelf.
func (f planFile) wishes(ctx context.Context, shop *client.Shop, p *intakev1.Piece, r *workflowv1.DraftFinishPlanRequest) error {
	shelf, err := shop.AllProducts(ctx)
	if err != nil {
		return err
	}
	if r.Products, err = chosen("products", f.Products, shelf); err != nil {
		return err
	}
	for i, part := range f.Parts {
		place := fmt.Sprintf("parts[%d]", i)
		w, err := part.wish(place)
		if err != nil {
			return err
		}
		if w.Part, err = client.Part(p, part.Label); err != nil {
			return err
		}
		if w.Products, err = chosen(place+".products", part.Products, shelf); err != nil {
			return err
		}
		r.Parts = append(r.Parts, w)
	}
	return nil
}

// chosen finds the products of a file on the shelf.
func chosen(place string, products map[string]planProduct, shelf []*materialsv1.Product) (out []*workflowv1.ChosenProduct, err error) {
	for _, use := range slices.Sorted(maps.Keys(products)) {
		known, found := workflowv1.ProductUse_value["PRODUCT_USE_"+strings.ToUpper(use)]
		if !found || known == 0 {
			return nil, fmt.Errorf("%s.%s: there is no such use", place, use)
		}
		product, err := client.ProductOf(shelf, products[use].Name)
		if err != nil {
			return nil, fmt.Errorf("%s.%s: %w", place, use, err)
		}
		out = append(out, &workflowv1.ChosenProduct{Use: workflowv1.ProductUse(known), Product: product.Name})
	}
	return out, nil
}

// materials are the wire's names for what parts are made of.
var materials = map[finish.Material]workflowv1.Assessment_Material{
	finish.SolidWood: workflowv1.Assessment_MATERIAL_SOLID_WOOD, finish.Veneer: workflowv1.Assessment_MATERIAL_VENEER, finish.MDF: workflowv1.Assessment_MATERIAL_MDF,
	finish.Laminate: workflowv1.Assessment_MATERIAL_LAMINATE, finish.Metal: workflowv1.Assessment_MATERIAL_METAL,
}

// wish is the part as a request says it. Without an area the shop goes by the part's
// measures. A test for lead is not said here: it is recorded.
func (p planPart) wish(place string) (*workflowv1.PartWish, error) {
	w := &workflowv1.PartWish{Look: string(p.Look), Coats: int32(p.Coats), Topcoats: int32(p.Topcoats), Waxed: p.WaxLast, MatchGroup: p.MatchGroup,
		Assessment: &workflowv1.Assessment{Material: materials[p.Material], Species: p.Species, VeneerMm: p.VeneerMM, OldFinish: string(p.OldFinish),
			Waxed: p.Waxed, OldStain: p.OldStain, PaintedIn: int32(p.PaintedIn)}}
	for _, d := range p.Defects {
		w.Assessment.Defects = append(w.Assessment.Defects, string(d))
	}
	if p.Lead != finish.LeadUntested {
		return nil, fmt.Errorf("%s.lead: the shop keeps tests for lead; enter it with `shop test lead`", place)
	}
	var err error
	if p.Area != "" {
		if w.AreaM2, err = dimension.Area.Parse(p.Area); err != nil {
			return nil, inFile(place+".area", err)
		}
	}
	return w, nil
}
