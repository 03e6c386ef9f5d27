package store_test

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/pg"
	"tackfree/pkg/pgtest"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

func TestStore_Entry_RoundTrip(t *testing.T) {
	db := setup(t)
	nell, dresser := hire(t, db, "Nell"), plan(t, db, 9_999_999)
	corrected := stretch(nell, dresser, stripTop, 0, 10)
	corrected.Superseded = true
	clock(t, db, corrected)
	largest := stretch(nell, dresser, sandTop, 0, 0)
	largest.Start, largest.End = time.Date(1, 1, 1, 0, 0, 0, 1_000, time.UTC), time.Date(1999, 12, 31, 23, 59, 59, 999_999_000, time.UTC)
	largest.Pass, largest.Corrects, largest.Actor, largest.Reason = 1<<31-1, corrected.ID, `"Ödön"`, strings.Repeat(`the clock's "off" was \forgotten; `, 14)
	shortest := stretch(nell, dresser, inspect, 0, 0)
	shortest.End = shortest.Start.Add(time.Microsecond)
	for name, want := range map[string]workflow.Entry{"Largest": largest, "Shortest": shortest, "Open": running(nell, dresser, inspect, 60)} {
		t.Run(name, func(t *testing.T) {
			clock(t, db, want)
			same(t, "Entry", want, readEntry(t, db, want.ID))
			see(t, db, func(ctx context.Context, st store.Store) error {
				list, err := st.Entries(ctx, store.Filter{}, store.Mark{Start: want.Start.Add(-time.Microsecond)}, 100)
				if i := slices.IndexFunc(list, func(e workflow.Entry) bool { return e.ID == want.ID }); err != nil || i < 0 {
					t.Errorf("Entries = %d without it, %v", len(list), err)
				} else {
					same(t, "Entries", want, list[i])
				}
				return nil
			})
		})
	}
	corrected.ReplacedBy = largest.ID
	same(t, "superseded", corrected, readEntry(t, db, corrected.ID))
}

// LockOpen reads the one entry whose clock runs, and its piece.
func TestStore_LockOpen(t *testing.T) {
	db := setup(t)
	nell, odo := hire(t, db, "Nell"), hire(t, db, "Odo")
	dresser, table := plan(t, db, 1), plan(t, db, 2)
	table.Piece.Scrapped, table.Piece.ScrappedAt, table.Piece.Version = true, after(30), 1<<63-1
	must(t, db, scrapped(table.Piece.ID))
	must(t, db, writtenPiece(table.Piece))
	gone := running(nell, dresser, inspect, 70)
	gone.Superseded = true
	want := running(nell, table, sandTop, 60)
	clock(t, db, stretch(nell, dresser, stripTop, 0, 10), gone, want, running(odo, dresser, sandTop, 80))
	must(t, db, func(ctx context.Context, st store.Store) error {
		entries, pieces, err := st.LockOpen(ctx, nell.ID)
		same(t, "entries", []workflow.Entry{want}, entries)
		same(t, "pieces", map[id.ID]workflow.Piece{table.Piece.ID: table.Piece}, pieces)
		return err
	})
}

func TestStore_LockOpen_NotOpen(t *testing.T) {
	db := setup(t)
	nell, odo, dresser := hire(t, db, "Nell"), hire(t, db, "Odo"), plan(t, db, 1)
	gone := running(nell, dresser, inspect, 20)
	gone.Superseded = true
	clock(t, db, stretch(nell, dresser, stripTop, 0, 10), gone, running(odo, dresser, stripTop, 0))
	lock := func(person id.ID) error {
		return inTx(t, db, func(ctx context.Context, st store.Store) error { _, _, err := st.LockOpen(ctx, person); return err })
	}
	if err := lock(nell.ID); !fault.Is(err, "CLOCK_NOT_OPEN") || !errors.Is(err, fault.Precondition) || !strings.HasPrefix(fault.Of(err).Text, "Nell is not") {
		t.Errorf("LockOpen = %v, want CLOCK_NOT_OPEN that names Nell", err)
	}
	if err := lock(id.New()); !fault.Is(err, "PERSON_NOT_FOUND") || !errors.Is(err, fault.NotFound) {
		t.Errorf("LockOpen of nobody = %v, want PERSON_NOT_FOUND", err)
	}
}

func TestStore_Entry_NotFound(t *testing.T) {
	db := setup(t)
	clock(t, db, running(hire(t, db, "Nell"), plan(t, db, 1), sandTop, 0))
	err := view(t, db, func(ctx context.Context, st store.Store) error { _, err := st.Entry(ctx, id.New()); return err })
	if !fault.Is(err, "CLOCK_ENTRY_NOT_FOUND") || !errors.Is(err, fault.NotFound) || fault.Of(err).Fields[0].Path != "clock_entry" {
		t.Errorf("Entry = %v, want CLOCK_ENTRY_NOT_FOUND at clock_entry", err)
	}
}

// Of an entry its times are written, and that it no longer counts; nothing else, and nothing of
// another.
func TestStore_EndAndSupersede(t *testing.T) {
	db := setup(t)
	dresser := plan(t, db, 1)
	ana, want, odo := running(hire(t, db, "Ana"), dresser, sandTop, 0), running(hire(t, db, "Nell"), dresser, sandTop, 0), running(hire(t, db, "Odo"), dresser, sandTop, 0)
	clock(t, db, ana, want, odo)
	want.Start, want.End, want.Paused = after(-5), after(90), true
	must(t, db, func(ctx context.Context, st store.Store) error {
		changed := want
		changed.Reason, changed.Pass = "another", 9
		return st.EndEntry(ctx, changed)
	})
	same(t, "ended", want, readEntry(t, db, want.ID))
	want.Superseded = true
	must(t, db, func(ctx context.Context, st store.Store) error { return st.SupersedeEntry(ctx, want) })
	same(t, "superseded", want, readEntry(t, db, want.ID))
	for _, other := range []workflow.Entry{ana, odo} {
		same(t, "another", other, readEntry(t, db, other.ID))
	}
}

// choices are the ways to choose from the entries of two people on two pieces.
func choices(nell, odo workflow.Person, dresser, table workflow.Plan) map[string]store.Filter {
	return map[string]store.Filter{
		"all": {}, "Nell's": {Person: nell.ID}, "Odo's": {Person: odo.ID},
		"the dresser's": {Piece: dresser.Piece.ID}, "the table's": {Piece: table.Piece.ID},
		"Nell's at the dresser": {Person: nell.ID, Piece: dresser.Piece.ID}, "Odo's at the table": {Person: odo.ID, Piece: table.Piece.ID},
		"nobody's": {Person: id.New()}, "of no piece": {Person: nell.ID, Piece: id.New()},
	}
}

// chosen are the entries that a filter means, by start and then by id.
func chosen(f store.Filter, all []workflow.Entry) (ids []id.ID) {
	all = slices.Clone(all)
	slices.SortFunc(all, func(a, b workflow.Entry) int {
		if c := a.Start.Compare(b.Start); c != 0 {
			return c
		}
		return slices.Compare(a.ID[:], b.ID[:])
	})
	for _, e := range all {
		if (f.Person == id.Nil || f.Person == e.Person) && (f.Piece == id.Nil || f.Piece == e.Piece) {
			ids = append(ids, e.ID)
		}
	}
	return ids
}

// page turns the pages of the entries that a filter means.
func page(t *testing.T, db *pg.DB, f store.Filter, size int32, between func()) (ids []id.ID) {
	t.Helper()
	for _, e := range pgtest.TurnPages(t, size, func(last workflow.Entry, limit int32) (page []workflow.Entry) {
		see(t, db, func(ctx context.Context, st store.Store) (err error) {
			page, err = st.Entries(ctx, f, store.Mark{Start: last.Start, ID: last.ID}, limit)
			return err
		})
		return page
	}, between) {
		ids = append(ids, e.ID)
	}
	return ids
}

// Entries of one instant, as corrections leave them, come by their ids; whoever's and
// wherever they are, each comes once.
func TestStore_Entries(t *testing.T) {
	db := setup(t)
	nell, odo := hire(t, db, "Nell"), hire(t, db, "Odo")
	dresser, table := plan(t, db, 1), plan(t, db, 2)
	all := []workflow.Entry{
		running(nell, table, inspect, 50),
		stretch(odo, table, stripTop, 0, 10), stretch(odo, dresser, stripTop, 20, 30), stretch(nell, table, sandTop, -10, 0),
		stretch(nell, dresser, stripTop, 0, 10), stretch(nell, dresser, sandTop, 0, 11), stretch(nell, table, sandTop, 0, 12), stretch(nell, dresser, sandTop, 0, 13),
	}
	for i := range all[5:] { // what they were before the corrections
		all[5+i].Superseded = true
	}
	for i := range len(all) / 2 { // ids are not in the order of writing
		all[i].ID, all[len(all)-1-i].ID = all[len(all)-1-i].ID, all[i].ID
	}
	clock(t, db, all...)
	for name, f := range choices(nell, odo, dresser, table) {
		for size := range int32(len(all) + 1) {
			same(t, fmt.Sprintf("%s in pages of %d", name, size+1), chosen(f, all), page(t, db, f, size+1, nil))
		}
	}
}

// The last work of a stage's present pass is the one that ends last, whoever did it; what
// runs, does not count, is of another pass or on another stage is not meant.
func TestStore_LastWork(t *testing.T) {
	db := setup(t)
	nell, odo, p, table := hire(t, db, "Nell"), hire(t, db, "Odo"), plan(t, db, 1), plan(t, db, 2)
	read := func(want workflow.Entry) {
		t.Helper()
		see(t, db, func(ctx context.Context, st store.Store) error {
			got, err := st.LastWork(ctx, p.Piece.ID, p.Stages[sandTop].ID)
			same(t, "LastWork", want, got)
			return err
		})
	}
	gone := stretch(nell, p, sandTop, 15, 99)
	gone.Superseded = true
	clock(t, db, gone, running(odo, p, sandTop, 90), stretch(nell, p, stripTop, 60, 70), stretch(nell, table, sandTop, 70, 80))
	read(workflow.Entry{})
	clock(t, db, stretch(nell, p, sandTop, 10, 20), stretch(odo, p, sandTop, 0, 30), stretch(nell, p, sandTop, 21, 29))
	read(workflow.Entry{PersonName: "Odo", End: after(30)})
	p.Stages[sandTop].SentBack = []time.Time{after(40)}
	update(t, db, p.Stages[sandTop])
	read(workflow.Entry{})
	clock(t, db, stretch(nell, p, sandTop, 41, 50)) // of the second pass
	read(workflow.Entry{PersonName: "Nell", End: after(50)})
}

// An entry that is written meanwhile is seen if it is still ahead, and never makes another
// one come twice or not at all.
func TestStore_Entries_AddedMeanwhile(t *testing.T) {
	db := setup(t)
	nell, odo, dresser := hire(t, db, "Nell"), hire(t, db, "Odo"), plan(t, db, 1)
	low := id.New() // below the ids of those that are there
	there := []workflow.Entry{stretch(nell, dresser, sandTop, 0, 5), stretch(nell, dresser, sandTop, 10, 15), stretch(nell, dresser, sandTop, 20, 25), stretch(nell, dresser, sandTop, 30, 35)}
	behind := []workflow.Entry{stretch(odo, dresser, sandTop, 5, 6), stretch(odo, dresser, sandTop, 10, 12)}
	ahead := []workflow.Entry{stretch(odo, dresser, inspect, 20, 22), stretch(odo, dresser, inspect, 40, 41)}
	behind[1].ID = low
	clock(t, db, there...)
	got := page(t, db, store.Filter{}, 2, func() { clock(t, db, append(behind, ahead...)...) })
	same(t, "entries", chosen(store.Filter{}, append(there, ahead...)), got)
}
