package server

import (
	"slices"

	"tackfree/pkg/finish"
	"tackfree/pkg/id"
	"tackfree/pkg/quantity"
	"tackfree/pkg/wire"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	"tackfree/services/workflow/internal/workflow"
)

// decodeProduct reads what materials says of a product.
func decodeProduct(i id.ID, m *materialsv1.Product) (workflow.PlanProduct, error) {
	p := workflow.PlanProduct{ID: i, Name: m.DisplayName, Sheet: wire.FromSheet(m.CoatingSheet), Factor: m.UsageFactor, Cautions: knownCautions(m.Details.GetCautions())}
	if m.OnHand == nil {
		return p, nil
	}
	q, err := quantity.Parse(m.OnHand.Value, m.OnHand.Unit)
	if err == nil {
		p.OnHand = workflow.NewPlanAmount(q)
	}
	return p, err
}

// knownCautions are those of which there is a text: nobody could read another, nor acknowledge it.
func knownCautions(ids []string) []string {
	return slices.DeleteFunc(slices.Clone(ids), func(i string) bool {
		_, known := finish.FindHazard(i)
		return !known
	})
}
