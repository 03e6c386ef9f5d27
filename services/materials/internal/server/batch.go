package server

import (
	"context"
	"fmt"
	"slices"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/once"
	"tackfree/pkg/pg"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/materials/internal/materials"
)

// IssueToBatch implements MaterialsService. The others are asked before the transaction, as
// for IssueMaterial, and what they say is judged inside.
func (s *Server) IssueToBatch(ctx context.Context, r *materialsv1.IssueToBatchRequest) (*materialsv1.IssueToBatchResponse, error) {
	now := s.Shop.Now()
	asked, err := s.decodeIssuing(r.Product, r.Quantity, r.Lot, r.OverrideReason, r.IssueTime)
	if err != nil {
		return nil, err
	}
	batch, err := id.One("batch", r.Batch, "batches")
	if err != nil {
		return nil, err
	}
	shares, sharesErr := s.shares(ctx, batch, asked.at)
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*materialsv1.IssueToBatchResponse, error) {
		if sharesErr != nil {
			return nil, sharesErr
		}
		n, err := s.open(ctx, tx, now, asked.product, []id.ID{asked.lot}, piecesOf(shares)...)
		if err != nil {
			return nil, err
		}
		entries, err := n.shelf.Product.IssueShares(anew(shares), asked.entry(n.entry(ctx, asked.at, r.IssueTime)), asked.amount)
		if err != nil {
			return nil, err
		}
		if err := s.post(ctx, tx, n, entries...); err != nil {
			return nil, err
		}
		out := &materialsv1.IssueToBatchResponse{Product: s.encode(n.shelf.Product), Recostings: s.encodeRecosted(n)}
		for _, p := range n.shelf.Posted {
			out.Issues = append(out.Issues, s.encodeIssue(n.shelf.Product, materials.Issue{Posted: p}))
		}
		return out, nil
	})
}

// anew gives the entries of shares ids that are after all that was noted.
func anew(shares []materials.Share) []materials.Share {
	shares = slices.Clone(shares)
	for n := range shares {
		shares[n].ID = id.New()
	}
	return shares
}

// shares asks workflow for the stages that were in a batch and their weights, and of each for
// what an issue needs. That the batch is finished does not matter: the work was done. Faults:
// BATCH_NOT_FOUND, BATCH_DISSOLVED, STAGE_NOT_FOUND.
func (s *Server) shares(ctx context.Context, batch id.ID, at time.Time) ([]materials.Share, error) {
	r, err := s.Batches.GetBatch(ctx, &workflowv1.GetBatchRequest{Name: id.Name("batches", batch)})
	if err != nil {
		return nil, notFoundAt("batch", err)
	}
	if r.Batch.GetState() == workflowv1.Batch_STATE_DISSOLVED {
		return nil, fault.New(fault.Precondition, "BATCH_DISSOLVED",
			"The batch was dissolved, and its stages go on one by one; issue to each of them what it took.").At("batch")
	}
	var out []materials.Share
	for _, share := range sharing(r.Batch, at) {
		ids, err := id.FromName("stage", share.Stage, "pieces", "stages")
		if err != nil {
			return nil, fmt.Errorf("workflow's batch: %w", err)
		}
		stage, err := s.stage(ctx, materials.Stage{Piece: ids[0], ID: ids[1]}, at)
		if err != nil {
			return nil, notFoundAt("batch", err)
		}
		if stage.Scrapped && share.LeftTime != nil && hasEnded(r.Batch, at) {
			continue // after the end nothing goes to it any more, and the others are not held up
		}
		out = append(out, materials.Share{Title: fmt.Sprintf("%s of piece %d", share.StageTitle, share.PieceTag), Weight: share.Weight, To: stage})
	}
	return out, nil
}

// sharing are the shares of a batch that were in it at an instant; once it has ended all, for what
// is written down then was used on all of it.
func sharing(b *workflowv1.Batch, at time.Time) []*workflowv1.Batch_Share {
	if hasEnded(b, at) {
		return b.GetShares()
	}
	return slices.DeleteFunc(slices.Clone(b.GetShares()), func(s *workflowv1.Batch_Share) bool {
		return s.LeftTime != nil && !s.LeftTime.AsTime().After(at)
	})
}

func hasEnded(b *workflowv1.Batch, at time.Time) bool {
	return b.GetEndTime() != nil && b.EndTime.AsTime().Before(at)
}

func piecesOf(shares []materials.Share) []id.ID {
	pieces := make([]id.ID, len(shares))
	for n, s := range shares {
		pieces[n] = s.To.Piece
	}
	return pieces
}
