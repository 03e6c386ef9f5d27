package store

import (
	"context"
	"time"

	"github.com/google/uuid"

	"tackfree/pkg/id"
	"tackfree/pkg/ledger"
	"tackfree/pkg/money"
	"tackfree/services/costing/internal/costing"
	"tackfree/services/costing/internal/store/storedb"
)

// Posted reads what groups of a kind come to now, by group.
func (s Store) Posted(ctx context.Context, kind costing.GroupKind, groups []id.ID) (map[id.ID][]costing.Dated, error) {
	if len(groups) == 0 {
		return nil, nil
	}
	rows, err := s.q.PostedOf(ctx, storedb.PostedOfParams{Kind: string(kind), Ids: groups})
	out := map[id.ID][]costing.Dated{}
	for _, row := range rows {
		out[row.GroupID] = append(out[row.GroupID], costing.Dated{At: row.OccurredAt, Line: costing.Line{
			Account: costing.Account(row.Account), Bucket: costing.Bucket(row.Bucket), Piece: row.PieceID.UUID, Person: row.PersonID.UUID,
			Stage: row.StageID.UUID, StageKind: row.StageKind, Again: row.Again, Amount: money.Amount(row.Amount)}})
	}
	return out, err
}

// Balances reads the balance of every account that has lines, by name.
func (s Store) Balances(ctx context.Context) ([]ledger.Balance, error) {
	rows, err := s.q.Balances(ctx)
	out := make([]ledger.Balance, len(rows))
	for i, row := range rows {
		out[i] = ledger.Balance{Account: costing.Account(row.Account), Amount: money.Amount(row.Balance)}
	}
	return out, err
}

// BalancesBefore reads what each account came to by what happened before an instant.
func (s Store) BalancesBefore(ctx context.Context, before time.Time) ([]ledger.Balance, error) {
	rows, err := s.q.BalancesBefore(ctx, before)
	out := make([]ledger.Balance, len(rows))
	for i, row := range rows {
		out[i] = ledger.Balance{Account: costing.Account(row.Account), Amount: money.Amount(row.Balance)}
	}
	return out, err
}

// Counted lists the accounts on which closed months have counted something, by name.
func (s Store) Counted(ctx context.Context) ([]string, error) { return s.q.CountedAccounts(ctx) }

// MadeBy says by which rules the books were made, empty if that was never noted, and whether
// anything is in them.
func (s Store) MadeBy(ctx context.Context) (rules string, some bool, err error) {
	row, err := s.q.MadeBy(ctx)
	return row.Rules, row.Some, err
}

// SetMadeBy notes it.
func (s Store) SetMadeBy(ctx context.Context, rules string) error { return s.q.SetMadeBy(ctx, rules) }

// someone is a person, or null for everybody.
func someone(person id.ID) uuid.NullUUID {
	return uuid.NullUUID{UUID: person, Valid: person != id.Nil}
}
