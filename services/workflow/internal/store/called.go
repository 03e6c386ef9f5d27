package store

import (
	"context"

	"tackfree/pkg/id"
	"tackfree/services/workflow/internal/workflow"
)

// Called reads what the stages and parts of pieces are called, and what batches are, by id. Of
// what nobody asks for it reads nothing.
func (s Store) Called(ctx context.Context, pieces, batches []id.ID) (map[string]string, error) {
	names := map[string]string{}
	if len(pieces) > 0 {
		stages, err := s.q.StagesCalled(ctx, pieces)
		if err != nil {
			return nil, err
		}
		for _, row := range stages {
			names[row.ID.String()] = workflow.Stage{Key: row.Key, PartLabel: row.PartLabel}.Title()
		}
		parts, err := s.q.PartsCalled(ctx, pieces)
		if err != nil {
			return nil, err
		}
		for _, row := range parts {
			names[row.ID.String()] = row.Label
		}
	}
	if len(batches) == 0 {
		return names, nil
	}
	rows, err := s.q.BatchesCalled(ctx, batches)
	for _, row := range rows {
		names[row.ID.String()] = row.DisplayName
	}
	return names, err
}
