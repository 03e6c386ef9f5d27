package cli

import (
	"context"
	"fmt"
	"slices"
	"strings"

	intakev1 "tackfree/proto/tackfree/intake/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/client"
)

// planWith says what the steps of a route are done with on a piece.
type planWith struct {
	With []string `help:"What a step is done with: the product, by the step's key in the route; of one part alone with its label before it. Repeat for each." placeholder:"[LABEL/]STEP=PRODUCT" sep:"none"`
}

// add puts the products into the request, however they were ordered: the same plan asked for
// again is the same request.
func (c *planWith) add(ctx context.Context, shop *client.Shop, p *intakev1.Piece, r *workflowv1.PlanStagesRequest) error {
	if len(c.With) == 0 {
		return nil
	}
	shelf, err := shop.AllProducts(ctx)
	if err != nil {
		return err
	}
	for _, text := range slices.Sorted(slices.Values(c.With)) {
		step, called, err := pair(text, "paint=Cream")
		if err != nil {
			return err
		}
		product, err := client.ProductOf(shelf, called)
		if err != nil {
			return err
		}
		label, key, ofPart := strings.Cut(step, "/")
		if !ofPart {
			r.Products = append(r.Products, &workflowv1.PlanStagesRequest_StepProduct{Step: step, Product: product.Name})
			continue
		}
		name, err := client.Part(p, label)
		if err != nil {
			return fmt.Errorf("--with %s: %w", text, err)
		}
		own := partIn(r, name)
		own.Products = append(own.Products, &workflowv1.PlanStagesRequest_StepProduct{Step: key, Product: product.Name})
	}
	return nil
}

// partIn is what the request says of a part, which until then may be nothing.
func partIn(r *workflowv1.PlanStagesRequest, name string) *workflowv1.PlanStagesRequest_PartRoute {
	for _, part := range r.Parts {
		if part.Part == name {
			return part
		}
	}
	part := &workflowv1.PlanStagesRequest_PartRoute{Part: name}
	r.Parts = append(r.Parts, part)
	return part
}
