package books

import (
	"context"
	"fmt"
	"strings"
	"time"

	"tackfree/pkg/pg"
)

// swap makes the live books what the shadow is, in one transaction: the rows in which they differ
// are deleted and inserted, which leaves readers the old ones until the commit. If any differ, every
// sheet's revision rises, so that those who watch one look again. Lines of the ledger differ since an
// instant, or none does.
func (s *shadow) swap(ctx context.Context, f findings, since time.Time, madeBy string) error {
	statements := []string{
		closeLetters,
		`INSERT INTO %[1]s.dead SELECT * FROM pg_temp.dead ON CONFLICT (producer, event_id) DO NOTHING`,
	}
	for _, w := range waiting {
		statements = append(statements, `DELETE FROM %[1]s.`+w, `INSERT INTO %[1]s.`+w+` SELECT * FROM pg_temp.`+w)
	}
	if !since.IsZero() {
		statements = append(statements, fmt.Sprintf(`INSERT INTO %%[1]s.remade (since) VALUES ('%s')`, since.UTC().Format(time.RFC3339Nano)))
	}
	for _, t := range f.tables {
		statements = append(statements, t.replace()...)
	}
	if f.in(posting) {
		statements = append(statements, anewWhole)
	}
	statements = append(statements,
		`DELETE FROM %[1]s.posting p USING pg_temp.other_group g WHERE p.group_kind = g.group_kind AND p.group_id = g.group_id AND p.group_kind <> ''`,
		s.table(posting).put()+` JOIN pg_temp.other_group g ON t.group_kind = g.group_kind AND t.group_id = g.group_id`)
	if !f.none() {
		statements = append(statements, `UPDATE %[1]s.piece SET revision = revision + 1`)
	}
	return s.put(ctx, madeBy, statements...)
}

// anewWhole lets the lines that stayed of a transaction whose others were replaced come after them as if
// they had been, for an entry of the journal is whole or is not there.
const anewWhole = `UPDATE %[1]s.posting p SET position = DEFAULT
	WHERE p.tx_id IN (SELECT tx_id FROM pg_temp.gone_posting UNION SELECT tx_id FROM pg_temp.come_posting) AND p.position < (SELECT max(m.position) FROM %[1]s.remade m)`

// differSince is the earliest instant of a line of the ledger that a swap will replace, put in or take
// out; the zero instant: there is none.
func (s *shadow) differSince(ctx context.Context, f findings) (since time.Time, err error) {
	lines := []string{
		`SELECT p.occurred_at FROM %[1]s.posting p JOIN pg_temp.other_group g ON p.group_kind = g.group_kind AND p.group_id = g.group_id`,
		`SELECT p.occurred_at FROM pg_temp.posting p JOIN pg_temp.other_group g ON p.group_kind = g.group_kind AND p.group_id = g.group_id`,
	}
	if f.in(posting) {
		lines = append(lines, `SELECT p.occurred_at FROM %[1]s.posting p JOIN pg_temp.gone_posting k ON p.tx_id = k.tx_id AND p.line = k.line`,
			`SELECT p.occurred_at FROM pg_temp.posting p JOIN pg_temp.come_posting k ON p.tx_id = k.tx_id AND p.line = k.line`)
	}
	var first *time.Time
	err = s.db.View(ctx, func(q pg.Querier) error {
		return q.QueryRow(ctx, fmt.Sprintf(`SELECT min(occurred_at) FROM (`+strings.Join(lines, ` UNION ALL `)+`) AS l`, s.live)).Scan(&first)
	})
	if first != nil {
		since = *first
	}
	return since, err
}

// closeLetters closes the dead letters whose events the shadow has booked. They are kept as a record.
const closeLetters = `UPDATE %[1]s.dead d SET resolved_at = now() FROM pg_temp.applied a
	WHERE d.producer = a.producer AND d.aggregate_id = a.aggregate_id AND d.version <= a.version AND d.resolved_at IS NULL`

// confirm notes of live books that are right what a swap would.
func (s *shadow) confirm(ctx context.Context, madeBy string) error {
	return s.put(ctx, madeBy, closeLetters)
}

// put runs statements on the live schema and notes by which rules its books are made now.
func (s *shadow) put(ctx context.Context, madeBy string, statements ...string) error {
	return s.db.InTx(ctx, func(ctx context.Context, tx *pg.Tx) error {
		for _, stmt := range statements {
			_, _ = tx.Exec(ctx, fmt.Sprintf(stmt, s.live)) // put off: its error comes at the commit
		}
		_, err := tx.Exec(ctx, fmt.Sprintf(`INSERT INTO %s.made_by (rules) VALUES ($1) ON CONFLICT (only_one) DO UPDATE SET rules = excluded.rules`, s.live), madeBy)
		return err
	})
}

// replace are the statements that put a table's differing rows in place.
func (t table) replace() (statements []string) {
	if t.name == "piece" {
		statements = append(statements, `UPDATE pg_temp.piece t SET revision = l.revision FROM %[1]s.piece l WHERE l.piece_id = t.piece_id`)
	}
	for _, keys := range []string{"gone_", "come_"} {
		statements = append(statements, fmt.Sprintf(`DELETE FROM %%[1]s.%[1]s t USING pg_temp.%[2]s%[1]s k WHERE %[3]s`, t.name, keys, t.same("t", "k")))
	}
	return append(statements, t.put()+fmt.Sprintf(` JOIN pg_temp.come_%s k ON %s`, t.name, t.same("t", "k")))
}
