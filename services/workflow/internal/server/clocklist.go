package server

import (
	"context"

	"google.golang.org/protobuf/types/known/timestamppb"

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
	if err == nil {
		err = s.listedOf(ctx, len(entries), filter.Person, filter.Piece)
	}
	if err != nil {
		return nil, err
	}
	return &workflowv1.ListClockEntriesResponse{ClockEntries: encodeEntries(entries),
		NextPageToken: page.Next(entries, size, func(e workflow.Entry) any { return store.Mark{Start: e.Start, ID: e.ID} })}, nil
}

// filtering is a request that chooses entries.
type filtering interface {
	GetPerson() string
	GetPiece() string
	GetFromTime() *timestamppb.Timestamp
	GetToTime() *timestamppb.Timestamp
}

// readFilter reads what chooses entries. Faults: INVALID_NAME, TIME_MALFORMED, FROM_AFTER_TO.
func readFilter(r filtering) (f store.Filter, err error) {
	if r.GetPerson() != "" {
		if f.Person, err = id.One("person", r.GetPerson(), "people"); err != nil {
			return f, err
		}
	}
	if r.GetPiece() != "" {
		if f.Piece, err = id.One("piece", r.GetPiece(), "pieces"); err != nil {
			return f, err
		}
	}
	f.From, f.To, err = between(r.GetFromTime(), r.GetToTime())
	return f, err
}
