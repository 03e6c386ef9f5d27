package store

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/services/workflow/internal/store/storedb"
	"tackfree/services/workflow/internal/workflow"
)

// InsertReview writes a new review.
func (s Store) InsertReview(ctx context.Context, r workflow.Review) error {
	sent, err := toJSON(r.Sent)
	if err != nil {
		return err
	}
	return s.q.InsertReview(ctx, storedb.InsertReviewParams{ID: r.ID, Kind: string(r.Kind), PersonID: r.Person, EntryIds: notNil(r.Entries), Sent: sent,
		Reason: r.Reason, ShiftEnd: orNull(r.ShiftEnd), RaisedAt: r.RaisedAt})
}

// Review reads a review. Fault: REVIEW_NOT_FOUND.
func (s Store) Review(ctx context.Context, review id.ID) (workflow.Review, error) {
	row, err := s.q.GetReview(ctx, review)
	if errors.Is(err, pgx.ErrNoRows) {
		return workflow.Review{}, fault.New(fault.NotFound, "REVIEW_NOT_FOUND", "There is no such review; look at the list of what is to be settled.").At("clock_review")
	}
	if err != nil {
		return workflow.Review{}, err
	}
	return fromReview(row)
}

// LockReview locks and reads a review. Fault: REVIEW_NOT_FOUND.
func (s Store) LockReview(ctx context.Context, review id.ID) (workflow.Review, error) {
	if err := s.q.LockReview(ctx, review); err != nil {
		return workflow.Review{}, err
	}
	return s.Review(ctx, review)
}

// ReviewFilter chooses reviews; id.Nil is everybody.
type ReviewFilter struct {
	Settled bool // those too
	Person  id.ID
}

// ReviewMark is a place in the list of reviews.
type ReviewMark struct {
	Raised time.Time
	ID     id.ID
}

// Reviews reads up to limit reviews after a mark, by when they were raised.
func (s Store) Reviews(ctx context.Context, f ReviewFilter, after ReviewMark, limit int32) ([]workflow.Review, error) {
	rows, err := s.q.ListReviews(ctx, storedb.ListReviewsParams{IncludeSettled: f.Settled, Person: nullable(f.Person),
		AfterRaised: after.Raised, AfterID: after.ID, PageLimit: limit})
	if err != nil {
		return nil, err
	}
	return fromReviews(rows)
}

// SettleReview writes how a review was settled.
func (s Store) SettleReview(ctx context.Context, r workflow.Review) error {
	return s.q.SettleReview(ctx, storedb.SettleReviewParams{ID: r.ID, SettledAt: &r.SettledAt, Settlement: string(r.Settlement), SettledBy: r.SettledBy, SettleReason: r.SettleReason})
}

// OpenOverlaps locks and reads the reviews of a person that wait because of an overlap, the
// oldest first.
func (s Store) OpenOverlaps(ctx context.Context, person id.ID) ([]workflow.Review, error) {
	rows, err := s.q.OpenOverlaps(ctx, person)
	if err != nil {
		return nil, err
	}
	return fromReviews(rows)
}

// Running is a clock that runs.
type Running struct {
	Entry, Person id.ID
	Start         time.Time
}

// RunningUntold reads the clocks that run and are not under review, nor were found to run
// rightly since an instant; the longest first.
func (s Store) RunningUntold(ctx context.Context, rightlySince time.Time) ([]Running, error) {
	rows, err := s.q.RunningUntold(ctx, rightlySince)
	out := make([]Running, len(rows))
	for i, row := range rows {
		out[i] = Running{row.ID, row.PersonID, row.StartedAt}
	}
	return out, err
}

// EntriesByID reads some entries, by start.
func (s Store) EntriesByID(ctx context.Context, ids []id.ID) ([]workflow.Entry, error) {
	rows, err := s.q.EntriesByIDs(ctx, notNil(ids))
	return fromEntries(rows), err
}

// Between reads a person's entries that count and lie between two instants, or from the first
// on; of a stretch on a batch that runs, the first one.
func (s Store) Between(ctx context.Context, person id.ID, start, end time.Time) ([]workflow.Entry, error) {
	rows, err := s.q.EntriesBetween(ctx, storedb.EntriesBetweenParams{Person: person, Started: start, Ended: orNull(end)})
	return fromEntries(rows), err
}

func fromReviews(rows []storedb.Review) (out []workflow.Review, err error) {
	out = make([]workflow.Review, len(rows))
	for i, row := range rows {
		if out[i], err = fromReview(row); err != nil {
			return nil, err
		}
	}
	return out, nil
}

func fromReview(row storedb.Review) (workflow.Review, error) {
	sent, err := fromJSON[workflow.SentEntry](row.Sent)
	if err != nil {
		return workflow.Review{}, fmt.Errorf("what was sent of review %s: %w", row.ID, err)
	}
	return workflow.Review{ID: row.ID, Kind: workflow.ReviewKind(row.Kind), Person: row.PersonID, PersonName: row.DisplayName, Entries: row.EntryIds, Sent: sent,
		Reason: row.Reason, ShiftEnd: orZero(row.ShiftEnd), RaisedAt: row.RaisedAt, SettledAt: orZero(row.SettledAt), Settlement: workflow.Settlement(row.Settlement),
		SettledBy: row.SettledBy, SettleReason: row.SettleReason}, nil
}
