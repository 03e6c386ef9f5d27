package advice

import (
	"testing"

	"tackfree/pkg/id"
	"tackfree/pkg/money"
)

// stood is a past of chairs that were put up at 100. Half of them are marked down by a tenth and sold the day
// after; as many stand there still.
func stood(pieces int) *Past {
	var c Changes
	for n := range 2 * pieces {
		piece, from := id.New(), day(float64(n%20))
		c.Pieces = append(c.Pieces, Known{Piece: Piece{ID: piece, Kind: "chair"}, Stock: true})
		first := Stretch{Piece: piece, Spell: 1, Number: 1, Asked: 10_000, From: from}
		if n%2 == 0 {
			first.To = from.AddDate(0, 0, 1)
			c.Stretches = append(c.Stretches, Stretch{Piece: piece, Spell: 1, Number: 2, Asked: 9_000, From: first.To, To: first.To.AddDate(0, 0, 1), Sold: true})
			c.Sales = append(c.Sales, Sale{ID: id.New(), Piece: piece, Spell: 1, SoldAt: first.To.AddDate(0, 0, 1), Price: 9_000})
		}
		c.Stretches = append(c.Stretches, first)
	}
	past := &Past{}
	past.Note(c)
	return past
}

// What other kinds tell has no end here: all that was marked down went the next day, and nothing else. Of a kind that was
// never offered there is advice all the same, within the bounds.
func TestModel_Advise_WhereMarkdownsAreAll(t *testing.T) {
	m, err := Learn(dollars, stood(1000), Terms{HoldingMedium: new(money.Amount(10))})
	if err != nil {
		t.Fatal(err)
	}
	for kind, steep := range map[string]float64{"chair": 20, "table": 12} {
		a, err := m.Advise(Question{Piece: Piece{Kind: kind}, Now: day(100)}, Running{}, 10_000)
		if err != nil {
			t.Fatalf("of a %s: %v", kind, err)
		}
		f := a.Forecast
		if f.Likely != 9_000 || f.DaysLow != 1 || f.DaysHigh < 1 || kind == "chair" && f.Elasticity <= steep || kind == "table" && f.Elasticity != steep {
			t.Errorf("a %s: %d likely, %d to %d days, elasticity %v", kind, f.Likely, f.DaysLow, f.DaysHigh, f.Elasticity)
		}
		for _, w := range a.Ways {
			for _, by := range append(w.SoldBy, f.SoldBy...) {
				if !(0 <= by.Low && by.Low <= by.Share && by.Share <= by.High && by.High <= 1) {
					t.Errorf("way %d of a %s by day %d: %v, between %v and %v", w.Kind, kind, by.Day, by.Share, by.Low, by.High)
				}
			}
		}
	}
}
