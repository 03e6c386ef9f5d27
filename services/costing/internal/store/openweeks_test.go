package store_test

import (
	"context"
	"testing"
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/labour"
	"tackfree/pkg/pg"
	"tackfree/services/costing/internal/costing"
	"tackfree/services/costing/internal/store"
)

// seen gives a store as somebody sees it at an instant; events that are put aside tell of no hours.
func seen(st store.Store, now time.Time) store.Store {
	return st.In(store.View{Now: now, Zone: time.UTC, Clocks: "workflow", Hours: func([]byte) []costing.Uncertain { return nil }})
}

func ruled(t *testing.T, db *pg.DB) {
	t.Helper()
	must(t, db, func(ctx context.Context, st store.Store) error {
		return st.InsertPayRule(ctx, costing.PayRule{ID: id.New(), Monday: day(2), Rule: labour.Rule{WeeklyAfter: 40 * time.Hour, Percent: 150}, RecordedAt: noon})
	})
}

// A sheet says in which weeks its overtime is open by the hours that are still there, alone, in the list and among all
// that may be open; week after week.
func TestStore_OpenWeeks(t *testing.T) {
	db, stool, chair, gone := setup(t), id.New(), id.New(), id.New()
	nell, ana := hand(t, db, "Nell", 20_00), hand(t, db, "Ana", 20_00)
	ruled(t, db)
	away1 := nell.on(gone, time.Hour)
	cleaning := ana.on(id.Nil, time.Hour)
	cleaning.Stage, cleaning.StageKind, cleaning.Indirect = id.Nil, "", "cleaning"
	save(t, db, func(b *costing.Book) {
		for n, piece := range []id.ID{stool, chair, gone} {
			tagged(b, piece, int32(n+1))
		}
		b.Work(nell.on(stool, time.Hour), nell.terms)
		b.Work(ana.on(chair, time.Hour), ana.terms)
		b.Work(away1, nell.terms)
		b.Work(away(away1), nell.terms)
		b.Work(cleaning, ana.terms)
	})
	weeks := func(piece id.ID, now time.Time) (mondays []string) {
		t.Helper()
		sheet := read(t, db, func(ctx context.Context, st store.Store) (costing.Sheet, error) {
			return seen(st, now).Sheet(ctx, piece)
		})
		for _, w := range sheet.Weeks {
			mondays = append(mondays, w.Monday.Format("01-02 ")+w.PersonName)
		}
		all := read(t, db, func(ctx context.Context, st store.Store) ([]costing.Sheet, error) {
			return seen(st, now).MaybeOpen(ctx)
		})
		found := false
		for _, s := range all {
			if s.Piece == piece {
				found = true
				same(t, "weeks among all", sheet.Weeks, s.Weeks)
			}
		}
		if len(mondays) > 0 && !found {
			t.Error("it is not among those that may be open")
		}
		return mondays
	}
	same(t, "stool in its week", []string{"03-02 "}, weeks(stool, noon.AddDate(0, 0, 2)))
	same(t, "what was taken away", []string(nil), weeks(gone, noon.AddDate(0, 0, 2)))
	same(t, "stool after its week", []string(nil), weeks(stool, noon.AddDate(0, 0, 7)))
	same(t, "stool before its week", []string(nil), weeks(stool, noon.AddDate(0, 0, -7)))
	save(t, db, func(b *costing.Book) {
		b.Tangled = map[costing.PersonWeek]time.Time{{Person: nell.id, Monday: day(2)}: noon, {Person: ana.id, Monday: day(2)}: {}}
		b.Raise(costing.Review{ID: id.New(), Person: ana.id, PersonName: "Ana", Since: day(4)})
	})
	same(t, "stool of a tangled week", []string{"03-02 Nell"}, weeks(stool, noon.AddDate(0, 0, 7)))
	same(t, "what was taken away of it", []string(nil), weeks(gone, noon.AddDate(0, 0, 7)))
	same(t, "chair of a week that is looked at", []string{"03-02 Ana"}, weeks(chair, noon.AddDate(0, 0, 7)))
	same(t, "chair in its week", []string{"03-02 "}, weeks(chair, noon.AddDate(0, 0, 2)))
	save(t, db, func(b *costing.Book) {
		b.Tangled = map[costing.PersonWeek]time.Time{{Person: nell.id, Monday: day(2)}: {}}
	})
	same(t, "stool put right", []string(nil), weeks(stool, noon.AddDate(0, 0, 7)))
}

// What opens or closes a week is in the makings of the sheets of all pieces, and so is the turn of the week.
func TestStore_Makings_OpenWeeks(t *testing.T) {
	db, piece := setup(t), id.New()
	nell := hand(t, db, "Nell", 20_00)
	clock, review := nell.clock(id.Nil), id.New()
	now := noon.AddDate(0, 0, 7)
	tangle := func(since time.Time) func() {
		return func() {
			save(t, db, func(b *costing.Book) {
				b.Tangled = map[costing.PersonWeek]time.Time{{Person: nell.id, Monday: day(2)}: since}
			})
		}
	}
	makings := func() store.Makings {
		t.Helper()
		return read(t, db, func(ctx context.Context, st store.Store) (store.Makings, error) {
			return seen(st, now).Makings(ctx, piece)
		})
	}
	for _, step := range []struct {
		what string
		do   func()
	}{
		{"a rule", func() { ruled(t, db) }},
		{"a week tangled", tangle(noon)},
		{"another minute of it", tangle(noon.Add(time.Minute))},
		{"the week untangled", tangle(time.Time{})},
		{"a review", func() {
			save(t, db, func(b *costing.Book) {
				b.Raise(costing.Review{ID: review, Person: nell.id, PersonName: "Nell", Since: noon})
			})
		}},
		{"the review settled", func() { save(t, db, func(b *costing.Book) { b.SettleReview(review) }) }},
		{"a clock from before", func() { save(t, db, func(b *costing.Book) { b.Begin(clock) }) }},
		{"the clock ended", func() { save(t, db, func(b *costing.Book) { b.End(clock.Entry, id.Nil) }) }},
		{"the turn of the week", func() { now = now.AddDate(0, 0, 7) }},
	} {
		before := makings()
		step.do()
		if makings() == before {
			t.Errorf("%s: the makings stay %+v", step.what, before)
		}
	}
	before := makings()
	now = now.AddDate(0, 0, 1)
	same(t, "makings a day later", before, makings())
}
