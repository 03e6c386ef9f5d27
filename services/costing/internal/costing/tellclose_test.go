package costing_test

import (
	"testing"
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/services/costing/internal/costing"
)

// Whatever lines a close leaves out because they are of nothing, all that it books says what became of the
// overhead, and what its taking back books says why; nothing else of the day says so.
func TestRules_Tell_Closes(t *testing.T) {
	march := costing.MonthOf(time.Date(2026, 3, 1, 0, 0, 0, 0, time.UTC), time.UTC)
	const of = "The close of March 2026: "
	for name, c := range map[string]struct {
		close costing.Close
		want  string
	}{
		"TooLittleToPieces": {costing.Close{Applied: 20_00, Actual: 32_00, Settlement: costing.Prorated}, of + "what overhead was carried too little goes to the pieces that carried it."},
		"TooMuchToPieces":   {costing.Close{Applied: 20_00, Actual: 8_00, Settlement: costing.Prorated}, of + "what overhead was carried too much comes off the pieces that carried it."},
		"TooLittleToSold":   {costing.Close{Applied: 20_00, Actual: 32_00, Settlement: costing.ToSold}, of + "what overhead was carried too little goes to cost of what was sold."},
		"TooMuchToSold":     {costing.Close{Applied: 20_00, Actual: 8_00, Settlement: costing.ToSold}, of + "what overhead was carried too much comes off the cost of what was sold."},
		"NothingSpent":      {costing.Close{Applied: 20_00, Settlement: costing.ToSold}, of + "what overhead was carried too much comes off the cost of what was sold."},
		"LabourOnNoPiece":   {costing.Close{Applied: 20_00, Actual: 15_00, Indirect: 9_00, WithIndirect: true, Settlement: costing.Prorated}, of + "what overhead was carried too little goes to the pieces that carried it."},
		"AsMuch":            {costing.Close{Applied: 20_00, Actual: 20_00, Settlement: costing.ToSold}, of + "pieces carried as much overhead as was really spent."},
	} {
		t.Run(name, func(t *testing.T) {
			c.close.ID, c.close.Month = id.New(), march
			c.close.Reopened = &costing.Reopening{ID: id.New(), Reason: "a bill was missing"}
			if c.close.Settlement == costing.Prorated {
				if err := c.close.Prorate([]costing.Carried{{Piece: id.New(), First: 5_00}, {Piece: id.New(), Again: 15_00}}); err != nil {
					t.Fatal(err)
				}
			}
			b := costing.NewBook(costing.Standard())
			b.CloseMonth(c.close)
			made := len(b.Transactions)
			b.ReopenMonth(c.close)
			b.TakeIn(fact(id.New()), money.Amount(10_00))
			for i, tx := range b.Transactions {
				want := c.want
				switch {
				case tx.Group.Kind != costing.NoGroup:
					continue
				case i == len(b.Transactions)-1:
					want = costing.Standard().Rule("piece_bought").Says
				case i >= made:
					want = "The close of March 2026 is taken back: a bill was missing"
				}
				if got := costing.Describe(costing.Standard().Tell(posted(tx), posted(tx), nil, nil, nil, []costing.Close{c.close})); got != want {
					t.Errorf("entry %d says %q, want %q", i, got, want)
				}
			}
		})
	}
}
