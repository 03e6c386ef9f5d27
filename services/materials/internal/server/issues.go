package server

import (
	"context"

	"tackfree/pkg/id"
	"tackfree/pkg/once"
	"tackfree/pkg/page"
	"tackfree/pkg/pg"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	"tackfree/services/materials/internal/materials"
	"tackfree/services/materials/internal/store"
)

// IssueMaterial implements MaterialsService. What the others say of the stage and its
// piece is judged inside, where a command that was done already is answered as it was,
// even if the piece has been scrapped since.
func (s *Server) IssueMaterial(ctx context.Context, r *materialsv1.IssueMaterialRequest) (*materialsv1.IssueMaterialResponse, error) {
	now := s.Shop.Now()
	asked, err := s.decodeIssuing(r.Product, r.Quantity, r.Lot, r.OverrideReason, r.IssueTime)
	if err != nil {
		return nil, err
	}
	to, err := decodeStage(r.Stage)
	if err != nil {
		return nil, err
	}
	stage, stageErr := s.stage(ctx, to, asked.at)
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*materialsv1.IssueMaterialResponse, error) {
		if stageErr != nil {
			return nil, stageErr
		}
		n, err := s.open(ctx, tx, now, asked.product, []id.ID{asked.lot}, stage.Piece)
		if err != nil {
			return nil, err
		}
		e := asked.entry(n.entry(ctx, asked.at, r.IssueTime))
		e.To = stage
		if e, err = n.shelf.Product.Issue(e, asked.amount); err != nil {
			return nil, err
		}
		if err := s.post(ctx, tx, n, e); err != nil {
			return nil, err
		}
		issue := materials.Issue{Posted: n.shelf.Posted[0]}
		return &materialsv1.IssueMaterialResponse{Issue: s.encodeIssue(n.shelf.Product, issue), Product: s.encode(n.shelf.Product), Recostings: s.encodeRecosted(n)}, nil
	})
}

// TakeBackIssue implements MaterialsService. Nobody is asked about the piece: what was
// booked wrongly is put right whatever has become of it.
func (s *Server) TakeBackIssue(ctx context.Context, r *materialsv1.TakeBackIssueRequest) (*materialsv1.TakeBackIssueResponse, error) {
	now := s.Shop.Now()
	product, issueID, err := decodeBack(r.Issue)
	if err != nil {
		return nil, err
	}
	at, err := s.Shop.Instant("take_back_time", r.TakeBackTime)
	if err != nil {
		return nil, err
	}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*materialsv1.TakeBackIssueResponse, error) {
		issue, shelf, pieces, err := store.New(tx).LockIssue(ctx, product, issueID)
		if err != nil {
			return nil, err
		}
		shelf.Zone = s.Shop.Zone
		n := &noting{shelf: shelf, pieces: pieces, now: now}
		e := n.entry(ctx, at, r.TakeBackTime)
		e.Reason = r.Reason
		if e, err = issue.TakeBack(e); err != nil {
			return nil, err
		}
		if err := s.post(ctx, tx, n, e); err != nil {
			return nil, err
		}
		issue.Back = &materials.TakeBack{Reason: e.Reason, At: e.UndoneAt, Actor: e.Actor}
		return &materialsv1.TakeBackIssueResponse{Issue: s.encodeIssue(shelf.Product, issue), Product: s.encode(shelf.Product), Recostings: s.encodeRecosted(n)}, nil
	})
}

// ListIssues implements MaterialsService.
func (s *Server) ListIssues(ctx context.Context, r *materialsv1.ListIssuesRequest) (*materialsv1.ListIssuesResponse, error) {
	filter, err := decodeFilter(r)
	if err != nil {
		return nil, err
	}
	var before store.EntryKey
	if err := page.Read(r.PageToken, &before); err != nil {
		return nil, err
	}
	size := page.Size(r.PageSize)
	var issues []store.Issue
	err = s.DB.Snapshot(ctx, func(q pg.Querier) (err error) {
		issues, err = store.New(q).Issues(ctx, filter, before, size)
		return err
	})
	if err != nil {
		return nil, err
	}
	out := &materialsv1.ListIssuesResponse{NextPageToken: page.Next(issues, size, func(i store.Issue) any {
		return store.EntryKey{At: i.At, ID: i.ID}
	})}
	for _, i := range issues {
		out.Issues = append(out.Issues, s.encodeIssue(i.Product, i.Issue))
	}
	return out, nil
}
