package store_test

import (
	"context"
	"testing"
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/pg"
	"tackfree/services/costing/internal/costing"
	"tackfree/services/costing/internal/store"
)

func makings(t *testing.T, db *pg.DB, piece id.ID) store.Makings {
	t.Helper()
	return read(t, db, func(ctx context.Context, st store.Store) (store.Makings, error) { return st.Makings(ctx, piece) })
}

// A sheet that reads otherwise has other makings, whatever it was that changed; and what is
// no matter of the piece leaves them alone.
func TestStore_Makings(t *testing.T) {
	db, piece, other := setup(t), id.New(), id.New()
	nell := hand(t, db, "Nell", -1)
	clock := nell.clock(piece)
	if got := makings(t, db, piece); got != (store.Makings{}) {
		t.Errorf("Makings of an unknown piece in empty books = %+v", got)
	}
	save(t, db, func(b *costing.Book) { b.TakeIn(fact(other), 1) })
	for _, step := range []struct {
		what string
		do   func()
	}{
		{"taken in", func() { save(t, db, func(b *costing.Book) { b.TakeIn(fact(piece), 0) }) }},
		{"a clock began", func() { save(t, db, func(b *costing.Book) { b.Begin(clock) }) }},
		{"a clock ended", func() {
			save(t, db, func(b *costing.Book) { b.End(clock.Entry, piece); b.Work(nell.on(piece, time.Hour), nell.terms) })
		}},
		{"a rate of zero", func() {
			rate(t, db, costing.Rate{ID: id.New(), Person: nell.id, Day: day(1), From: day(1), RecordedAt: noon})
		}},
		{"a person named", func() { named(t, db, nell.id, "Nell Q", 1) }},
		{"a person renamed", func() { named(t, db, nell.id, "Nell Quist", 2) }},
		{"an event refused", func() { refuse(t, db, piece, nil) }},
		{"an event parked", func() { park(t, db, piece) }},
		{"the refused one resolved", func() { exec(t, db, `UPDATE dead SET resolved_at = now()`) }},
		{"the parked one booked", func() { exec(t, db, `DELETE FROM parked`) }},
	} {
		before := makings(t, db, piece)
		step.do()
		if makings(t, db, piece) == before {
			t.Errorf("%s: the makings stay %+v", step.what, before)
		}
	}
	before := makings(t, db, piece)
	refuse(t, db, other, nil)
	park(t, db, other)
	save(t, db, func(b *costing.Book) { b.TakeIn(fact(other), 1) })
	same(t, "makings after what is another piece's", before, makings(t, db, piece))
}
