package store_test

import (
	"context"
	"testing"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

// The database sees all entries of a person: none overlaps another that counts, to the
// instant, and one that runs overlaps all that come after its start.
func TestStore_InsertEntry_Overlap(t *testing.T) {
	db := setup(t)
	nell, odo := hire(t, db, "Nell"), hire(t, db, "Odo")
	dresser, table := plan(t, db, 1), plan(t, db, 2)
	void := stretch(nell, dresser, stripTop, 20, 40)
	void.Superseded = true
	clock(t, db, stretch(nell, dresser, stripTop, 10, 20), void, running(nell, table, sandTop, 40))
	before := readAll(t, db, dresser.Piece.ID, table.Piece.ID)
	for name, e := range map[string]workflow.Entry{
		"Begins":        stretch(nell, table, inspect, 0, 11),
		"Ends":          stretch(nell, dresser, stripTop, 19, 30),
		"Inside":        stretch(nell, dresser, inspect, 12, 15),
		"Around":        stretch(nell, table, stripCase, 0, 30),
		"Same":          stretch(nell, dresser, stripTop, 10, 20),
		"IntoTheOpen":   stretch(nell, dresser, inspect, 30, 41),
		"WhileOpen":     stretch(nell, table, inspect, 50, 60),
		"OpenWhileOpen": running(nell, dresser, inspect, 50),
		"OpenBefore":    running(nell, dresser, inspect, 25),
	} {
		t.Run(name, func(t *testing.T) {
			refusedAtCommit(t, db, fault.Precondition, "CLOCK_OVERLAP", inserted(e))
			same(t, "refused, but changed", before, readAll(t, db, dresser.Piece.ID, table.Piece.ID))
		})
	}
	late := void
	late.ID, late.Start, late.End = id.New(), after(15), after(45)
	clock(t, db, stretch(nell, table, inspect, 0, 10), stretch(nell, table, inspect, 20, 30), late, stretch(odo, dresser, stripTop, 10, 20), running(odo, dresser, sandTop, 30))
}

// To end an entry or to let it count again is refused like an insert.
func TestStore_EndEntry_Overlap(t *testing.T) {
	db := setup(t)
	nell, dresser := hire(t, db, "Nell"), plan(t, db, 1)
	early := stretch(nell, dresser, sandTop, 0, 10)
	clock(t, db, early, stretch(nell, dresser, sandTop, 20, 30))
	early.End = after(21)
	refusedAtCommit(t, db, fault.Precondition, "CLOCK_OVERLAP", func(ctx context.Context, st store.Store) error { return st.EndEntry(ctx, early) })
	early.End = after(20)
	must(t, db, func(ctx context.Context, st store.Store) error { return st.EndEntry(ctx, early) })
	same(t, "ended", early, readEntry(t, db, early.ID))
}

// Two ways to write one person's time at one moment: the second waits and is refused.
func TestStore_InsertEntry_AtOnce(t *testing.T) {
	db := setup(t)
	nell, dresser := hire(t, db, "Nell"), plan(t, db, 1)
	first, second := running(nell, dresser, sandTop, 0), running(nell, dresser, sandTop, 5)
	if err := inTurn(t, db, sent(inserted(first)), nothing, inserted(second)); !fault.Is(err, "CLOCK_OVERLAP") {
		t.Errorf("the second = %v, want CLOCK_OVERLAP", err)
	}
	same(t, "entries", []workflow.Entry{first}, readAll(t, db).Entries)
}

// correction is an entry and what replaces it.
func correction(old workflow.Entry, from, to int) (workflow.Entry, work) {
	n := old
	n.ID, n.Corrects, n.Start, n.End, n.Reason = id.New(), old.ID, after(from), after(to), "forgot"
	return n, func(ctx context.Context, st store.Store) error {
		if err := st.SupersedeEntry(ctx, old); err != nil {
			return err
		}
		return st.InsertEntry(ctx, n)
	}
}

// A replacement may overlap what it replaces, if that is superseded first. Only one entry
// replaces another, whatever its times; it can be replaced itself.
func TestStore_Correction(t *testing.T) {
	db := setup(t)
	nell, dresser := hire(t, db, "Nell"), plan(t, db, 1)
	old := stretch(nell, dresser, sandTop, 0, 60)
	clock(t, db, old)
	replacement, correct := correction(old, 0, 50)
	refusedAtCommit(t, db, fault.Precondition, "CLOCK_OVERLAP", func(ctx context.Context, st store.Store) error {
		if err := st.InsertEntry(ctx, replacement); err != nil {
			return err
		}
		return st.SupersedeEntry(ctx, old)
	})
	same(t, "refused, but changed", old, readEntry(t, db, old.ID))
	must(t, db, correct)
	_, again := correction(old, 100, 110)
	refusedAtCommit(t, db, fault.Precondition, "CLOCK_SUPERSEDED", again)
	third, correct := correction(replacement, 5, 50)
	must(t, db, correct)
	old.Superseded, replacement.Superseded = true, true
	old.ReplacedBy, replacement.ReplacedBy = replacement.ID, third.ID
	for _, want := range []workflow.Entry{old, replacement, third} {
		same(t, "entry", want, readEntry(t, db, want.ID))
	}
}

// Two people correct one entry at once, to times that do not overlap.
func TestStore_Correction_AtOnce(t *testing.T) {
	db := setup(t)
	old := stretch(hire(t, db, "Nell"), plan(t, db, 1), sandTop, 0, 60)
	clock(t, db, old)
	_, first := correction(old, 0, 50)
	_, second := correction(old, 100, 110)
	if err := inTurn(t, db, sent(first), nothing, second); !fault.Is(err, "CLOCK_SUPERSEDED") {
		t.Errorf("the second = %v, want CLOCK_SUPERSEDED", err)
	}
}
