package server

import (
	"context"
	"fmt"

	"tackfree/pkg/id"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/workflow/internal/workflow"
)

// stepProducts reads with what steps are to be done, and asks materials what that is called and
// warns of. Fault: PRODUCT_NOT_FOUND, at the field.
func (s *Server) stepProducts(ctx context.Context, r *workflowv1.PlanStagesRequest) ([]workflow.StepProduct, error) {
	named, err := decodeStepProducts("products", id.Nil, r.Products)
	if err != nil {
		return nil, err
	}
	for i, p := range r.Parts {
		at := fmt.Sprintf("parts[%d]", i)
		ids, err := id.FromName(at+".part", p.Part, "pieces", "parts")
		if err != nil {
			return nil, err
		}
		own, err := decodeStepProducts(at+".products", ids[1], p.Products)
		if err != nil {
			return nil, err
		}
		named = append(named, own...)
	}
	return named, s.call(ctx, named)
}

func decodeStepProducts(field string, part id.ID, products []*workflowv1.PlanStagesRequest_StepProduct) (out []workflow.StepProduct, err error) {
	for i, p := range products {
		n := workflow.StepProduct{Step: p.Step, Part: part, Field: fmt.Sprintf("%s[%d]", field, i)}
		if n.Product, err = id.One(n.Field+".product", p.Product, "products"); err != nil {
			return nil, err
		}
		out = append(out, n)
	}
	return out, nil
}

// call gives the products the names that materials has for them, and the cautions.
func (s *Server) call(ctx context.Context, named []workflow.StepProduct) error {
	asked := make([]askedFor, len(named))
	for i, n := range named {
		asked[i] = askedFor{n.Field + ".product", n.Product}
	}
	told, err := s.products(ctx, asked)
	by := map[id.ID]workflow.PlanProduct{}
	for _, p := range told {
		by[p.ID] = p
	}
	for i, n := range named {
		named[i].Name, named[i].Warns = by[n.Product].Name, by[n.Product].Warns()
	}
	return err
}
