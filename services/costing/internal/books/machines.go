package books

import (
	"context"

	"tackfree/services/costing/internal/costing"
	"tackfree/services/costing/internal/store"
)

// machines settles what stages carry by the machine hour. Where no machine ever had a rate, nothing is
// read.
func machines(ctx context.Context, st store.Store, b *costing.Book) error {
	stages, pieces := b.Reruns()
	if len(stages) == 0 {
		return nil
	}
	before, err := st.StretchesOn(ctx, stages, pieces)
	if err != nil {
		return err
	}
	rates, err := st.OverheadRates(ctx)
	if err != nil {
		return err
	}
	return settle(ctx, st, b, costing.Machine, b.MachineHours(before, rates), b.WhyRerun)
}
