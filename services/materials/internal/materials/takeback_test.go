package materials_test

import (
	"math/big"
	"slices"
	"testing"

	"github.com/shopspring/decimal"
	"pgregory.net/rapid"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/services/materials/internal/materials"
)

// bench is a product with its lots, the piece that gets of it, and the issues that stand.
type bench struct {
	materials.Product
	piece    materials.Piece
	lots     shelf
	standing []materials.Issue
	returns  map[id.ID]int // how often something was put back into a lot
}

func newBench() *bench { return &bench{Product: shellac(), returns: map[id.ID]int{}} }

func (b *bench) receive(t fataler, amount string, cost money.Amount) {
	t.Helper()
	lot, _, err := b.Receive(materials.Delivery{Lot: id.New(), Amount: litres(amount), Cost: cost, At: start.AddDate(0, 0, len(b.lots))})
	if err != nil {
		t.Fatalf("Receive: %v", err)
	}
	b.lots = append(b.lots, lot)
}

func (b *bench) issue(t fataler, amount string) materials.Issue {
	t.Helper()
	version := b.piece.Version
	i, facts, err := b.Issue(&b.piece, materials.Issue{ID: id.New()}, litres(amount), b.lots)
	if err != nil || kinds(facts) != "" || b.piece.Version != version+1 {
		t.Fatalf("Issue(%s) = %s, %v", amount, kinds(facts), err)
	}
	b.keep(i.Draws)
	b.standing = append(b.standing, i)
	return i
}

// keep puts the lots on the shelf as draws left them.
func (b *bench) keep(draws []materials.Drawn) {
	for _, d := range draws {
		b.lots[b.at(d.Lot.ID)] = d.Lot
	}
}

func (b *bench) at(lot id.ID) int {
	return slices.IndexFunc(b.lots, func(l materials.Lot) bool { return l.ID == lot })
}

// takeBack undoes a standing issue, whose draws it gives with the lots as they are now,
// as the store does.
func (b *bench) takeBack(t fataler, issue id.ID) materials.Issue {
	t.Helper()
	n := slices.IndexFunc(b.standing, func(i materials.Issue) bool { return i.ID == issue })
	i := b.standing[n]
	b.standing = slices.Delete(slices.Clone(b.standing), n, n+1)
	i.Draws = slices.Clone(i.Draws)
	for d := range i.Draws {
		i.Draws[d].Lot = b.lots[b.at(i.Draws[d].Lot.ID)]
		b.returns[i.Draws[d].Lot.ID]++
	}
	version := b.piece.Version
	back, facts, err := b.TakeBack(&b.piece, i, materials.TakeBack{Reason: "a slip"})
	if err != nil || kinds(facts) != "" || b.piece.Version != version+1 {
		t.Fatalf("TakeBack = %s, %v", kinds(facts), err)
	}
	b.keep(back.Draws)
	return back
}

func TestProduct_TakeBack(t *testing.T) {
	b := newBench()
	b.receive(t, "1", 10_00)
	b.receive(t, "2", 26_00)
	before, received := b.Product, slices.Clone(b.lots)
	i := b.issue(t, "1.5")
	back := b.takeBack(t, i.ID)
	if back.Back.Reason != "a slip" || !back.Quantity.Equal(i.Quantity) || back.Cost != i.Cost || len(back.Draws) != 2 {
		t.Errorf("TakeBack = %+v, want what was issued", back)
	}
	if !b.OnHand.Equal(before.OnHand) || b.Value != before.Value || b.Version != before.Version || b.piece.Version != 2 {
		t.Errorf("left %+v, want what was there before", b.Product)
	}
	for n, l := range b.lots {
		if !l.Left.Equal(received[n].Left) || l.CostLeft != received[n].CostLeft {
			t.Errorf("lot %d has %v at %d, want it as it came in", n, l.Left, l.CostLeft)
		}
	}
}

func TestProduct_TakeBack_Twice(t *testing.T) {
	b := newBench()
	b.receive(t, "1", 10_00)
	back := b.takeBack(t, b.issue(t, "1").ID)
	before := b.Product
	_, facts, err := b.TakeBack(&b.piece, back, materials.TakeBack{Reason: "another"})
	f := fault.Of(err)
	if f == nil || f.Kind != fault.Precondition || f.Reason != "ISSUE_TAKEN_BACK" || facts != nil || f.Fields[0].Path != "issue" {
		t.Errorf("TakeBack = %v, want ISSUE_TAKEN_BACK", err)
	}
	if !b.OnHand.Equal(before.OnHand) || b.Value != before.Value || b.Version != before.Version || b.piece.Version != 2 {
		t.Errorf("refused, but left %+v and %+v", b.Product, b.piece)
	}
}

// A scrapped piece's material can be put right too.
func TestProduct_TakeBack_OfAScrappedPiece(t *testing.T) {
	b := newBench()
	b.receive(t, "1", 10_00)
	b.issue(t, "1")
	b.standing[0].Stage.Scrapped = true
	b.takeBack(t, b.standing[0].ID)
}

func TestProduct_TakeBack_ClearsLow(t *testing.T) {
	b := newBench()
	b.receive(t, "3", 30_00)
	if _, err := b.SetThreshold(litres("2")); err != nil {
		t.Fatal(err)
	}
	fall := func() materials.Issue {
		i, facts, err := b.Issue(&b.piece, materials.Issue{ID: id.New()}, litres("1.5"), b.lots)
		if err != nil || kinds(facts) != "FellLow" {
			t.Fatalf("Issue = %s, %v, want it to fall low", kinds(facts), err)
		}
		b.keep(i.Draws)
		b.standing = append(b.standing, i)
		return i
	}
	first := fall()
	if b.takeBack(t, first.ID); b.Low {
		t.Error("it is still low with 3 L")
	}
	fall()
}

// Three thirds of 10.00 cost 3.33, 3.34 and 3.33. Whichever goes back, it goes back at
// what it cost, and what is drawn afterwards adds up to the lot's cost again.
func TestProduct_TakeBack_ThirdsOfTen(t *testing.T) {
	thirds := []money.Amount{3_33, 3_34, 3_33}
	for n := range thirds {
		b := newBench()
		b.receive(t, "3", 10_00)
		for range thirds {
			b.issue(t, "1")
		}
		if back := b.takeBack(t, b.standing[n].ID); back.Cost != thirds[n] || b.Value != thirds[n] {
			t.Errorf("third %d went back at %d, %d are left; want %d", n, back.Cost, b.Value, thirds[n])
		}
		if a, c := b.issue(t, "0.001"), b.issue(t, "0.999"); a.Cost < 0 || c.Cost < 0 || a.Cost+c.Cost != thirds[n] {
			t.Errorf("what went back cost %d and %d afterwards, want %d in all", a.Cost, c.Cost, thirds[n])
		}
	}
}

// A lot of 10.00 for 3 L from which a third was put back is a cent off what is due: the
// next draw makes up for it.
func TestProduct_TakeBack_TheNextDrawMakesUp(t *testing.T) {
	dear := newBench()
	dear.receive(t, "3", 10_00)
	for range 3 {
		dear.issue(t, "1")
	}
	dear.takeBack(t, dear.standing[1].ID) // 3.34 are left where 3.33 are due
	if i := dear.issue(t, "0.001"); i.Cost != 1 {
		t.Errorf("a drop cost %d, want the cent too much", i.Cost)
	}
	cheap := newBench()
	cheap.receive(t, "3", 10_00)
	for range 2 {
		cheap.issue(t, "1")
	}
	cheap.takeBack(t, cheap.standing[0].ID) // 6.66 are left where 6.67 are due
	if i := cheap.issue(t, "0.0001"); i.Cost != 0 {
		t.Errorf("a drop cost %d, want 0 rather than less than nothing", i.Cost)
	}
	if i := cheap.issue(t, "0.9999"); i.Cost != 3_33 || cheap.Value != 3_33 {
		t.Errorf("the rest of the litre cost %d and %d are left, want 333 and 333", i.Cost, cheap.Value)
	}
}

// In whatever order material is received, issued and taken back: cost only moves between
// lots and the issues that stand; no draw costs less than nothing or is far off its
// share; and once all is used up, each lot's standing draws have cost exactly the lot.
func TestProduct_TakeBack_Laws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := newBench()
		for range rapid.IntRange(1, 40).Draw(t, "steps") {
			switch command := rapid.IntRange(0, 9).Draw(t, "command"); {
			case command == 0 || len(b.lots) == 0:
				b.receive(t, drawAmount(t, 5_000).String(), money.Amount(rapid.Int64Range(0, 400).Draw(t, "cost")))
			case command < 4 && len(b.standing) > 0:
				i := rapid.SampledFrom(b.standing).Draw(t, "taken back")
				if back := b.takeBack(t, i.ID); back.Cost != i.Cost || !back.Quantity.Equal(i.Quantity) {
					t.Fatalf("%v at %d went back, want %v at %d", back.Quantity, back.Cost, i.Quantity, i.Cost)
				}
			case b.OnHand.IsPositive():
				b.issue(t, decimal.Min(drawAmount(t, 400), b.OnHand).String())
				b.fair(t)
			}
			b.holds(t)
		}
		if b.OnHand.IsPositive() && rapid.Bool().Draw(t, "use up") {
			b.issue(t, b.OnHand.String())
			b.fair(t)
			b.holds(t)
			if b.Value != 0 {
				t.Fatalf("nothing is left, but it is worth %d", b.Value)
			}
			return
		}
		for _, i := range rapid.Permutation(b.standing).Draw(t, "all back") {
			b.takeBack(t, i.ID)
			b.holds(t)
		}
		for n, l := range b.lots {
			if !l.Left.Equal(l.Quantity) || l.CostLeft != l.Cost {
				t.Fatalf("all went back, but lot %d has %v of %v at %d of %d", n, l.Left, l.Quantity, l.CostLeft, l.Cost)
			}
		}
	})
}

func drawAmount(t *rapid.T, most int64) decimal.Decimal {
	return decimal.New(rapid.Int64Range(1, most).Draw(t, "millilitres"), -3)
}

// fair looks at the newest issue: each draw is off its exact share of its lot's cost by
// one minor unit at most, and two for each return into the lot.
func (b *bench) fair(t *rapid.T) {
	for _, d := range b.standing[len(b.standing)-1].Draws {
		share := new(big.Rat).Mul(new(big.Rat).Quo(d.Quantity.Rat(), d.Lot.Quantity.Rat()), new(big.Rat).SetInt64(int64(d.Lot.Cost)))
		off := share.Sub(share, new(big.Rat).SetInt64(int64(d.Cost)))
		if most := new(big.Rat).SetInt64(int64(1 + 2*b.returns[d.Lot.ID])); d.Cost < 0 || off.Abs(off).Cmp(most) > 0 {
			t.Fatalf("a draw of %v of %v at %d cost %d after %d returns", d.Quantity, d.Lot.Quantity, d.Lot.Cost, d.Cost, b.returns[d.Lot.ID])
		}
	}
}

// holds checks that what is left in each lot and what stands of it make the whole lot,
// and that the product is the sum of its lots.
func (b *bench) holds(t *rapid.T) {
	amount, cost := map[id.ID]decimal.Decimal{}, map[id.ID]money.Amount{}
	for _, i := range b.standing {
		for _, d := range i.Draws {
			amount[d.Lot.ID], cost[d.Lot.ID] = amount[d.Lot.ID].Add(d.Quantity), cost[d.Lot.ID]+d.Cost
		}
	}
	for n, l := range b.lots {
		if !amount[l.ID].Add(l.Left).Equal(l.Quantity) || cost[l.ID]+l.CostLeft != l.Cost {
			t.Fatalf("lot %d of %v at %d: %v at %d stand and %v at %d are left", n, l.Quantity, l.Cost, amount[l.ID], cost[l.ID], l.Left, l.CostLeft)
		}
		if l.Left.IsNegative() || l.CostLeft < 0 || l.Left.IsZero() && l.CostLeft != 0 {
			t.Fatalf("lot %d has %v at %d left", n, l.Left, l.CostLeft)
		}
	}
	if left, value := b.lots.left(); !b.OnHand.Equal(left) || b.Value != value {
		t.Fatalf("on hand %v at %d, in the lots %v at %d", b.OnHand, b.Value, left, value)
	}
}
