package server

import (
	"context"

	"tackfree/pkg/id"
	"tackfree/pkg/page"
	"tackfree/pkg/pg"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

// ListClockEntries implements ClockService.
func (s *Server) ListClockEntries(ctx context.Context, r *workflowv1.ListClockEntriesRequest) (*workflowv1.ListClockEntriesResponse, error) {
	filter, err := readFilter(r)
	if err != nil {
		return nil, err
	}
	var after store.Mark
	if err := page.Read(r.PageToken, &after); err != nil {
		return nil, err
	}
	size := page.Size(r.PageSize)
	var entries []workflow.Entry
	err = s.DB.View(ctx, func(q pg.Querier) (err error) {
		entries, err = store.New(q).Entries(ctx, filter, after, size)
		return err
	})
	if err != nil {
		return nil, err
	}
	return &workflowv1.ListClockEntriesResponse{ClockEntries: encodeEntries(entries),
		NextPageToken: page.Next(entries, size, func(e workflow.Entry) any { return store.Mark{Start: e.Start, ID: e.ID} })}, nil
}

func readFilter(r *workflowv1.ListClockEntriesRequest) (f store.Filter, err error) {
	if r.Person != "" {
		if f.Person, err = id.One("person", r.Person, "people"); err != nil {
			return f, err
		}
	}
	if r.Piece != "" {
		if f.Piece, err = id.One("piece", r.Piece, "pieces"); err != nil {
			return f, err
		}
	}
	if r.FromTime != nil {
		f.From = r.FromTime.AsTime()
	}
	if r.ToTime != nil {
		f.To = r.ToTime.AsTime()
	}
	return f, nil
}
