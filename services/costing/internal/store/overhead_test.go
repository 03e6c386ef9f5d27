package store_test

import (
	"context"
	"errors"
	"testing"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/ledger"
	"tackfree/pkg/money"
	"tackfree/services/costing/internal/costing"
	"tackfree/services/costing/internal/store"
)

func boothRate() costing.OverheadRate {
	return costing.OverheadRate{ID: id.New(), Department: "booth", StageKinds: []string{"topcoat_coat", "seal"}, Basis: costing.MachineHour, PerHour: 40_00,
		Day: day(1), From: day(1), Actor: "Ana", RecordedAt: noon}
}

func actual(amount money.Amount) costing.OverheadActual {
	return costing.OverheadActual{ID: id.New(), Day: day(7), At: day(7), What: "saw blade", Amount: amount, Note: "10 inch", Actor: "Ana", RecordedAt: noon}
}

// takings are what a close counts that sold for so much.
func takings(amount money.Amount) []ledger.Balance {
	return []ledger.Balance{{Account: "cash_clearing", Amount: amount}, {Account: "revenue", Amount: -amount}}
}

// marchClose is the first close ever, which takes in February.
func marchClose(piece id.ID) costing.Close {
	march := costing.MonthOf(day(1), time.UTC)
	return costing.Close{ID: id.New(), Month: march, Since: march.First.AddDate(0, -1, 0), Settlement: costing.Prorated, WithIndirect: true, Applied: 200_00, Actual: 210_00, Indirect: 5_00,
		Shares: []costing.Share{{Piece: piece, Again: true, Amount: 15_00}}, Counted: takings(210_00),
		Days:  []costing.Day{{Day: march.First.AddDate(0, 0, -18), Counted: takings(10_00)}, {Day: march.First, Counted: takings(150_00)}, {Day: march.First.AddDate(0, 0, 6), Counted: takings(50_00)}},
		Actor: "Ana", At: noon}
}

// Overhead rates come back as they were recorded, in that order, and price labour with the pay rates.
func TestStore_OverheadRates(t *testing.T) {
	db := setup(t)
	booth, shop := boothRate(), boothRate()
	shop.Department, shop.StageKinds, shop.Basis, shop.RecordedAt = "", nil, costing.LabourHour, noon.Add(-time.Hour)
	must(t, db, func(ctx context.Context, st store.Store) error { return st.InsertOverheadRate(ctx, booth) })
	must(t, db, func(ctx context.Context, st store.Store) error { return st.InsertOverheadRate(ctx, shop) })
	shop.StageKinds = []string{}
	got := read(t, db, func(ctx context.Context, st store.Store) ([]costing.OverheadRate, error) {
		return st.OverheadRates(ctx)
	})
	same(t, "all", []costing.OverheadRate{shop, booth}, got)
	got = read(t, db, func(ctx context.Context, st store.Store) ([]costing.OverheadRate, error) {
		return st.ListOverheadRates(ctx, booth.ID, 5)
	})
	same(t, "page", []costing.OverheadRate{shop}, got)
	nobody := id.New() // without a pay rate
	terms := read(t, db, func(ctx context.Context, st store.Store) (*costing.Terms, error) {
		return st.Terms(ctx, []id.ID{nobody})
	})
	if of := terms.Of(nobody); len(of) != 2 || of[0].Overhead.ID != shop.ID || !terms.Machines("seal") || terms.Machines("sand") {
		t.Errorf("terms = %+v", of)
	}
	last := read(t, db, func(ctx context.Context, st store.Store) (time.Time, error) { return st.LastRecorded(ctx, nobody) })
	same(t, "last recorded", noon, last)
}

// What was worked on stages is that of these stages alone, with what was taken away.
func TestStore_StretchesOn(t *testing.T) {
	db, piece := setup(t), id.New()
	nell := hand(t, db, "Nell", 18_00)
	one := nell.on(piece, time.Hour)
	gone, other, elsewhere := away(one), nell.on(piece, time.Hour), nell.on(id.New(), time.Hour)
	other.Stage = id.New()
	elsewhere.Stage = id.New()
	save(t, db, func(b *costing.Book) {
		for _, s := range []costing.Stretch{one, gone, other, elsewhere} {
			b.Work(s, nell.terms)
		}
	})
	on := func(stages ...id.ID) []costing.Stretch {
		return read(t, db, func(ctx context.Context, st store.Store) ([]costing.Stretch, error) {
			return st.StretchesOn(ctx, stages, []id.ID{piece})
		})
	}
	one.Whole, gone.Whole, other.Whole = time.Time{}, time.Time{}, time.Time{}
	same(t, "of one", []costing.Stretch{one, gone}, on(sanding))
	same(t, "of two", []costing.Stretch{one, gone, other}, on(sanding, other.Stage))
	same(t, "of another piece", []costing.Stretch{}, on(elsewhere.Stage))
}

// What was spent comes back with what took it back, by when it was entered, of all time or of a month.
func TestStore_OverheadActuals(t *testing.T) {
	db := setup(t)
	blade, rent := actual(8_00), actual(1200_00)
	rent.Day, rent.At = day(40), day(40)
	back := costing.OverheadActual{ID: id.New(), Day: blade.Day, At: blade.At, What: blade.What, Amount: -8_00, TakesBack: blade.ID, Reason: "entered twice", Actor: "Bo", RecordedAt: noon}
	for _, a := range []costing.OverheadActual{blade, rent, back} {
		must(t, db, func(ctx context.Context, st store.Store) error { return st.InsertOverheadActual(ctx, a) })
	}
	blade.TakenBackBy = back.ID
	list := func(after id.ID, since, before time.Time, limit int32) []costing.OverheadActual {
		return read(t, db, func(ctx context.Context, st store.Store) ([]costing.OverheadActual, error) {
			return st.ListOverheadActuals(ctx, after, since, before, limit)
		})
	}
	same(t, "all", []costing.OverheadActual{blade, rent, back}, list(id.Nil, longAgo, day(99), 9))
	same(t, "page", []costing.OverheadActual{rent}, list(blade.ID, longAgo, day(99), 1))
	same(t, "of its day", []costing.OverheadActual{blade, back}, list(id.Nil, day(7), day(8), 9))
	same(t, "before it", []costing.OverheadActual{}, list(id.Nil, longAgo, day(7), 9))
	one := read(t, db, func(ctx context.Context, st store.Store) (costing.OverheadActual, error) {
		return st.OverheadActual(ctx, blade.ID)
	})
	same(t, "one", blade, one)
	err := inTx(t, db, func(ctx context.Context, st store.Store) error {
		_, err := st.OverheadActual(ctx, id.New())
		return err
	})
	if !fault.Is(err, "OVERHEAD_ACTUAL_NOT_FOUND") {
		t.Errorf("of a stranger: %v", err)
	}
	posted := read(t, db, func(ctx context.Context, st store.Store) ([]costing.OverheadActual, error) {
		return st.PostedActuals(ctx)
	})
	if len(posted) != 3 || posted[2].ID != back.ID || posted[2].Amount != -8_00 || !posted[2].At.Equal(blade.At) || !posted[2].RecordedAt.Equal(noon) {
		t.Errorf("posted = %+v", posted)
	}
}

// Closes come back by month and in their order, with what became of them; of the first in force also what
// it has counted of months before.
func TestStore_Closes(t *testing.T) {
	db, piece := setup(t), id.New()
	closes := func() []costing.Close {
		t.Helper()
		return read(t, db, func(ctx context.Context, st store.Store) ([]costing.Close, error) { return st.Closes(ctx, time.UTC) })
	}
	same(t, "none", []costing.Close(nil), closes())
	march := marchClose(piece)
	april := costing.Close{ID: id.New(), Month: march.Month.Next(time.UTC), Settlement: costing.ToSold, Late: takings(-3_00), Actor: "Bo", At: noon}
	april.Since, april.Days = april.Month.First, []costing.Day{{Day: april.Month.First, Counted: takings(3_00)}} // in all it is nothing
	again := march
	again.ID, again.At, again.Shares, again.Settlement = id.New(), noon.Add(time.Hour), nil, costing.ToSold
	must(t, db, func(ctx context.Context, st store.Store) error {
		return errors.Join(st.InsertClose(ctx, april), st.InsertClose(ctx, march))
	})
	march.Days, march.Late, march.Earlier = nil, takings(0), []costing.Day{{Day: march.Since, Counted: takings(10_00)}}
	april.Days, april.Counted = nil, takings(0)
	same(t, "two", []costing.Close{march, april}, closes())
	before := func(day time.Time) []ledger.Balance {
		t.Helper()
		return read(t, db, func(ctx context.Context, st store.Store) ([]ledger.Balance, error) {
			return st.DaysBefore(ctx, march.ID, day)
		})
	}
	same(t, "before February", []ledger.Balance{}, before(march.Since))
	same(t, "before 7 March", takings(160_00), before(day(7)))

	march.Reopened, march.Earlier = &costing.Reopening{ID: id.New(), Reason: "a bill was missing", Actor: "Ana", At: noon.Add(time.Minute)}, nil
	again.Follows = march.Reopened.ID
	must(t, db, func(ctx context.Context, st store.Store) error {
		return errors.Join(st.InsertReopening(ctx, march), st.InsertClose(ctx, again))
	})
	again.Days, again.Late, again.Earlier = nil, takings(0), []costing.Day{{Day: march.Since, Counted: takings(10_00)}}
	same(t, "closed again", []costing.Close{march, again, april}, closes())
}

// Balances are cut where they are asked for: what happens at an instant is after it. What is before the first is
// one sum, read by itself.
func TestStore_BalancesByPart(t *testing.T) {
	db, piece := setup(t), id.New()
	save(t, db, func(b *costing.Book) {
		for n, amount := range []money.Amount{1_00, 2_00, 4_00} {
			f := fact(piece)
			f.OccurredAt = day(1 + n)
			b.TakeIn(f, amount)
		}
	})
	cash := func(amount money.Amount) []ledger.Balance {
		return []ledger.Balance{{Account: "cash_clearing", Amount: -amount}, {Account: costing.WorkInProcess, Amount: amount}}
	}
	parts := read(t, db, func(ctx context.Context, st store.Store) (map[int][]ledger.Balance, error) {
		return st.BalancesByPart(ctx, []time.Time{day(2), day(3)})
	})
	same(t, "parts", map[int][]ledger.Balance{1: cash(2_00), 2: cash(4_00)}, parts)
	before := read(t, db, func(ctx context.Context, st store.Store) ([]ledger.Balance, error) {
		return st.BalancesBefore(ctx, day(3))
	})
	same(t, "before", cash(3_00), before)
}

// What pieces carried of a month is told on first passes and on later ones, and not of other months.
func TestStore_Carried(t *testing.T) {
	db, piece := setup(t), id.New()
	nell := hand(t, db, "Nell", -1)
	terms := costing.NewTerms(nil, nil, []costing.OverheadRate{{ID: id.New(), Basis: costing.LabourHour, PerHour: 10_00, Day: day(1), From: day(1), RecordedAt: longAgo}})
	first, again, later := nell.on(piece, time.Hour), nell.on(piece, 2*time.Hour), nell.on(piece, 4*time.Hour)
	again.Rework = true
	later.Start, later.End = day(40), day(40).Add(4*time.Hour)
	save(t, db, func(b *costing.Book) {
		for _, s := range []costing.Stretch{first, again, later} {
			b.Work(s, terms)
		}
		b.SpendOverhead(actual(8_00))
	})
	got := read(t, db, func(ctx context.Context, st store.Store) ([]costing.Carried, error) {
		return st.Carried(ctx, day(1), day(32))
	})
	same(t, "March", []costing.Carried{{Piece: piece, First: 10_00, Again: 20_00}}, got)
}
