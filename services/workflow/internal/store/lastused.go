package store

import (
	"context"

	"tackfree/services/workflow/internal/store/storedb"
	"tackfree/services/workflow/internal/workflow"
)

// recentPlans are as many as show what a shop uses now.
const recentPlans = 50

// LastUsed reads what the newest approved plans used for each of some uses, where any did.
func (s Store) LastUsed(ctx context.Context, uses []workflow.Use) ([]workflow.PlanChoice, error) {
	words := make([]string, len(uses))
	for i, u := range uses {
		words[i] = string(u)
	}
	rows, err := s.q.LastUsed(ctx, storedb.LastUsedParams{Plans: recentPlans, Uses: words})
	out := make([]workflow.PlanChoice, len(rows))
	for i, row := range rows {
		out[i] = workflow.PlanChoice{Use: workflow.Use(row.Use), Product: row.ProductID}
	}
	return out, err
}
