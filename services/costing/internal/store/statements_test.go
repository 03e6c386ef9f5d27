package store_test

import (
	"context"
	"slices"
	"testing"
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/ledger"
	"tackfree/pkg/money"
	"tackfree/services/costing/internal/costing"
	"tackfree/services/costing/internal/store"
)

// What a close has counted of a day is that of the day and of the close alone.
func TestStore_OfDay(t *testing.T) {
	db, march := setup(t), marchClose(id.New())
	must(t, db, func(ctx context.Context, st store.Store) error { return st.InsertClose(ctx, march) })
	of := func(closing id.ID, day time.Time) []ledger.Balance {
		return read(t, db, func(ctx context.Context, st store.Store) ([]ledger.Balance, error) {
			return st.OfDay(ctx, closing, day)
		})
	}
	same(t, "7 March", takings(50_00), of(march.ID, day(7)))
	same(t, "8 March", []ledger.Balance{}, of(march.ID, day(8)))
	same(t, "of another close", []ledger.Balance{}, of(id.New(), day(7)))
}

// A morning's purchase and an afternoon's, and one of the morning that was recorded after the month was closed; the
// day's neighbours are not in it.
func TestStore_DaySoFar(t *testing.T) {
	db := setup(t)
	closed := noon.AddDate(0, 1, 0)
	save(t, db, func(b *costing.Book) {
		for _, bought := range []struct {
			at, recorded time.Time
			amount       money.Amount
		}{{noon.Add(-3 * time.Hour), noon, 1_00}, {noon.Add(3 * time.Hour), noon, 2_00}, {noon.Add(-2 * time.Hour), closed, 4_00},
			{day(2).Add(-time.Millisecond), noon, 8_00}, {day(3), noon, 16_00}} {
			f := fact(id.New())
			f.OccurredAt, f.RecordedAt = bought.at, bought.recorded
			b.TakeIn(f, bought.amount)
		}
	})
	cost := func(recorded time.Time, day, before money.Amount) []costing.SoFar {
		return []costing.SoFar{{RecordedAt: recorded, Account: "cash_clearing", Day: -day, Before: -before}, {RecordedAt: recorded, Account: costing.WorkInProcess, Day: day, Before: before}}
	}
	soFar := read(t, db, func(ctx context.Context, st store.Store) ([]costing.SoFar, error) {
		return st.DaySoFar(ctx, costing.PeriodOf(day(2), day(2), time.UTC), noon)
	})
	same(t, "so far", slices.Concat(cost(noon, 3_00, 1_00), cost(closed, 4_00, 4_00)), soFar)
}

// Labour that was told since an instant is found by its beginning, whenever that is, and a rule by the week that it
// begins with; where nothing was told it is the instant that was named.
func TestStore_LabourToldSince(t *testing.T) {
	db, never := setup(t), day(31)
	told := func(since time.Time) time.Time {
		return read(t, db, func(ctx context.Context, st store.Store) (time.Time, error) {
			return st.LabourToldSince(ctx, since, never)
		})
	}
	same(t, "nothing", never, told(longAgo))
	nell := hand(t, db, "Nell", 18_00)
	early := nell.on(id.New(), time.Hour)
	late := nell.on(id.New(), time.Hour)
	late.Start, late.End, late.RecordedAt = day(20), day(20).Add(time.Hour), noon.AddDate(0, 1, 0)
	save(t, db, func(b *costing.Book) { b.Work(early, nell.terms); b.Work(late, nell.terms) })
	same(t, "of all", noon, told(longAgo))
	same(t, "since the first was told", day(20), told(noon))
	same(t, "since the last was", never, told(late.RecordedAt))
	rule := ruleFrom(9)
	rule.RecordedAt = late.RecordedAt.Add(time.Hour)
	must(t, db, func(ctx context.Context, st store.Store) error { return st.InsertPayRule(ctx, rule) })
	same(t, "a rule", day(8), told(late.RecordedAt))
}
