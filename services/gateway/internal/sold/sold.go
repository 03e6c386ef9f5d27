// Package sold knows which pieces of the board were sold. The floor knows it a moment after sales; a page that is
// fetched because something was sold asks sales itself, and shows nothing that was left to do on it.
//
//	board lines ─▶ Among ─▶ sales: of these pieces, which ─▶ names of those that are no work any more
package sold

import (
	"context"
	"errors"
	"slices"

	"tackfree/pkg/fault"
	salesv1 "tackfree/proto/tackfree/sales/v1"
)

// atOnce is the most that sales answers at once.
const atOnce = 1000

// Among gives those of some pieces, pieces/{id}, that are sold, or invoiced. Without sales none is known to be.
func Among(ctx context.Context, sales salesv1.SalesServiceClient, pieces []string) (map[string]bool, error) {
	out := map[string]bool{}
	for some := range slices.Chunk(pieces, atOnce) {
		r, err := sales.ListListings(ctx, &salesv1.ListListingsRequest{Pieces: some, PageSize: atOnce})
		if errors.Is(err, fault.Unavailable) || errors.Is(err, fault.Denied) { // or the reader's program may not ask it
			return map[string]bool{}, nil
		}
		if err != nil {
			return nil, err
		}
		for _, l := range r.Listings {
			if l.State == salesv1.Listing_STATE_SOLD {
				out[l.Piece] = true
			}
		}
	}
	return out, nil
}
