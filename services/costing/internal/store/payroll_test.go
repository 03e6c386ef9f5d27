package store_test

import (
	"context"
	"testing"
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/inbox"
	"tackfree/services/costing/internal/costing"
	"tackfree/services/costing/internal/store"
)

// Locks come in the order of their weeks, whenever they were made, each with its lines by
// name, below zero too; a week in which nobody worked has none.
func TestStore_PayLocks(t *testing.T) {
	db, nell, ana := setup(t), id.New(), id.New()
	late := costing.PayLock{Monday: day(9), At: longAgo, Actor: "Ada", Lines: []costing.PayLine{
		{Person: ana, PersonName: "Ana", Labour: time.Millisecond, Rework: 2 * time.Hour, Indirect: 3 * time.Minute, Late: -4 * time.Hour, Pay: -largest,
			Breaks: 5 * time.Minute, Rounding: -6 * time.Minute, Overtime: 7 * time.Hour, BreakPay: 8, RoundingPay: -9, Premium: 10, LatePay: -11,
			Burden: 12, RegularPay: 13, RegularTime: 14 * time.Hour},
		{Person: nell, PersonName: "Nell", Late: time.Hour, Pay: largest}}}
	empty := costing.PayLock{Monday: day(2), At: noon.Add(time.Microsecond), Actor: "Bo"}
	for _, l := range []costing.PayLock{late, empty} {
		must(t, db, func(ctx context.Context, st store.Store) error { return st.InsertPayLock(ctx, l) })
	}
	same(t, "PayLocks", []costing.PayLock{empty, late}, read(t, db, func(ctx context.Context, st store.Store) ([]costing.PayLock, error) { return st.PayLocks(ctx) }))
}

// Labour is everybody's that is not all before or all after, also what belongs to no piece and
// what was taken away, under the names that they have now, with all their rates.
func TestStore_Labour(t *testing.T) {
	db, piece := setup(t), id.New()
	nell, bo := hand(t, db, "Nell", 18_00), hand(t, db, "Bo", -1)
	until, from, cleaning := nell.on(piece, time.Hour), nell.on(piece, 4*time.Hour), bo.on(id.Nil, 2*time.Hour)
	from.Start = noon.Add(3 * time.Hour)
	cleaning.Stage, cleaning.StageKind, cleaning.StageKey, cleaning.PartLabel, cleaning.Indirect = id.Nil, "", "", "", "cleaning"
	long := nell.on(piece, 3*time.Hour)
	long.Whole = noon.Add(-time.Minute)
	gone := away(long)
	long.Paused = true
	save(t, db, func(b *costing.Book) {
		for _, s := range []costing.Stretch{from, long, until, cleaning, gone} {
			b.Work(s, nell.terms)
		}
	})
	named(t, db, nell.id, "Nell Quist", 1)
	var terms *costing.Terms
	got := read(t, db, func(ctx context.Context, st store.Store) (stretches []costing.Stretch, err error) {
		stretches, terms, err = st.Labour(ctx, noon.Add(time.Hour), noon.Add(3*time.Hour))
		return stretches, err
	})
	without := costing.Stretch{Fact: costing.Fact{Piece: piece}, Sign: -1, Entry: long.Entry, Person: nell.id, PersonName: "Nell Quist", Stage: sanding, StageKind: "sand",
		Start: noon, End: noon.Add(3 * time.Hour), Whole: long.Whole}
	there := without
	there.Sign, there.Paused = 1, true
	want := []costing.Stretch{
		{Sign: 1, Entry: cleaning.Entry, Person: bo.id, PersonName: "Bo", Indirect: "cleaning", Start: noon, End: noon.Add(2 * time.Hour)},
		there, without,
	}
	same(t, "Labour", want, got)
	same(t, "rates", nell.rates, terms.Rates)
}

// The books are behind a producer in what it has written and they have not applied, in what
// waits or was refused, and wholly when its record is another.
func TestStore_Behind(t *testing.T) {
	db, piece, person := setup(t), id.New(), id.New()
	exec(t, db, `INSERT INTO source (producer, epoch, behind, compared_at) VALUES ('workflow', 'one', 0, now())`)
	exec(t, db, `INSERT INTO applied (producer, aggregate_id, version) VALUES ('workflow', $1, 3), ('sales', $2, 9)`, piece, person)
	behind := func(epoch string, heads ...inbox.Head) store.Behind {
		return read(t, db, func(ctx context.Context, st store.Store) (store.Behind, error) {
			return st.Behind(ctx, "workflow", epoch, heads)
		})
	}
	aside := func(producer string) {
		exec(t, db, `UPDATE parked SET producer = $1`, producer)
		exec(t, db, `UPDATE dead SET producer = $1`, producer)
	}
	at := func(version int64) inbox.Head { return inbox.Head{Aggregate: piece, Version: version} }
	same(t, "level", store.Behind{}, behind("one", at(3)))
	same(t, "of nothing", store.Behind{}, behind("one"))
	same(t, "one piece further", store.Behind{Aggregates: 1}, behind("one", at(4)))
	same(t, "and somebody new", store.Behind{Aggregates: 2}, behind("one", at(4), inbox.Head{Aggregate: person, Version: 1}))
	same(t, "of another record", store.Behind{Restored: true}, behind("two", at(3)))
	park(t, db, piece)
	refuse(t, db, piece, nil)
	aside("workflow")
	same(t, "with what was put aside", store.Behind{Waiting: 1, Refused: 1}, behind("one", at(3)))
	aside("sales")
	same(t, "with what another's was", store.Behind{}, behind("one", at(3)))
}
