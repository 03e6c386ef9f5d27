package books

import (
	"context"

	"tackfree/pkg/id"
	"tackfree/services/costing/internal/costing"
	"tackfree/services/costing/internal/store"
)

// weeks settles the workweeks of people that the book's labour, or what it is paid by, changes.
// Nothing is read in a shop that has no pay rule.
func weeks(ctx context.Context, st store.Store, b *costing.Book) error {
	needs := b.Needs()
	if len(needs) == 0 {
		return nil
	}
	before, err := st.LabourWithin(ctx, needs)
	if err != nil {
		return err
	}
	want, causes := b.SettleWeeks(before)
	return settle(ctx, st, b, costing.PayWeek, want, func(g id.ID) costing.Cause { return causes[g] })
}
