package piece

import (
	"context"

	"tackfree/pkg/clients"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/gateway/internal/bands"
	"tackfree/services/gateway/internal/pages/piece/film"
)

// nameIssued gives stages that lay a coat and for which nobody chose a product that of the first can that was taken for
// them. While materials cannot be asked they stay without.
func nameIssued(ctx context.Context, s *clients.Suite, piece string, stages []*workflowv1.Stage) error {
	var open []*workflowv1.Stage
	for _, st := range stages {
		if st.Product == "" && film.Coats(st.Kind) {
			open = append(open, st)
		}
	}
	if len(open) == 0 {
		return nil
	}
	issues, err := issuesOf(ctx, s, piece)
	for _, i := range issues {
		st := stageNamed(open, i.Stage)
		if st == nil || i.TakenBack || st.Product != "" {
			continue
		}
		st.Product, st.ProductName = productOf(i.Name), i.ProductName
	}
	return new(bands.Missing).Of(err)
}
