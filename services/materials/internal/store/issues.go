package store

import (
	"context"
	"errors"
	"time"

	"github.com/jackc/pgx/v5"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/services/materials/internal/materials"
	"tackfree/services/materials/internal/store/storedb"
)

// Entry is an issue beside the product that went and the piece that got it.
type Entry struct {
	Product materials.Product
	Piece   materials.Piece
	Issue   materials.Issue
}

// Issue writes what was drawn from the lots, and the product and the piece as they are
// after it. Fault at commit: STOCK_TOO_SMALL.
func (s Store) Issue(ctx context.Context, p materials.Product, to materials.Piece, i materials.Issue) error {
	err := errors.Join(s.Update(ctx, p), s.updatePiece(ctx, to), s.q.InsertIssue(ctx, storedb.InsertIssueParams(toIssueRow(p.ID, i))))
	for _, d := range i.Draws {
		err = errors.Join(err, s.updateLot(ctx, d.Lot), s.q.InsertMovement(ctx, issued(p.ID, i, d)))
	}
	return err
}

// TakeBack writes that what was drawn is in the lots again, and the product and the piece
// as they are after it. Fault at commit: ISSUE_TAKEN_BACK.
func (s Store) TakeBack(ctx context.Context, p materials.Product, from materials.Piece, i materials.Issue) error {
	err := errors.Join(s.Update(ctx, p), s.updatePiece(ctx, from), s.q.InsertTakeBack(ctx, storedb.InsertTakeBackParams{
		IssueID: i.ID, Reason: i.Back.Reason, Actor: i.Back.Actor, TakenBackAt: i.Back.At}))
	for _, d := range i.Draws {
		err = errors.Join(err, s.updateLot(ctx, d.Lot), s.q.InsertMovement(ctx, takenBack(p.ID, i, d)))
	}
	return err
}

func (s Store) updatePiece(ctx context.Context, p materials.Piece) error {
	return s.q.UpdatePiece(ctx, storedb.UpdatePieceParams{ID: p.ID, Version: p.Version})
}

func (s Store) updateLot(ctx context.Context, l materials.Lot) error {
	return s.q.UpdateLot(ctx, storedb.UpdateLotParams{ID: l.ID, QuantityLeft: l.Left, CostLeft: int64(l.CostLeft)})
}

// LockIssue reads an issue with its product and piece, and keeps others from changing
// these and the lots until the transaction ends. Fault: ISSUE_NOT_FOUND.
func (s Store) LockIssue(ctx context.Context, product, issue id.ID) (Entry, error) {
	err := errors.Join(
		s.q.LockProductFirst(ctx, product),
		s.q.LockPieceOfIssue(ctx, storedb.LockPieceOfIssueParams{IssueID: issue, ProductID: product}))
	if err != nil {
		return Entry{}, err
	}
	row, err := s.q.GetIssue(ctx, storedb.GetIssueParams{ID: issue, ProductID: product})
	if errors.Is(err, pgx.ErrNoRows) {
		return Entry{}, fault.New(fault.NotFound, "ISSUE_NOT_FOUND",
			"There is no such issue of this product; look it up in the list of issues.").At("issue")
	}
	if err != nil {
		return Entry{}, err
	}
	entries, err := s.withDraws(ctx, []storedb.GetIssueRow{row})
	if err != nil {
		return Entry{}, err
	}
	return entries[0], nil
}

// IssueKey is a place in the order of issues; the zero key is before the newest.
type IssueKey struct {
	At time.Time
	ID id.ID
}

// afterAll is later than any issue.
var afterAll = IssueKey{At: time.Date(9999, 1, 1, 0, 0, 0, 0, time.UTC)}

// IssueFilter says which issues are meant; id.Nil: of any product, to any piece.
type IssueFilter struct{ Product, Piece id.ID }

// Issues reads up to limit issues that are older than a place, newest first.
func (s Store) Issues(ctx context.Context, f IssueFilter, before IssueKey, limit int32) ([]Entry, error) {
	if before.At.IsZero() {
		before = afterAll
	}
	rows, err := s.q.ListIssues(ctx, storedb.ListIssuesParams{
		ProductID: unlessNil(f.Product), PieceID: unlessNil(f.Piece), BeforeAt: before.At, BeforeID: before.ID, PageLimit: limit})
	if err != nil {
		return nil, err
	}
	same := make([]storedb.GetIssueRow, len(rows))
	for n, row := range rows {
		same[n] = storedb.GetIssueRow(row)
	}
	return s.withDraws(ctx, same)
}

func (s Store) withDraws(ctx context.Context, rows []storedb.GetIssueRow) ([]Entry, error) {
	ids := make([]id.ID, len(rows))
	for n, row := range rows {
		ids[n] = row.Issue.ID
	}
	drawRows, err := s.q.ListDraws(ctx, ids)
	if err != nil {
		return nil, err
	}
	draws := map[id.ID][]materials.Drawn{}
	for _, row := range drawRows {
		draws[row.IssueID] = append(draws[row.IssueID], fromDrawRow(row))
	}
	entries := make([]Entry, len(rows))
	for n, row := range rows {
		if entries[n], err = fromIssueRow(row); err != nil {
			return nil, err
		}
		entries[n].Issue = entries[n].Issue.WithDraws(draws[row.Issue.ID])
	}
	return entries, nil
}
