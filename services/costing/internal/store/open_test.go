package store_test

import (
	"testing"
	"time"

	"github.com/google/uuid"

	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/pkg/pg"
	"tackfree/services/costing/internal/costing"
	"tackfree/services/costing/internal/store"
)

const soldAndScrapped = "it was sold and scrapped at once: if it never went out, refund the sale with the piece returned"

// A stretch is provisional until the person has a rate that was in force when it began,
// be it one of zero.
func TestStore_Open_Unrated(t *testing.T) {
	db := setup(t)
	missing := []string{"Nell has no pay rate yet for work on 2026-03-02"}
	for name, c := range map[string]struct {
		perHour money.Amount // below zero: no rate
		from    time.Time
		want    []string
	}{
		"NoRate":        {-1, noon, missing},
		"FromBefore":    {18_00, longAgo, nil},
		"FromThenOn":    {18_00, noon, nil},
		"OfZero":        {0, noon, nil},
		"FromMidway":    {18_00, noon.Add(time.Microsecond), missing},
		"FromAfterward": {18_00, noon.Add(24 * time.Hour), missing},
	} {
		t.Run(name, func(t *testing.T) {
			piece := id.New()
			nell, ana := hand(t, db, "Nell", -1), hand(t, db, "Ana", 24_00)
			if c.perHour >= 0 {
				rate(t, db, costing.Rate{ID: id.New(), Person: nell.id, Day: day(2), From: c.from, PerHour: c.perHour, RecordedAt: noon})
			}
			save(t, db, func(b *costing.Book) {
				b.Work(nell.on(piece, time.Hour), costing.NewTerms(nil, nil, nil))
				b.Work(ana.on(piece, time.Hour), ana.terms)
			})
			same(t, "Open", c.want, sheet(t, db, piece).Open(time.UTC, usd))
		})
	}
}

// Each person is named once, with the first day that lacks a rate; the names come in order.
func TestStore_Open_UnratedPeople(t *testing.T) {
	db, piece, other := setup(t), id.New(), id.New()
	nell, ana := hand(t, db, "Nell", -1), hand(t, db, "Ana", -1)
	rate(t, db, costing.Rate{ID: id.New(), Person: ana.id, Day: day(4), From: day(4), PerHour: 1, RecordedAt: noon})
	on := func(p person, d int) costing.Stretch {
		s := p.on(piece, time.Hour)
		s.Start, s.End = day(d).Add(8*time.Hour), day(d).Add(9*time.Hour)
		return s
	}
	again := on(nell, 6)
	again.Rework = true
	save(t, db, func(b *costing.Book) {
		for _, s := range []costing.Stretch{again, on(nell, 5), on(ana, 4), on(ana, 3), on(ana, 7)} {
			b.Work(s, costing.NewTerms(nil, nil, nil))
		}
		b.Work(hand(t, db, "Cleo", 1).on(other, time.Hour), costing.NewTerms(nil, nil, nil))
	})
	want := []string{"Ana has no pay rate yet for work on 2026-03-03", "Nell has no pay rate yet for work on 2026-03-05"}
	same(t, "Open", want, sheet(t, db, piece).Open(time.UTC, usd))
	same(t, "Open of the other", []string(nil), sheet(t, db, other).Open(time.UTC, usd))
	for _, s := range list(t, db, store.Mark{}, 10) {
		same(t, "Open in the list", sheet(t, db, s.Piece).Open(time.UTC, usd), s.Open(time.UTC, usd))
	}
}

// Labour that was taken away needs no rate, unless some of it was put back.
func TestStore_Open_TakenAway(t *testing.T) {
	db, piece := setup(t), id.New()
	nell := hand(t, db, "Nell", -1)
	wrong := nell.on(piece, time.Hour)
	save(t, db, func(b *costing.Book) {
		b.Work(wrong, costing.NewTerms(nil, nil, nil))
		b.Work(away(wrong), costing.NewTerms(nil, nil, nil))
	})
	same(t, "Open", []string(nil), sheet(t, db, piece).Open(time.UTC, usd))
	save(t, db, func(b *costing.Book) { b.Work(nell.on(piece, time.Millisecond), costing.NewTerms(nil, nil, nil)) })
	same(t, "Open", []string{"Nell has no pay rate yet for work on 2026-03-02"}, sheet(t, db, piece).Open(time.UTC, usd))
}

// What is corrected to another day needs a rate for that day only.
func TestStore_Open_CorrectedToAnotherDay(t *testing.T) {
	db, piece := setup(t), id.New()
	nell := hand(t, db, "Nell", -1)
	wrong, right := nell.on(piece, time.Hour), nell.on(piece, time.Hour)
	right.Start, right.End = day(5), day(5).Add(time.Hour)
	save(t, db, func(b *costing.Book) {
		b.Work(wrong, costing.NewTerms(nil, nil, nil))
		b.Work(away(wrong), costing.NewTerms(nil, nil, nil))
		b.Work(right, costing.NewTerms(nil, nil, nil))
	})
	same(t, "Open", []string{"Nell has no pay rate yet for work on 2026-03-05"}, sheet(t, db, piece).Open(time.UTC, usd))
}

// Somebody who has another name since is one person, called what they are now.
func TestStore_Open_Renamed(t *testing.T) {
	db, piece := setup(t), id.New()
	nell := hand(t, db, "Nell", -1)
	first, wrong := nell.on(piece, time.Hour), nell.on(piece, time.Hour)
	renamed := nell
	renamed.name = "Ada Quist"
	last := renamed.on(piece, time.Hour)
	last.Start, last.End = day(5), day(5).Add(time.Hour)
	gone := away(wrong)
	gone.PersonName = renamed.name
	save(t, db, func(b *costing.Book) {
		for _, s := range []costing.Stretch{first, wrong, gone, last} {
			b.Work(s, costing.NewTerms(nil, nil, nil))
		}
	})
	same(t, "Open", []string{"Ada Quist has no pay rate yet for work on 2026-03-02"}, sheet(t, db, piece).Open(time.UTC, usd))
}

// refuse puts an event aside that could not be booked; nil of piece: it is about none.
func refuse(t *testing.T, db *pg.DB, piece id.ID, resolved *time.Time) {
	t.Helper()
	exec(t, db, `INSERT INTO dead (id, cause, producer, aggregate_id, version, piece_id, event_id, subject, body, error, tries, first_at, resolved_at)
		VALUES ($1, 'refused', 'sales', $2, 1, $3, $4, '', '', '', 1, $5, $6)`,
		id.New(), id.New(), uuid.NullUUID{UUID: piece, Valid: piece != id.Nil}, id.New().String(), noon, resolved)
}

// park has an event wait for an earlier one.
func park(t *testing.T, db *pg.DB, piece id.ID) {
	t.Helper()
	exec(t, db, `INSERT INTO parked (producer, aggregate_id, version, piece_id, body, since) VALUES ('sales', $1, 2, $2, '', $3)`,
		id.New(), uuid.NullUUID{UUID: piece, Valid: piece != id.Nil}, noon)
}

// Events of a piece that were put aside keep its sheet provisional until each of them has
// been resolved, and nobody else's.
func TestStore_Open_PutAside(t *testing.T) {
	for name, c := range map[string]struct {
		refused, resolved, parked int
		want                      []string
	}{
		"None":     {0, 0, 0, nil},
		"Refused":  {1, 0, 0, []string{"1 event(s) could not be booked"}},
		"Resolved": {0, 2, 0, nil},
		"Parked":   {0, 0, 1, []string{"1 event(s) wait for an earlier one"}},
		"Many":     {3, 1, 12, []string{"3 event(s) could not be booked", "12 event(s) wait for an earlier one"}},
	} {
		t.Run(name, func(t *testing.T) {
			db, piece, other := setup(t), id.New(), id.New()
			save(t, db, func(b *costing.Book) {
				tagged(b, piece, 1)
				tagged(b, other, 2)
			})
			for range c.refused {
				refuse(t, db, piece, nil)
			}
			for range c.resolved {
				refuse(t, db, piece, &noon)
			}
			for range c.parked {
				park(t, db, piece)
			}
			for _, elsewhere := range []id.ID{id.Nil, id.New(), other} {
				refuse(t, db, elsewhere, nil)
				park(t, db, elsewhere)
			}
			same(t, "Open", c.want, sheet(t, db, piece).Open(time.UTC, usd))
			both := list(t, db, store.Mark{}, 2)
			same(t, "Open in the list", c.want, both[0].Open(time.UTC, usd))
			same(t, "Open of the other", []string{"1 event(s) could not be booked", "1 event(s) wait for an earlier one"}, both[1].Open(time.UTC, usd))
		})
	}
}

// Only a piece that is sold and scrapped at once is in doubt.
func TestStore_Open_SoldAndScrapped(t *testing.T) {
	db := setup(t)
	for _, state := range []costing.SalesState{"", costing.NotListed, costing.Listed, costing.Sold} {
		for _, scrapped := range []bool{false, true} {
			var want []string
			if state == costing.Sold && scrapped {
				want = []string{soldAndScrapped}
			}
			piece := id.New()
			save(t, db, func(b *costing.Book) { b.Of(piece).Sales, b.Of(piece).Scrapped = &state, scrapped })
			same(t, "Open of one "+string(state), want, sheet(t, db, piece).Open(time.UTC, usd))
		}
	}
}

// All reasons stand together, in one order.
func TestStore_Open_All(t *testing.T) {
	db, piece := setup(t), id.New()
	refuse(t, db, piece, nil)
	park(t, db, piece)
	save(t, db, func(b *costing.Book) {
		b.Work(hand(t, db, "Nell", -1).on(piece, time.Hour), costing.NewTerms(nil, nil, nil))
		b.Of(piece).Sales, b.Of(piece).Scrapped = new(costing.Sold), true
		b.Begin(person{id: id.New(), name: "Nell"}.clock(piece))
		b.Await(costing.OutsideWork{ID: id.New(), Piece: piece, Kind: "caning", Firm: "Rush & Reed", Quoted: new(largest)})
	})
	same(t, "Open", []string{soldAndScrapped, "somebody is on the clock at it now", "caning by Rush & Reed is out, quoted 92233720368547758.07", "Nell has no pay rate yet for work on 2026-03-02",
		"1 event(s) could not be booked", "1 event(s) wait for an earlier one"}, sheet(t, db, piece).Open(time.UTC, usd))
}
