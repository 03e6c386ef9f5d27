package books

import (
	"context"
	"fmt"

	"tackfree/pkg/pg"
)

// swap puts the shadow's rows in place of the live ones in one transaction. Deleting and
// inserting, unlike truncating, leaves readers the old rows until the commit. A sheet's
// revision rises, so that those who watch it look again.
func (s *shadow) swap(ctx context.Context) error {
	statements := []string{
		`UPDATE pg_temp.piece t SET revision = l.revision + 1 FROM %[1]s.piece l WHERE l.piece_id = t.piece_id`,
		// Dead letters are kept as a record; those whose events the shadow has booked are closed.
		`UPDATE %[1]s.dead d SET resolved_at = now() FROM pg_temp.applied a
		 WHERE d.producer = a.producer AND d.aggregate_id = a.aggregate_id AND d.version <= a.version AND d.resolved_at IS NULL`,
		`INSERT INTO %[1]s.dead SELECT * FROM pg_temp.dead ON CONFLICT (producer, event_id) DO NOTHING`,
	}
	for _, t := range tables {
		statements = append(statements, `DELETE FROM %[1]s.`+t, `INSERT INTO %[1]s.`+t+` SELECT * FROM pg_temp.`+t)
	}
	return s.db.InTx(ctx, func(ctx context.Context, tx *pg.Tx) error {
		for _, stmt := range statements {
			_, _ = tx.Exec(ctx, fmt.Sprintf(stmt, s.live)) // put off: its error comes at the commit
		}
		return nil
	})
}
