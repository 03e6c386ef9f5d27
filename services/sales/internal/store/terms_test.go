package store_test

import (
	"context"
	"testing"

	"github.com/google/go-cmp/cmp"

	"tackfree/pkg/fault"
	"tackfree/pkg/money"
	"tackfree/pkg/pg"
	"tackfree/services/sales/internal/advice"
	"tackfree/services/sales/internal/store"
)

func terms(t *testing.T, db *pg.DB) (terms advice.Terms) {
	t.Helper()
	err := db.View(t.Context(), func(q pg.Querier) (err error) {
		terms, _, err = store.New(q).Terms(t.Context())
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return terms
}

func said(kind string, low, high money.Amount) advice.Belief {
	return advice.Belief{Key: kind, Kind: kind, Guess: advice.Guess{Low: low, High: high}, DaysLikely: 9}
}

// What is said stands in the place of all before, the beliefs in the order in which they were said.
func TestStore_Terms(t *testing.T) {
	db := setup(t)
	save := func(want advice.Terms) {
		t.Helper()
		if err := inTx(t, db, func(ctx context.Context, st store.Store) error { return st.SaveTerms(ctx, want) }); err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(want, terms(t, db)); diff != "" {
			t.Errorf("Terms (-written +read):\n%s", diff)
		}
	}
	if diff := cmp.Diff(advice.Terms{}, terms(t, db)); diff != "" {
		t.Errorf("terms that nobody said (-want +got):\n%s", diff)
	}
	save(advice.Terms{Beliefs: []advice.Belief{said("table", 100, 200), said("chair", 30, 30)}, HoldingSmall: new(money.Amount(1)), HoldingMedium: new(money.Amount(2)), HoldingLarge: new(money.Amount(3)),
		FeePercent: 12.5, DaysBetween: new(int32(4)), MostMarkdowns: new(int32(5)), Horizon: new(int32(6)), SalvagePercent: new(7.5), Version: 8})
	save(advice.Terms{HoldingSmall: new(money.Amount), MostMarkdowns: new(int32), SalvagePercent: new(float64), Version: 9})
	save(advice.Terms{Beliefs: []advice.Belief{said("chair", 40, 50)}, Version: 10})
	save(advice.Terms{Version: 11})
}

// What the domain should have refused, the tables refuse.
func TestStore_Terms_Constraints(t *testing.T) {
	db := setup(t)
	for reason, beliefs := range map[string][]advice.Belief{
		"KIND_TWICE":        {said("chair", 30, 40), said("chair", 50, 60)},
		"GUESS_UPSIDE_DOWN": {said("chair", 50, 40)},
	} {
		err := inTx(t, db, func(ctx context.Context, st store.Store) error {
			return st.SaveTerms(ctx, advice.Terms{Beliefs: beliefs, Version: 1})
		})
		if !fault.Is(err, reason) {
			t.Errorf("the tables say %v, want %s", err, reason)
		}
		if diff := cmp.Diff(advice.Terms{}, terms(t, db)); diff != "" {
			t.Errorf("refused, but changed (-before +after):\n%s", diff)
		}
	}
}
