package materials_test

import (
	"strings"
	"testing"
	"time"

	"github.com/shopspring/decimal"
	"pgregory.net/rapid"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/pkg/quantity"
	"tackfree/services/materials/internal/materials"
)

func TestSplitOver(t *testing.T) {
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
			parts, err := materials.SplitOver(of(decimal.RequireFromString(c.value), c.unit), c.weights)
			if err != nil {
				t.Fatal(err)
			}
			var got []string
			for _, p := range parts {
				got = append(got, p.String())
			}
			if all := strings.Join(got, " "); all != c.want {
				t.Errorf("SplitOver(%s %s, %v) = %s, want %s", c.value, c.unit, c.weights, all, c.want)
			}
		})
	}
}

func TestSplitOver_TooLittle(t *testing.T) {
	_, err := materials.SplitOver(litres("0.002"), []int64{1, 1, 1})
	wantFault(t, err, "QUANTITY_ABSURD", "quantity")
}

// However much is split and by which weights: the parts add up to the last digit, and of what is
// measured each gets something.
func TestSplitOver_Laws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		unit := rapid.SampledFrom([]string{"L", "g", "m", "each"}).Draw(t, "unit")
		total := of(decimal.New(rapid.Int64Range(1, 9_000_000_000).Draw(t, "digits"), -rapid.Int32Range(0, 9).Draw(t, "places")), unit)
		weights := rapid.SliceOfN(rapid.Int64Range(1, 5_000_000), 1, 12).Draw(t, "weights")
		parts, err := materials.SplitOver(total, weights)
		if err != nil {
			if most := decimal.New(int64(len(weights)), -3); unit == "each" || !fault.Is(err, "QUANTITY_ABSURD") || !total.Value.LessThan(most) {
				t.Fatalf("SplitOver(%v, %v) = %v", total, weights, err)
			}
			return
		}
		sum := decimal.Zero
		for _, p := range parts {
			sum = sum.Add(p)
			if p.IsNegative() || (unit != "each" && p.IsZero()) {
				t.Fatalf("SplitOver(%v, %v) = %v", total, weights, parts)
			}
		}
		if !sum.Equal(total.Value) {
			t.Fatalf("SplitOver(%v, %v) adds up to %v", total, weights, sum)
		}
	})
}

// shared are the stages of a batch, as many as weights, each of a piece of its own.
func shared(weights ...int64) (shares []materials.Share) {
	for _, w := range weights {
		shares = append(shares, materials.Share{ID: id.New(), Title: "oil (top) of piece 7", Weight: w,
			To: materials.Stage{ID: id.New(), Piece: id.New(), Kind: "topcoat coat", Pass: 1}})
	}
	return shares
}

// Each share is an entry of its own, to its stage, at the time and by the person of all.
func TestProduct_IssueShares(t *testing.T) {
	b := newBench(materials.FirstIn)
	b.receive(t, "3", 10_00)
	shares, e := shared(3, 1), b.entry()
	e.Takes, e.Lot = materials.Expired, b.all()[0].ID
	entries, err := b.IssueShares(shares, e, litres("1"))
	if err != nil || len(entries) != 2 {
		t.Fatalf("IssueShares = %v, %v", entries, err)
	}
	for n, want := range []string{"0.75", "0.25"} {
		e.ID, e.To, e.Kind, e.Purpose, e.Quantity = shares[n].ID, shares[n].To, materials.WentOut, materials.ForIssue, entries[n].Quantity
		if entries[n] != e || e.Quantity.String() != want {
			t.Errorf("share %d is %+v, want %s L", n, entries[n], want)
		}
	}
	if got, err := b.IssueShares(shared(1, 3), e, of(decimal.NewFromInt(1), "mL")); !fault.Is(err, "QUANTITY_ABSURD") || got != nil {
		t.Errorf("a millilitre for two: %v, %v", got, err)
	}
	b.Unit = of(decimal.Zero, "each").Unit
	if got, err := b.IssueShares(shared(1, 3), e, of(decimal.NewFromInt(1), "each")); err != nil || len(got) != 1 {
		t.Errorf("one sheet for two: %v, %v, want one entry", got, err)
	}
	if _, err := b.IssueShares(shared(1, 3), e, of(decimal.New(1, -7), "each")); !fault.Is(err, "QUANTITY_ABSURD") {
		t.Errorf("a trace of a sheet: %v", err)
	}
}

// The shares of a batch cost together what one issue of the whole would, over lots whose cents
// do not divide, and also where something came back into a lot before.
func TestProduct_IssueShares_CostOfTheWhole(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := newBench(materials.FirstIn)
		for range rapid.IntRange(1, 4).Draw(t, "lots") {
			b.receive(t, drawAmount(t, 900).String(), money.Amount(rapid.Int64Range(0, 10_000).Draw(t, "cost")))
		}
		if rapid.Bool().Draw(t, "came back before") {
			i := b.issue(t, decimal.Min(drawAmount(t, 300), b.OnHand).String())
			if half := b.OnHand.Div(decimal.NewFromInt(2)).Truncate(3); half.IsPositive() {
				b.issue(t, half.String())
			}
			b.giveBack(t, i.ID, i.Quantity.String())
		}
		shares := shared(rapid.SliceOfN(rapid.Int64Range(1, 50), 1, 6).Draw(t, "weights")...)
		amount := quantity.Quantity{Value: decimal.Min(drawAmount(t, 2_000), b.OnHand), Unit: b.Unit}
		alone := b.clone()
		whole := alone.issue(t, amount.Value.String())
		entries, err := b.IssueShares(shares, b.entry(), amount)
		if fault.Is(err, "QUANTITY_ABSURD") {
			return
		}
		if err != nil {
			t.Fatal(err)
		}
		s, err := b.post(entries...)
		if err != nil {
			t.Fatal(err)
		}
		sum, cost := decimal.Zero, money.Amount(0)
		for _, p := range s.Posted {
			sum, cost = sum.Sub(p.Net()), cost-p.Total()
			if p.Total() > 0 || !p.Net().Equal(p.Quantity.Neg()) {
				t.Fatalf("share = %+v", p)
			}
		}
		if !sum.Equal(whole.Quantity) || cost != whole.Cost() || !b.OnHand.Equal(alone.OnHand) || b.Value != alone.Value {
			t.Fatalf("the shares are %v at %d, leaving %v at %d; the whole is %v at %d, leaving %v at %d", sum, cost, b.OnHand, b.Value, whole.Quantity, whole.Cost(), alone.OnHand, alone.Value)
		}
		if left, value := b.left(); !left.Equal(b.OnHand) || value != b.Value {
			t.Fatalf("the lots have %v at %d, the product %v at %d", left, value, b.OnHand, b.Value)
		}
	})
}

// A refusal is of the whole.
func TestProduct_IssueShares_Refuses(t *testing.T) {
	scrapped := func(shares []materials.Share) { shares[2].To.Scrapped = true }
	for reason, c := range map[string]struct {
		amount quantity.Quantity
		change func([]materials.Share)
		text   string
	}{
		"PIECE_SCRAPPED":          {litres("1"), scrapped, "oil (top) of piece 7 is of a piece"},
		"STOCK_TOO_SMALL":         {litres("1.6"), func([]materials.Share) {}, "1.6 L is more than the 1.5 L that is left;"},
		"UNIT_OF_ANOTHER_MEASURE": {of(decimal.NewFromInt(1), "g"), func([]materials.Share) {}, "The quantity is in g"},
		"QUANTITY_ABSURD":         {litres("0.002"), func([]materials.Share) {}, "0.002 L is too little to split over 3 stages"},
	} {
		t.Run(reason, func(t *testing.T) {
			b := newBench(materials.FirstIn)
			b.receive(t, "1.5", 10_00)
			shares := shared(1, 1, 1)
			c.change(shares)
			got, err := b.IssueShares(shares, b.entry(), c.amount)
			if f := fault.Of(err); f == nil || f.Reason != reason || !strings.HasPrefix(f.Text, c.text) || got != nil {
				t.Errorf("IssueShares = %v, want %s: %s", err, reason, c.text)
			}
		})
	}
}

// What was used on a batch before somebody counted was among what the count missed, though it is
// more than is there now; of what it needs more the book tells.
func TestProduct_IssueShares_BeforeACount(t *testing.T) {
	b := newBench(materials.FirstIn)
	b.receive(t, "3", 9_00)
	used := b.entry()
	b.count(t, "0.5")
	entries, err := b.IssueShares(shared(1, 1), used, litres("2"))
	if err != nil {
		t.Fatal(err)
	}
	if s, err := b.post(entries...); err != nil || len(s.Posted) != 2 || !b.OnHand.Equal(decimal.RequireFromString("0.5")) {
		t.Errorf("%v leaves %v", err, b.OnHand)
	}
	used.At = used.At.Add(time.Second)
	entries, err = b.IssueShares(shared(1, 1), used, litres("2"))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := b.post(entries...); !fault.Is(err, "STOCK_TOO_SMALL") || !b.OnHand.Equal(decimal.RequireFromString("0.5")) {
		t.Errorf("more than there was: %v leaves %v", err, b.OnHand)
	}
}

// The product falls low once, whichever share it is that crosses the mark.
func TestProduct_IssueShares_FallsLowOnce(t *testing.T) {
	b := newBench(materials.FirstIn)
	b.receive(t, "3", 10_00)
	if _, err := b.SetThreshold(litres("2")); err != nil {
		t.Fatal(err)
	}
	entries, err := b.IssueShares(shared(1, 1, 1), b.entry(), litres("2.4"))
	if err != nil {
		t.Fatal(err)
	}
	s, err := b.post(entries...)
	if facts := kinds(b.Tell()); err != nil || facts != "FellLow" || len(s.Posted) != 3 {
		t.Errorf("%d issues, %s, %v; want three and that it fell low once", len(s.Posted), facts, err)
	}
}
