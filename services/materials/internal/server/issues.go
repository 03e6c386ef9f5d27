package server

import (
	"context"
	"errors"

	"tackfree/pkg/caller"
	"tackfree/pkg/once"
	"tackfree/pkg/page"
	"tackfree/pkg/pg"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	"tackfree/services/materials/internal/store"
)

// IssueMaterial implements MaterialsService. What the others say of the stage and its
// piece is judged inside, where a command that was done already is answered as it was,
// even if the piece has been scrapped since.
func (s *Server) IssueMaterial(ctx context.Context, r *materialsv1.IssueMaterialRequest) (*materialsv1.IssueMaterialResponse, error) {
	now := s.Shop.Now()
	productID, issue, amount, err := s.decodeIssue(r)
	if err != nil {
		return nil, err
	}
	stage, stageErr := s.stage(ctx, issue.Stage, issue.At)
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*materialsv1.IssueMaterialResponse, error) {
		if stageErr != nil {
			return nil, stageErr
		}
		st, issue := store.New(tx), issue
		p, piece, lots, err := st.LockWithLots(ctx, productID, issue.Stage.Piece)
		if err != nil {
			return nil, err
		}
		issue.Stage, issue.Actor = stage, caller.Of(ctx).Actor
		issue, facts, err := p.Issue(&piece, issue, amount, lots)
		if err != nil {
			return nil, err
		}
		if err := st.Issue(ctx, p, piece, issue); err != nil {
			return nil, err
		}
		return &materialsv1.IssueMaterialResponse{Issue: s.encodeIssue(p, issue), Product: s.encode(p)}, errors.Join(
			s.tellPiece(ctx, tx, piece, s.issued(p, issue), issue.At, now),
			s.tell(ctx, tx, p, facts, issue.At, now))
	})
}

// TakeBackIssue implements MaterialsService. Nobody is asked about the piece: what was
// booked wrongly is put right whatever has become of it.
func (s *Server) TakeBackIssue(ctx context.Context, r *materialsv1.TakeBackIssueRequest) (*materialsv1.TakeBackIssueResponse, error) {
	now := s.Shop.Now()
	productID, issueID, why, err := s.decodeTakeBack(r)
	if err != nil {
		return nil, err
	}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*materialsv1.TakeBackIssueResponse, error) {
		st, why := store.New(tx), why
		e, err := st.LockIssue(ctx, productID, issueID)
		if err != nil {
			return nil, err
		}
		p, piece := e.Product, e.Piece
		why.Actor = caller.Of(ctx).Actor
		issue, facts, err := p.TakeBack(&piece, e.Issue, why)
		if err != nil {
			return nil, err
		}
		if err := st.TakeBack(ctx, p, piece, issue); err != nil {
			return nil, err
		}
		return &materialsv1.TakeBackIssueResponse{Issue: s.encodeIssue(p, issue), Product: s.encode(p)}, errors.Join(
			s.tellPiece(ctx, tx, piece, s.takenBack(p, issue), why.At, now),
			s.tell(ctx, tx, p, facts, why.At, now))
	})
}

// ListIssues implements MaterialsService.
func (s *Server) ListIssues(ctx context.Context, r *materialsv1.ListIssuesRequest) (*materialsv1.ListIssuesResponse, error) {
	filter, err := decodeFilter(r)
	if err != nil {
		return nil, err
	}
	var before store.IssueKey
	if err := page.Read(r.PageToken, &before); err != nil {
		return nil, err
	}
	size := page.Size(r.PageSize)
	var entries []store.Entry
	err = s.DB.Snapshot(ctx, func(q pg.Querier) (err error) {
		entries, err = store.New(q).Issues(ctx, filter, before, size)
		return err
	})
	if err != nil {
		return nil, err
	}
	out := &materialsv1.ListIssuesResponse{NextPageToken: page.Next(entries, size, func(e store.Entry) any {
		return store.IssueKey{At: e.Issue.At, ID: e.Issue.ID}
	})}
	for _, e := range entries {
		out.Issues = append(out.Issues, s.encodeIssue(e.Product, e.Issue))
	}
	return out, nil
}
