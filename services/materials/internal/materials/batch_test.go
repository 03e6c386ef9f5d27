package materials_test

import (
	"slices"
	"strings"
	"testing"

	"github.com/shopspring/decimal"
	"pgregory.net/rapid"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/pkg/quantity"
	"tackfree/services/materials/internal/materials"
)

func TestSplit(t *testing.T) {
	cases := map[string]struct {
		value, unit string
		weights     []int64
		want        string
	}{
		"Thirds":           {"1", "L", []int64{1, 1, 1}, "0.334 0.333 0.333"},
		"ByArea":           {"1", "L", []int64{3, 1}, "0.75 0.25"},
		"TwoFluidOunces":   {"0.059147059125", "L", []int64{1, 2}, "0.02 0.039147059125"}, // what is less than a millilitre to the larger
		"OneMillilitre":    {"0.003", "L", []int64{1, 1000, 1}, "0.001 0.001 0.001"},
		"ASmallKnob":       {"0.25", "L", []int64{1, 100_000}, "0.001 0.249"},
		"Grams":            {"10", "g", []int64{1, 2}, "3.333 6.667"},
		"Sheets":           {"5", "each", []int64{1, 1, 1}, "2 2 1"},
		"FewerThanStages":  {"2", "each", []int64{1, 1, 1}, "1 1 0"},
		"OneSheet":         {"1", "each", []int64{1, 3}, "0 1"},
		"HalfASheet":       {"0.5", "each", []int64{1, 3, 3}, "0 0.5 0"},
		"TwoAndAHalfSheet": {"2.5", "each", []int64{1, 1}, "1.5 1"},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			parts, err := materials.Split(of(decimal.RequireFromString(c.value), c.unit), c.weights)
			if err != nil {
				t.Fatal(err)
			}
			var got []string
			for _, p := range parts {
				got = append(got, p.String())
			}
			if all := strings.Join(got, " "); all != c.want {
				t.Errorf("Split(%s %s, %v) = %s, want %s", c.value, c.unit, c.weights, all, c.want)
			}
		})
	}
}

func TestSplit_TooLittle(t *testing.T) {
	_, err := materials.Split(litres("0.002"), []int64{1, 1, 1})
	if f := fault.Of(err); f == nil || f.Reason != "QUANTITY_ABSURD" || f.Fields[0].Path != "quantity" {
		t.Errorf("Split of 2 mL over three = %v, want QUANTITY_ABSURD at quantity", err)
	}
}

// However much is split and by which weights: the parts add up to the last digit, and each is
// less than two steps from its exact share, for it may get a step or give one for each that
// would have had nothing.
func TestSplit_Laws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		unit := rapid.SampledFrom([]string{"L", "g", "m", "each"}).Draw(t, "unit")
		total := of(decimal.New(rapid.Int64Range(1, 9_000_000_000).Draw(t, "digits"), -rapid.Int32Range(0, 9).Draw(t, "places")), unit)
		weights := rapid.SliceOfN(rapid.Int64Range(1, 5_000_000), 1, 12).Draw(t, "weights")
		parts, err := materials.Split(total, weights)
		if err != nil {
			if most := decimal.New(int64(len(weights)), -3); unit == "each" || !fault.Is(err, "QUANTITY_ABSURD") || !total.Value.LessThan(most) {
				t.Fatalf("Split(%v, %v) = %v", total, weights, err)
			}
			return
		}
		sum := decimal.Zero
		for _, p := range parts {
			sum = sum.Add(p)
			if p.IsNegative() || (unit != "each" && p.IsZero()) {
				t.Fatalf("Split(%v, %v) = %v", total, weights, parts)
			}
		}
		if !sum.Equal(total.Value) {
			t.Fatalf("Split(%v, %v) adds up to %v", total, weights, sum)
		}
	})
}

// shared is a bench with a batch of as many stages as weights, each of a piece of its own.
func shared(weights ...int64) (shares []materials.Share, pieces map[id.ID]materials.Piece) {
	pieces = map[id.ID]materials.Piece{}
	for _, w := range weights {
		piece := id.New()
		pieces[piece] = materials.Piece{ID: piece}
		shares = append(shares, materials.Share{Title: "oil (top) of piece 7", Weight: w, Issue: materials.Issue{ID: id.New(), Stage: materials.Stage{ID: id.New(), Piece: piece}}})
	}
	return shares, pieces
}

// The shares of a batch cost together what one issue of the whole would, over lots whose cents
// do not divide, and also where something was put back into a lot before.
func TestProduct_IssueShares_CostOfTheWhole(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := newBench()
		for range rapid.IntRange(1, 4).Draw(t, "lots") {
			b.receive(t, drawAmount(t, 900).String(), money.Amount(rapid.Int64Range(0, 10_000).Draw(t, "cost")))
		}
		if rapid.Bool().Draw(t, "put back before") {
			i := b.issue(t, decimal.Min(drawAmount(t, 300), b.OnHand).String())
			if half := b.OnHand.Div(decimal.NewFromInt(2)).Truncate(3); half.IsPositive() {
				b.issue(t, half.String())
			}
			b.takeBack(t, i.ID)
		}
		shares, pieces := shared(rapid.SliceOfN(rapid.Int64Range(1, 50), 1, 6).Draw(t, "weights")...)
		amount := decimal.Min(drawAmount(t, 2_000), b.OnHand)
		alone, before := b.Product, b.Product
		whole, _, err := alone.Issue(&materials.Piece{}, materials.Issue{}, quantity.Quantity{Value: amount, Unit: b.Unit}, b.lots)
		if err != nil {
			t.Fatal(err)
		}
		got, _, err := b.IssueShares(pieces, shares, quantity.Quantity{Value: amount, Unit: b.Unit}, b.lots)
		if fault.Is(err, "QUANTITY_ABSURD") {
			return
		}
		if err != nil {
			t.Fatal(err)
		}
		sum, cost := decimal.Zero, money.Amount(0)
		for _, s := range got {
			sum, cost = sum.Add(s.Issue.Quantity), cost+s.Issue.Cost
			b.keep(s.Issue.Draws)
			if s.Issue.Cost < 0 || s.Piece.Version != 1 {
				t.Fatalf("share = %+v", s)
			}
		}
		if !sum.Equal(whole.Quantity) || cost != whole.Cost || !b.OnHand.Equal(alone.OnHand) || b.Value != alone.Value {
			t.Fatalf("the shares are %v at %d, leaving %v at %d; the whole is %v at %d, leaving %v at %d", sum, cost, b.OnHand, b.Value, whole.Quantity, whole.Cost, alone.OnHand, alone.Value)
		}
		if left, value := b.lots.left(); !left.Equal(b.OnHand) || value != b.Value || before.Version != b.Version {
			t.Fatalf("the lots have %v at %d, the product %v at %d", left, value, b.OnHand, b.Value)
		}
	})
}

// A refusal is of the whole, and leaves the product and all pieces as they were.
func TestProduct_IssueShares_Refuses(t *testing.T) {
	scrapped := func(shares []materials.Share) { shares[2].Issue.Stage.Scrapped = true }
	for reason, c := range map[string]struct {
		amount quantity.Quantity
		change func([]materials.Share)
		text   string
	}{
		"PIECE_SCRAPPED":          {litres("1"), scrapped, "oil (top) of piece 7 is of a piece"},
		"STOCK_TOO_SMALL":         {litres("1.6"), func([]materials.Share) {}, "1.6 L is more than the 1.5 L that is left;"},
		"UNIT_OF_ANOTHER_MEASURE": {of(decimal.NewFromInt(1), "g"), func([]materials.Share) {}, "quantity is in g"},
		"QUANTITY_ABSURD":         {litres("0.002"), func([]materials.Share) {}, "0.002 L is too little to split over 3 stages"},
	} {
		t.Run(reason, func(t *testing.T) {
			b := newBench()
			b.receive(t, "1.5", 10_00)
			shares, pieces := shared(1, 1, 1)
			c.change(shares)
			before := b.Product
			got, facts, err := b.IssueShares(pieces, shares, c.amount, b.lots)
			if f := fault.Of(err); f == nil || f.Reason != reason || !strings.HasPrefix(f.Text, c.text) || got != nil || facts != nil {
				t.Errorf("IssueShares = %v, want %s: %s", err, reason, c.text)
			}
			if !b.OnHand.Equal(before.OnHand) || b.Value != before.Value {
				t.Errorf("refused, but left %+v", b.Product)
			}
			for _, p := range pieces {
				if p.Version != 0 {
					t.Errorf("refused, but left %+v", p)
				}
			}
		})
	}
}

// The product falls low once, whichever share it is that crosses the mark.
func TestProduct_IssueShares_FallsLowOnce(t *testing.T) {
	b := newBench()
	b.receive(t, "3", 10_00)
	if _, err := b.SetThreshold(litres("2")); err != nil {
		t.Fatal(err)
	}
	shares, pieces := shared(1, 1, 1)
	got, facts, err := b.IssueShares(pieces, shares, litres("2.4"), b.lots)
	if err != nil || kinds(facts) != "FellLow" || len(got) != 3 {
		t.Errorf("IssueShares = %d issues, %s, %v; want three and that it fell low once", len(got), kinds(facts), err)
	}
}

// Two stages of one piece are two facts of it.
func TestProduct_IssueShares_TwoStagesOfAPiece(t *testing.T) {
	b := newBench()
	b.receive(t, "3", 10_00)
	shares, pieces := shared(1, 1)
	shares[1].Issue.Stage.Piece = shares[0].Issue.Stage.Piece
	got, _, err := b.IssueShares(pieces, shares, litres("1"), b.lots)
	if err != nil || len(got) != 2 || !slices.Equal([]int64{got[0].Piece.Version, got[1].Piece.Version}, []int64{1, 2}) {
		t.Errorf("IssueShares = %+v, %v, want versions 1 and 2 of the piece", got, err)
	}
}
