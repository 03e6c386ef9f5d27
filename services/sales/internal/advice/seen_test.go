package advice

import (
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"tackfree/pkg/id"
	"tackfree/pkg/money"
)

// By hand, of six chairs at 90 that stood 3, 5, 5, 8, 10 and 12 days: sold on the 3rd, one of the two on the 5th and on
// the 10th, the others still there. One of six, then 5/6 · 4/5, then 4/6 · 1/2.
func TestModel_seen(t *testing.T) {
	var past Past
	put := func(kind string, days float64, sold bool) {
		piece := id.New()
		x := Stretch{Piece: piece, Spell: 1, Number: 1, Asked: 9000, From: day(0), To: day(days), Sold: sold}
		past.Note(Changes{Pieces: []Known{{Piece: Piece{ID: piece, Kind: kind}, Stock: true}}, Stretches: []Stretch{x}})
	}
	for _, c := range []struct {
		days float64
		sold bool
	}{{2.4, true}, {5, true}, {5.5, false}, {8, false}, {9.01, true}, {12, false}} {
		put("chair", c.days, c.sold)
	}
	for range 4 {
		put("table", 3, true)
	}
	m, err := Learn(dollars, &past, Terms{Beliefs: []Belief{{Key: "chair", Guess: Guess{8000, 10000}}, {Key: "table", Guess: Guess{8000, 10000}}}})
	if err != nil {
		t.Fatal(err)
	}
	got, listings := m.seen("chair")
	want := []Seen{{3, 1.0 / 6, 6, 1}, {5, 1 - 4.0/6, 5, 1}, {10, 1 - 2.0/6, 2, 1}}
	if diff := cmp.Diff(want, got, cmpopts.EquateApprox(0, 1e-12)); diff != "" || listings != 6 {
		t.Errorf("seen of %d listings (-want +got):\n%s", listings, diff)
	}
	if few, listings := m.seen("table"); few != nil || listings != 0 {
		t.Errorf("of four tables %v, of %d", few, listings)
	}
}

// With belief only, no more is asked than a little above what a tenth of such pieces exceed; what is tried above it
// is told apart, and with what the shop often asked more may be advised.
func TestModel_Advise_WithinReach(t *testing.T) {
	ask := func(past *Past) Advice {
		t.Helper()
		m, err := Learn(dollars, past, Terms{Beliefs: []Belief{{Key: "dresser", Guess: Guess{320_00, 560_00}}}})
		if err != nil {
			t.Fatal(err)
		}
		a, err := m.Advise(Question{Piece: Piece{Kind: "dresser"}, Now: day(100)}, Running{}, 742_00)
		if err != nil {
			t.Fatal(err)
		}
		return a
	}
	a := ask(&Past{})
	if a.Highest != 588_00 {
		t.Errorf("no more than %d is advised, want 588.00: a twentieth above 560", a.Highest)
	}
	for _, w := range a.Ways {
		if beyond := w.Kind == Tried; w.Beyond != beyond || !beyond && w.Steps[0].Asking > a.Highest {
			t.Errorf("way %d asks %v, beyond: %v", w.Kind, w.Steps, w.Beyond)
		}
	}
	var past Past
	for range 12 {
		piece := id.New()
		past.Note(Changes{Pieces: []Known{{Piece: Piece{ID: piece, Kind: "dresser"}, Stock: true}},
			Stretches: []Stretch{{Piece: piece, Spell: 1, Number: 1, Asked: 742_00, From: day(0), To: day(20), Sold: true}}})
	}
	if a := ask(&past); a.Highest != money.Amount(742_00) || a.Ways[len(a.Ways)-1].Beyond {
		t.Errorf("where twelve were sold for 742: no more than %d", a.Highest)
	}
}
