package books

import (
	"fmt"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"

	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/services/costing/internal/costing"
)

// On which side alone something stands.
const (
	inBooks  = "in the books only"
	byEvents = "by the events only"
)

// lines reads the ledger lines that only this side has, and in what the other has them otherwise, null
// where it has not the same line of the transaction at all.
func (on side) lines(t table) string {
	return fmt.Sprintf(`
		SELECT r.tx_id, r.line, r.account, r.amount,
		       (SELECT string_agg(replace(a.key, '_', ' '), ', ' ORDER BY a.key) FROM jsonb_each_text(to_jsonb(r)) AS a JOIN jsonb_each_text(to_jsonb(o)) AS b USING (key)
		        WHERE a.value IS DISTINCT FROM b.value AND a.key <> ALL ('{%[7]s}'))
		FROM %[1]s AS k JOIN %[2]s.%[3]s AS r ON %[4]s LEFT JOIN %[5]s.%[3]s AS o ON %[6]s ORDER BY r.tx_id, r.line`,
		on.first(t), on.schema, t.name, t.same("r", "k"), on.other, t.same("o", "r"), strings.Join(t.drawn, ","))
}

// line says such a line in words.
func (s *shadow) line(on side) func(pgx.CollectableRow) (string, error) {
	return func(row pgx.CollectableRow) (string, error) {
		var tx id.ID
		var number int16
		var account string
		var amount money.Amount
		var otherwise *string
		err := row.Scan(&tx, &number, &account, &amount, &otherwise)
		text := fmt.Sprintf("transaction %s, line %d, %s: %s", tx, number, s.amountOn(account, amount), on.says)
		if otherwise != nil {
			text += "; " + on.others + " another " + *otherwise
		}
		return text, err
	}
}

// groupLine says in words what several events decide together.
func (s *shadow) groupLine(row pgx.CollectableRow) (string, error) {
	var says, kind, account string
	var group id.ID
	var amount money.Amount
	var at time.Time
	err := row.Scan(&says, &kind, &group, &account, &amount, &at)
	return fmt.Sprintf("decided together as %s %s, as of %s, %s: %s", kind, group, at.UTC().Format(time.RFC3339), s.amountOn(account, amount), says), err
}

// amountOn is an amount on an account, as people call it; credits are below zero.
func (s *shadow) amountOn(account string, amount money.Amount) string {
	return s.rules.Entry(costing.Account(account)).Title + ", " + s.currency.Format(amount)
}
