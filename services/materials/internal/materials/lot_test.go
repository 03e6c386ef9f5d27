package materials_test

import (
	"slices"
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

var start = time.Date(2026, 7, 1, 9, 0, 0, 0, time.UTC)

// shelf is the lots of one product, with draws made as the store makes them.
type shelf []materials.Lot

func (s *shelf) buy(amount string, cost money.Amount) {
	q := decimal.RequireFromString(amount)
	*s = append(*s, materials.Lot{ID: id.New(), Quantity: q, Left: q, Cost: cost, CostLeft: cost,
		ReceivedAt: start.AddDate(0, 0, len(*s))})
}

func (s *shelf) take(t fataler, amount decimal.Decimal, unit string) []materials.Drawn {
	t.Helper()
	draws, err := materials.Draw(*s, of(amount, unit))
	if err != nil {
		t.Fatalf("Draw(%v): %v", amount, err)
	}
	for _, d := range draws {
		(*s)[slices.IndexFunc(*s, func(l materials.Lot) bool { return l.ID == d.Lot.ID })] = d.Lot
	}
	return draws
}

func (s shelf) left() (amount decimal.Decimal, cost money.Amount) {
	for _, l := range s {
		amount, cost = amount.Add(l.Left), cost+l.CostLeft
	}
	return amount, cost
}

// fataler is what a test and a rapid test have in common.
type fataler interface {
	Helper()
	Fatalf(format string, args ...any)
}

func of(amount decimal.Decimal, symbol string) quantity.Quantity {
	unit, err := quantity.UnitOf(symbol)
	if err != nil {
		panic(err) // the tests write the symbols
	}
	return quantity.Quantity{Value: amount, Unit: unit}
}

func costs(draws []materials.Drawn) (each []money.Amount, sum money.Amount) {
	for _, d := range draws {
		each, sum = append(each, d.Cost), sum+d.Cost
	}
	return each, sum
}

// Perpetual first in, first out, from OpenStax, Principles of Accounting, Volume 1:
// Financial Accounting (CC BY-NC-SA 4.0), chapter 10: 150 @ 21, sell 120, buy
// 225 @ 27, sell 180, buy 210 @ 33.
func TestDraw_PerpetualExample(t *testing.T) {
	var s shelf
	s.buy("150", 3_150_00)
	if each, _ := costs(s.take(t, decimal.NewFromInt(120), "each")); !slices.Equal(each, []money.Amount{2_520_00}) {
		t.Errorf("first sale cost %v, want 2,520", each)
	}
	s.buy("225", 6_075_00)
	if each, _ := costs(s.take(t, decimal.NewFromInt(180), "each")); !slices.Equal(each, []money.Amount{630_00, 4_050_00}) {
		t.Errorf("second sale cost %v, want 630 and 4,050", each)
	}
	s.buy("210", 6_930_00)
	if left, cost := s.left(); !left.Equal(decimal.NewFromInt(285)) || cost != 8_955_00 {
		t.Errorf("left: %v at %d, want 285 at 8,955", left, cost)
	}
	if s[1].CostLeft != 75*27_00 || s[2].CostLeft != 210*33_00 {
		t.Errorf("left in the lots: %d and %d, want 75 @ 27 and 210 @ 33", s[1].CostLeft, s[2].CostLeft)
	}
}

// First in, first out at the end of a period, from the same book, chapter 10: its
// example with two purchases at one price and the data of its exercises. The first two
// columns are units and dollars each.
func TestDraw_EndOfPeriodExamples(t *testing.T) {
	cases := map[string]struct {
		bought     [][2]int64
		left       int64
		sold, rest money.Amount
	}{
		"OnePrice":    {[][2]int64{{50, 7}, {20, 7}}, 18, 364_00, 126_00},
		"RisingPrice": {[][2]int64{{150, 10}, {160, 12}, {130, 15}}, 50, (5_370 - 750) * 100, 750_00},
		"FourLots":    {[][2]int64{{1050, 22}, {1020, 23}, {1300, 26}, {1200, 27}}, 900, (112_760 - 24_300) * 100, 24_300_00},
		"UpAndDown":   {[][2]int64{{500, 40}, {600, 45}, {650, 40}, {700, 35}}, 550, (97_500 - 19_250) * 100, 19_250_00},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			var s shelf
			for _, b := range c.bought {
				s.buy(decimal.NewFromInt(b[0]).String(), money.Amount(b[0]*b[1]*100))
			}
			all, _ := s.left()
			_, sold := costs(s.take(t, all.Sub(decimal.NewFromInt(c.left)), "each"))
			if left, rest := s.left(); sold != c.sold || rest != c.rest || !left.Equal(decimal.NewFromInt(c.left)) {
				t.Errorf("sold for %d, %v left at %d, want %d, %d at %d", sold, left, rest, c.sold, c.left, c.rest)
			}
		})
	}
}

// A third of 10.00 is 3.33…: the running total is rounded, so the cents even out.
func TestDraw_RoundsTheRunningTotal(t *testing.T) {
	var s shelf
	s.buy("3", 10_00)
	for i, want := range []money.Amount{3_33, 3_34, 3_33} {
		if _, got := costs(s.take(t, decimal.NewFromInt(1), "L")); got != want {
			t.Errorf("draw %d cost %d, want %d", i+1, got, want)
		}
	}
}

func TestDraw_OldestFirst(t *testing.T) {
	var s shelf
	for range 3 {
		s.buy("1", 1_00)
	}
	s[0].ReceivedAt = s[2].ReceivedAt // lot 1 is now the oldest; 0 and 2 came together, 0 was written down first
	slices.Reverse(s)
	draws := s.take(t, decimal.RequireFromString("2.5"), "L")
	var got []id.ID
	for _, d := range draws {
		got = append(got, d.Lot.ID)
	}
	if want := []id.ID{s[1].ID, s[2].ID, s[0].ID}; !slices.Equal(got, want) {
		t.Errorf("drawn from %v, want %v", got, want)
	}
	if !draws[2].Quantity.Equal(decimal.RequireFromString("0.5")) {
		t.Errorf("last draw took %v, want 0.5", draws[2].Quantity)
	}
}

func TestDraw_StockTooSmall(t *testing.T) {
	var s shelf
	s.buy("0.5", 4_00)
	s.buy("0.25", 2_00)
	draws, err := materials.Draw(s, of(decimal.RequireFromString("0.751"), "L"))
	f := fault.Of(err)
	if f == nil || f.Kind != fault.Precondition || f.Reason != "STOCK_TOO_SMALL" || f.Meta["left"] != "0.75 L" || draws != nil {
		t.Errorf("Draw = %v, %v, want STOCK_TOO_SMALL with 0.75 L left", draws, err)
	}
	if _, err := materials.Draw(nil, of(decimal.NewFromInt(1), "g")); fault.Of(err).Meta["left"] != "0 g" {
		t.Errorf("Draw from nothing = %v, want 0 g left", err)
	}
}

// However a shelf is emptied, draws add up to what was asked, go through the lots in
// order, and cost in all exactly what the lots cost.
func TestDraw_AddsUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var s shelf
		for range rapid.IntRange(1, 5).Draw(t, "lots") {
			s.buy(decimal.New(rapid.Int64Range(1, 5_000_000).Draw(t, "millilitres"), -3).String(),
				money.Amount(rapid.Int64Range(0, 100_000).Draw(t, "cost")))
		}
		paid := map[id.ID]money.Amount{}
		for left, _ := s.left(); left.IsPositive(); left, _ = s.left() {
			most := left.Shift(3).IntPart()
			amount := decimal.New(rapid.Int64Range(max(1, most/8), most).Draw(t, "amount"), -3)
			took := decimal.Zero
			for n, d := range drawInOrder(t, &s, amount) {
				if d.Cost < 0 || !d.Quantity.IsPositive() {
					t.Fatalf("draw %d took %v for %d", n, d.Quantity, d.Cost)
				}
				took = took.Add(d.Quantity)
				paid[d.Lot.ID] += d.Cost
			}
			if !took.Equal(amount) {
				t.Fatalf("draws took %v, want %v", took, amount)
			}
		}
		for _, l := range s {
			if paid[l.ID] != l.Cost || l.CostLeft != 0 || !l.Left.IsZero() {
				t.Fatalf("lot of %d was paid with %d; %v and %d are left", l.Cost, paid[l.ID], l.Left, l.CostLeft)
			}
		}
	})
}

// drawInOrder takes an amount and checks that no lot is touched before an older one is
// used up.
func drawInOrder(t *rapid.T, s *shelf, amount decimal.Decimal) []materials.Drawn {
	draws := s.take(t, amount, "L")
	for n, d := range draws {
		if n < len(draws)-1 && !d.Lot.Left.IsZero() {
			t.Fatalf("%v left in lot %d, but the next was drawn from", d.Lot.Left, n)
		}
	}
	first := draws[0].Lot
	for _, l := range *s {
		if l.ReceivedAt.Before(first.ReceivedAt) && !l.Left.IsZero() {
			t.Fatalf("%v left in an older lot than the first drawn from", l.Left)
		}
	}
	return draws
}

// The cost of what was drawn depends on how much that is, not on how many draws it took.
func TestDraw_CostIsThatOfTheWhole(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		size := rapid.Int64Range(2, 100_000).Draw(t, "size")
		cost := money.Amount(rapid.Int64Range(0, 1_000_000).Draw(t, "cost"))
		part := rapid.Int64Range(2, size).Draw(t, "part")
		var once, twice shelf
		once.buy(decimal.NewFromInt(size).String(), cost)
		twice = slices.Clone(once)
		_, whole := costs(once.take(t, decimal.NewFromInt(part), "mL"))
		cut := rapid.Int64Range(1, part-1).Draw(t, "cut")
		_, a := costs(twice.take(t, decimal.NewFromInt(cut), "mL"))
		_, b := costs(twice.take(t, decimal.NewFromInt(part-cut), "mL"))
		if a+b != whole {
			t.Fatalf("%d and %d apart, %d together", a, b, whole)
		}
	})
}
