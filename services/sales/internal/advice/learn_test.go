package advice

import (
	"math"
	"testing"

	"tackfree/pkg/id"
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

func TestModel_Forecast_Extreme(t *testing.T) {
	m, err := Learn(dollars, stood(1000), Terms{})
	if err != nil {
		t.Fatal(err)
	}
	for _, kind := range []string{"chair", "table"} {
		f, err := m.Forecast(Question{Piece: Piece{Kind: kind}, Now: day(100)})
		t.Log(kind, f.Elasticity, f.DaysLikely, f.Likely, err, math.Pi)
	}
	o, err := m.sellingOf("table")
	if err != nil {
		t.Fatal(err)
	}
	mean, sd := o.Elasticity()
	t.Log(mean, sd)
}
