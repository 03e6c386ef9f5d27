package store

import (
	"context"

	"tackfree/pkg/pg"
	"tackfree/services/costing/internal/costing"
)

// many transactions or stretches are copied; fewer are sent along with the other statements of their
// transaction, which then waits less often for the database.
const many = 100

// copier is a transaction that can take many rows at once.
type copier interface {
	Copy(ctx context.Context, table string, columns []string, rows *pg.Rows) error
}

func (s Store) savePostings(ctx context.Context, transactions []costing.Transaction) error {
	switch {
	case len(transactions) == 0:
		return nil
	case len(transactions) < many || s.many == nil:
		return s.q.InsertPostings(ctx, toPostings(transactions))
	}
	return copyPostings(ctx, s.many, transactions)
}

func (s Store) saveStretches(ctx context.Context, stretches []costing.Stretch) error {
	switch {
	case len(stretches) == 0:
		return nil
	case len(stretches) < many || s.many == nil:
		return s.q.InsertStretches(ctx, toStretches(stretches))
	}
	return copyStretches(ctx, s.many, stretches)
}

var postingColumns = []string{"tx_id", "line", "event_id", "group_kind", "group_id", "account", "bucket", "piece_id", "person_id", "stage_id", "stage_kind", "again",
	"amount", "occurred_at", "recorded_at"}

func copyPostings(ctx context.Context, to copier, transactions []costing.Transaction) error {
	r := pg.NewRows(200 * 2 * len(transactions))
	for _, t := range transactions {
		for i, l := range t.Lines {
			r.Row(len(postingColumns))
			r.ID(t.ID)
			r.Small(int16(i + 1))
			r.ID(t.Event)
			r.Text(string(t.Group.Kind))
			r.IDOrNull(t.Group.ID)
			r.Text(string(l.Account))
			r.Text(string(l.Bucket))
			r.IDOrNull(l.Piece)
			r.IDOrNull(l.Person)
			r.IDOrNull(l.Stage)
			r.Text(l.StageKind)
			r.Bool(l.Again)
			r.Big(int64(l.Amount))
			r.Instant(t.OccurredAt)
			r.Instant(t.RecordedAt)
		}
	}
	return to.Copy(ctx, "posting", postingColumns, r)
}

var stretchColumns = []string{"event_id", "sign", "entry_id", "piece_id", "person_id", "person_name", "stage_id", "stage_kind", "stage_key", "part_label", "rework",
	"started_at", "ended_at", "occurred_at", "recorded_at", "indirect", "whole_from", "paused"}

func copyStretches(ctx context.Context, to copier, stretches []costing.Stretch) error {
	r := pg.NewRows(300 * len(stretches))
	for _, s := range stretches {
		r.Row(len(stretchColumns))
		r.ID(s.ID)
		r.Small(int16(s.Sign))
		r.ID(s.Entry)
		r.IDOrNull(s.Piece)
		r.ID(s.Person)
		r.Text(s.PersonName)
		r.IDOrNull(s.Stage)
		r.Text(s.StageKind)
		r.Text(s.StageKey)
		r.Text(s.PartLabel)
		r.Bool(s.Rework)
		r.Instant(s.Start)
		r.Instant(s.End)
		r.Instant(s.OccurredAt)
		r.Instant(s.RecordedAt)
		r.Text(s.Indirect)
		if s.Begin().Equal(s.Start) {
			r.Null()
		} else {
			r.Instant(s.Begin())
		}
		r.Bool(s.Paused)
	}
	return to.Copy(ctx, "stretch", stretchColumns, r)
}
