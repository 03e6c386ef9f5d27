package books

import (
	"context"
	"errors"
	"fmt"
	"time"

	"tackfree/pkg/pg"
	"tackfree/services/costing/internal/costing"
	"tackfree/services/costing/internal/store"
)

// Own is the book of costing's own records that post by themselves: overhead that was really spent,
// months that were closed, and closes that were taken back. They are booked when they are recorded; a rebuild books all of
// them again, as this says.
func Own(ctx context.Context, st store.Store, r *costing.Rules) (*costing.Book, error) {
	b := costing.NewBook(r)
	actuals, err := st.PostedActuals(ctx)
	if err != nil {
		return b, err
	}
	for _, a := range actuals {
		b.SpendOverhead(a)
	}
	closes, err := st.Closes(ctx, time.UTC) // the instant that counts is on the row
	if err != nil {
		return b, err
	}
	for _, c := range closes {
		b.CloseMonth(c)
		if c.Reopened != nil {
			b.ReopenMonth(c)
		}
	}
	return b, nil
}

// own books costing's own records into the shadow.
func (s *shadow) own(ctx context.Context, r *costing.Rules) error {
	return s.db.InTx(ctx, func(ctx context.Context, tx *pg.Tx) error {
		b, err := Own(ctx, store.New(tx), r)
		if err != nil || len(b.Transactions) == 0 {
			return err
		}
		return Keep(ctx, tx, b, b.Transactions[len(b.Transactions)-1].RecordedAt)
	})
}

// errRecorded tells that a record of costing's own was made while a shadow was filled, which has
// booked without it.
var errRecorded = errors.New("a record was made meanwhile")

// sameRecords refuses a shadow that has not the records of the live tables; the books are held.
func (s *shadow) sameRecords(ctx context.Context) error {
	return s.db.View(ctx, func(q pg.Querier) error {
		for _, t := range records {
			var live, shadow int64
			err := q.QueryRow(ctx, fmt.Sprintf(`SELECT (SELECT count(*) FROM %[2]s.%[1]s), (SELECT count(*) FROM pg_temp.%[1]s)`, t, s.live)).Scan(&live, &shadow)
			if err != nil {
				return err
			}
			if live != shadow { // records are only added
				return errRecorded
			}
		}
		return nil
	})
}
