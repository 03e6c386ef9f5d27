package store_test

import (
	"context"
	"testing"
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/services/costing/internal/costing"
	"tackfree/services/costing/internal/store"
)

// What came to its end in a time is what was sold in it, were it scrapped too, and what was given up in it;
// of what came back, what its sale left counts for the day of the return.
func TestStore_Ended(t *testing.T) {
	db, sold, both, gone, back, whole := setup(t), id.New(), id.New(), id.New(), id.New(), id.New()
	on := func(piece id.ID, d int) costing.Fact {
		return costing.Fact{ID: id.New(), Piece: piece, OccurredAt: day(d), RecordedAt: noon}
	}
	sell := func(b *costing.Book, piece id.ID, d int) {
		b.Sell(on(piece, d), 100_00, 0, 10_00)
		state, at := costing.Sold, day(d)
		b.Of(piece).Sales, b.Of(piece).SoldAt = &state, &at
	}
	save(t, db, func(b *costing.Book) {
		for n, piece := range []id.ID{sold, both, gone, back, whole} {
			tagged(b, piece, int32(n+1))
			b.TakeIn(on(piece, 2), 5_00)
		}
		sell(b, sold, 5)
		sell(b, both, 6)
		sell(b, back, 4)
		sell(b, whole, 4)
		b.Scrap(on(both, 6))
		b.Scrap(on(gone, 7))
	})
	save(t, db, func(b *costing.Book) {
		b.Refund(on(back, 8), 100_00, 0, 7_00, true)
		b.Refund(on(whole, 8), 100_00, 0, 10_00, true) // which leaves nothing
		state, never := costing.Listed, time.Time{}
		for _, piece := range []id.ID{back, whole} {
			b.Of(piece).Sales, b.Of(piece).SoldAt = &state, &never
		}
	})
	for _, c := range []struct {
		from, to int
		want     []int32 // tags
		given    time.Time
		returned int32
		left     money.Amount
	}{{1, 31, []int32{1, 2, 3}, day(7), 1, 3_00}, {5, 6, []int32{1, 2}, time.Time{}, 0, 0}, {7, 7, []int32{3}, day(7), 0, 0}, {8, 8, nil, time.Time{}, 1, 3_00}} {
		must(t, db, func(ctx context.Context, st store.Store) error {
			period := costing.PeriodOf(day(c.from), day(c.to), time.UTC)
			ended, err := st.Ended(ctx, period, true)
			if err != nil {
				return err
			}
			var tags []int32
			var given time.Time
			for _, s := range ended {
				tags, given = append(tags, s.Tag), s.GivenUpAt.UTC()
			}
			same(t, "ended", c.want, tags)
			same(t, "given up", c.given, given)
			returned, left, err := st.LeftByReturns(ctx, period)
			same(t, "returned", []any{c.returned, c.left}, []any{returned, left})
			return err
		})
	}
}

// What hours to come bear is read of everybody and of those who worked; what plans have, each kind once.
func TestStore_OnTop(t *testing.T) {
	db, piece := setup(t), id.New()
	nell, ola := hand(t, db, "Nell", 20_00), hand(t, db, "Ola", 20_00)
	all := costing.Burden{ID: id.New(), Day: day(1), From: day(1), Share: 100_000, Actor: "Ana", RecordedAt: noon}
	hers := costing.Burden{ID: id.New(), Person: ola.id, Day: day(1), From: day(1), Share: 200_000, Actor: "Ana", RecordedAt: noon}
	overhead := boothRate()
	overhead.Department, overhead.StageKinds, overhead.Basis, overhead.PerHour = "", nil, costing.LabourHour, 9_00
	must(t, db, func(ctx context.Context, st store.Store) error { return st.InsertBurden(ctx, all) })
	must(t, db, func(ctx context.Context, st store.Store) error { return st.InsertBurden(ctx, hers) })
	must(t, db, func(ctx context.Context, st store.Store) error { return st.InsertOverheadRate(ctx, overhead) })
	onTop := func() costing.OnTop {
		return read(t, db, func(ctx context.Context, st store.Store) (costing.OnTop, error) { return st.OnTop(ctx, day(20)) })
	}
	same(t, "before anybody worked", costing.OnTop{Burden: 100_000, Overhead: 9_00}, onTop())
	save(t, db, func(b *costing.Book) {
		b.Work(nell.on(piece, time.Hour), nell.terms)
		b.Work(ola.on(piece, 3*time.Hour), ola.terms)
		b.PlanStages(fact(piece), []costing.Stage{{ID: id.New(), Piece: piece, Kind: "wax", State: costing.StageOpen}, {ID: id.New(), Piece: piece, Kind: "sand", State: costing.StageOpen}, {ID: id.New(), Piece: piece, Kind: "wax", State: costing.StageOpen}})
	})
	same(t, "by their hours", costing.OnTop{Burden: 175_000, Overhead: 9_00}, onTop())
	same(t, "kinds", []string{"sand", "wax"}, read(t, db, func(ctx context.Context, st store.Store) ([]string, error) { return st.StageKinds(ctx) }))
}

// Of lines of overhead that was spent, what was entered; of others nothing.
func TestStore_SpentBy(t *testing.T) {
	db, spent := setup(t), actual(80_00)
	back := costing.OverheadActual{ID: id.New(), Day: day(7), At: day(7), What: "saw blade", Amount: -80_00, TakesBack: spent.ID, Reason: "entered twice", Actor: "Ana", RecordedAt: noon}
	must(t, db, func(ctx context.Context, st store.Store) error { return st.InsertOverheadActual(ctx, spent) })
	must(t, db, func(ctx context.Context, st store.Store) error { return st.InsertOverheadActual(ctx, back) })
	got := read(t, db, func(ctx context.Context, st store.Store) ([]costing.OverheadActual, error) {
		return st.SpentBy(ctx, []costing.Posted{{Transaction: spent.ID}, {Transaction: id.New()}, {Transaction: back.ID}, {Transaction: back.ID}})
	})
	same(t, "entered", []costing.OverheadActual{{ID: spent.ID, What: "saw blade", Note: "10 inch"}, {ID: back.ID, What: "saw blade", TakesBack: spent.ID, Reason: "entered twice"}}, got)
}
