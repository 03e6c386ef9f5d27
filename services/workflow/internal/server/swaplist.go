package server

import (
	"context"
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/page"
	"tackfree/pkg/pg"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

// swapsListed is for how long an offer that has ended is listed.
const swapsListed = 7 * 24 * time.Hour

// ListSwaps implements SwapService.
func (s *Server) ListSwaps(ctx context.Context, r *workflowv1.ListSwapsRequest) (*workflowv1.ListSwapsResponse, error) {
	person, err := id.One("person", r.Person, "people")
	if err != nil {
		return nil, err
	}
	var before id.ID
	if err := page.Read(r.PageToken, &before); err != nil {
		return nil, err
	}
	size, since, found := page.Size(r.PageSize), s.Shop.Now().Add(-swapsListed), 0
	out := &workflowv1.ListSwapsResponse{}
	err = s.DB.Snapshot(ctx, func(q pg.Querier) error {
		st := store.New(q)
		swaps, err := st.Swaps(ctx, person, since, before, size)
		if err != nil {
			return err
		}
		standings, err := st.Standings(ctx, swaps...)
		if err != nil {
			return err
		}
		found, out.NextPageToken = len(swaps), page.Next(swaps, size, func(w workflow.Swap) any { return w.ID })
		for _, w := range swaps {
			out.Swaps = append(out.Swaps, encodeSwap(w, standingsOf(w, standings)))
		}
		return nil
	})
	if err == nil {
		err = s.listedOf(ctx, found, person, id.Nil)
	}
	return out, err
}
