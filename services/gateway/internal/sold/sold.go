// Package sold knows which pieces of the board were sold. The floor knows it a moment after sales; a page that is
// fetched because something was sold asks sales itself, and shows nothing that was left to do on it. What is sold and
// came back to be mended is work like any: of that only the floor knows, for it stays sold in sales.
//
//	board lines ─▶ Among ─▶ sales: of these pieces, which ─▶ floor: but those that came back ─▶ names of those that are no work any more
package sold

import (
	"context"
	"errors"
	"slices"

	"tackfree/pkg/clients"
	"tackfree/pkg/fault"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// atOnce is the most that sales and the floor answer at once.
const atOnce = 1000

// Among gives those of some pieces, pieces/{id}, that are sold, or invoiced, and are not here to be mended. Without sales
// none is known to be.
func Among(ctx context.Context, sales salesv1.SalesServiceClient, floor workflowv1.FloorServiceClient, pieces []string) (map[string]bool, error) {
	out := map[string]bool{}
	for some := range slices.Chunk(pieces, atOnce) {
		r, err := sales.ListListings(ctx, &salesv1.ListListingsRequest{Pieces: some, PageSize: atOnce})
		if unasked(err) {
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
	if len(out) == 0 {
		return out, nil
	}
	back, err := Back(ctx, floor)
	for piece := range back {
		delete(out, piece)
	}
	return out, err
}

// Back gives the open come-backs, comebacks/{id}, by their pieces, pieces/{id}. Without the floor none is known.
func Back(ctx context.Context, floor workflowv1.FloorServiceClient) (map[string]string, error) {
	lines, err := clients.All(ctx, func(ctx context.Context, token string) ([]*workflowv1.BoardLine, string, error) {
		r, err := floor.ListBoard(ctx, &workflowv1.ListBoardRequest{States: whatever, CameBack: true, PageSize: atOnce, PageToken: token})
		return r.GetLines(), r.GetNextPageToken(), err
	})
	if unasked(err) {
		return nil, nil
	}
	out := map[string]string{}
	for _, l := range lines {
		if l.Comeback != "" {
			out[l.Piece] = l.Comeback
		}
	}
	return out, err
}

// whatever are all states that a piece which came back can be in: nobody may have laid out yet how it is mended.
var whatever = []workflowv1.BoardLine_State{workflowv1.BoardLine_STATE_IN_WORK, workflowv1.BoardLine_STATE_READY, workflowv1.BoardLine_STATE_DRYING,
	workflowv1.BoardLine_STATE_AWAY, workflowv1.BoardLine_STATE_DONE, workflowv1.BoardLine_STATE_UNPLANNED, workflowv1.BoardLine_STATE_SOLD}

// unasked reports whether a service is away, or may not be asked by the reader's program.
func unasked(err error) bool {
	return errors.Is(err, fault.Unavailable) || errors.Is(err, fault.Denied)
}
