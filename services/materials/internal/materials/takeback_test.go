package materials_test

import (
	"math/big"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/shopspring/decimal"
	"pgregory.net/rapid"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/services/materials/internal/materials"
)

func TestIssue_TakeBack(t *testing.T) {
	for _, m := range methods {
		b := newBench(m)
		b.receive(t, "1", 10_00)
		b.receive(t, "2", 26_00)
		before := b.clone()
		i := b.issue(t, "1.5")
		back := b.takeBack(t, i.ID)
		if !back.At.Equal(i.At) || !back.UndoneAt.Equal(b.now) {
			t.Errorf("%s: it counts as back at %v and was taken back at %v", m, back.At, back.UndoneAt)
		}
		if back.Purpose != materials.ForTakeBack || back.Reason != "a slip" || back.Of != i.ID || back.To != i.To || !back.Quantity.Equal(i.Quantity) || back.Total() != i.Cost() || len(back.Parts) != 2 {
			t.Errorf("%s: TakeBack = %+v, want what was issued", m, back)
		}
		if !b.OnHand.Equal(before.OnHand) || b.Value != before.Value || b.Version != before.Version {
			t.Errorf("%s: left %+v, want what was there before", m, b.Product)
		}
		if diff := cmp.Diff(before.all(), b.all(), exact); diff != "" {
			t.Errorf("%s: the lots (-as they came in +now):\n%s", m, diff)
		}
		if out := b.asItIs(i.ID).Out(); !out.IsZero() {
			t.Errorf("%s: %s of it is still out", m, out)
		}
	}
}

// A part of an issue comes back unused; all of the rest is then taken back, at what is still owed
// for it.
func TestIssue_TakeBack_OfTheRest(t *testing.T) {
	for _, m := range methods {
		b := newBench(m)
		b.receive(t, "1", 10_00)
		b.receive(t, "2", 26_00)
		before := b.clone()
		i := b.issue(t, "1.5")
		first := b.giveBack(t, i.ID, "0.7")
		if first.Of != i.ID || first.To != i.To || first.Purpose != materials.ForReturn {
			t.Errorf("%s: Return = %+v", m, first)
		}
		if now := b.asItIs(i.ID); !now.Out().Equal(decimal.RequireFromString("0.8")) || now.Returned.Cost != first.Total() {
			t.Errorf("%s: %s is still out, %d came back", m, now.Out(), now.Returned.Cost)
		}
		i = b.asItIs(i.ID)
		rest := b.takeBack(t, i.ID)
		if !rest.Quantity.Equal(decimal.RequireFromString("0.8")) || first.Total()+rest.Total() != i.Cost() || b.Value != before.Value {
			t.Errorf("%s: %s at %d after %d came back of %d", m, rest.Quantity, rest.Total(), first.Total(), i.Cost())
		}
		if diff := cmp.Diff(before.all(), b.all(), exact); diff != "" {
			t.Errorf("%s: the lots (-as they came in +now):\n%s", m, diff)
		}
	}
}

func TestIssue_Back_Refuses(t *testing.T) {
	b := newBench(materials.FirstIn)
	b.receive(t, "1", 10_00)
	i := b.issue(t, "0.8")
	b.giveBack(t, i.ID, "0.1")
	early := materials.Entry{At: i.At.Truncate(time.Minute).Add(-time.Second)}
	now := b.asItIs(i.ID)
	back := func(e materials.Entry, amount string) error { _, err := b.Return(now, e, litres(amount)); return err }
	takeBack := func(i materials.Issue, e materials.Entry) error { _, err := i.TakeBack(e); return err }
	wantFault(t, back(b.entry(), "0.700001"), "RETURN_TOO_LARGE", "quantity")
	wantFault(t, back(b.entry(), "0.0000001"), "QUANTITY_ABSURD", "quantity")
	wantFault(t, back(early, "0.1"), "RETURN_BEFORE_ISSUE", "return_time")
	wantFault(t, takeBack(now, early), "TAKE_BACK_BEFORE_ISSUE", "take_back_time")
	if _, err := b.Return(now, b.entry(), of(decimal.NewFromInt(1), "g")); !fault.Is(err, "UNIT_OF_ANOTHER_MEASURE") {
		t.Errorf("a gram of a litre comes back: %v", err)
	}
	b.takeBack(t, i.ID)
	now = b.asItIs(i.ID)
	wantFault(t, back(b.entry(), "0.1"), "ISSUE_TAKEN_BACK", "issue")
	wantFault(t, takeBack(now, b.entry()), "ISSUE_TAKEN_BACK", "issue")
	if f := fault.Of(takeBack(now, b.entry())); f.Kind != fault.Precondition {
		t.Errorf("TakeBack twice = %v", f)
	}
}

// People write times to the minute: what comes back in the minute of the issue does so after it.
func TestIssue_Back_InItsMinute(t *testing.T) {
	at := start.Add(42 * time.Second)
	i := materials.Issue{Posted: materials.Posted{Entry: materials.Entry{ID: id.New(), At: at, Quantity: decimal.NewFromInt(1)}}}
	for said, want := range map[time.Time]time.Time{start: at, at.Add(time.Second): at.Add(time.Second)} {
		if e, err := i.TakeBack(materials.Entry{At: said}); err != nil || !e.UndoneAt.Equal(want) || !e.At.Equal(at) {
			t.Errorf("taken back at %v: at %v, %v; want %v", said, e.UndoneAt, err, want)
		}
		if e, err := shellac().Return(i, materials.Entry{At: said}, litres("1")); err != nil || !e.At.Equal(want) {
			t.Errorf("returned at %v: at %v, %v; want %v", said, e.At, err, want)
		}
	}
}

// A scrapped piece's material can be put right too.
func TestIssue_TakeBack_OfAScrappedPiece(t *testing.T) {
	b := newBench(materials.FirstIn)
	b.receive(t, "1", 10_00)
	i := b.issue(t, "1")
	scrapped := b.noted[i.ID]
	scrapped.To.Scrapped = true
	b.noted[i.ID] = scrapped
	b.giveBack(t, i.ID, "0.5")
	b.takeBack(t, i.ID)
}

// thirds is a bench with 3 L that cost 10.00, of which litres were issued one by one.
func thirds(t *testing.T, litres int) (b *bench, issues []materials.Issue) {
	b = newBench(materials.FirstIn)
	b.receive(t, "3", 10_00)
	for range litres {
		issues = append(issues, b.issue(t, "1"))
	}
	return b, issues
}

// Three thirds of 10.00 cost 3.33, 3.34 and 3.33. Whichever comes back unused, it does so at
// what it cost, and what is drawn afterwards adds up to the lot's cost again.
func TestProduct_Return_ThirdsOfTen(t *testing.T) {
	for n, want := range []money.Amount{3_33, 3_34, 3_33} {
		b, issues := thirds(t, 3)
		if back := b.giveBack(t, issues[n].ID, "1"); back.Total() != want || b.Value != want {
			t.Errorf("third %d came back at %d, %d are left; want %d", n, back.Total(), b.Value, want)
		}
		if a, c := b.issue(t, "0.001").Cost(), b.issue(t, "0.999").Cost(); a < 0 || c < 0 || a+c != want {
			t.Errorf("what came back cost %d and %d afterwards, want %d in all", a, c, want)
		}
	}
}

// Whichever of them is taken back, the other two cost what they would have cost without it.
func TestIssue_TakeBack_ThirdsOfTen(t *testing.T) {
	for n, want := range []money.Amount{3_33, 3_34, 3_33} {
		b, issues := thirds(t, 3)
		if back := b.takeBack(t, issues[n].ID); back.Total() != want || b.Value != 3_33 {
			t.Errorf("third %d went back at %d, %d are left; want %d and 333", n, back.Total(), b.Value, want)
		}
		if left := b.standing(); len(left) != 2 || left[0].Cost() != 3_33 || left[1].Cost() != 3_34 {
			t.Errorf("without third %d there stand %+v", n, left)
		}
	}
}

// A lot of 10.00 for 3 L into which a third came back is a cent off what is due: the
// next draw makes up for it.
func TestProduct_Return_TheNextDrawMakesUp(t *testing.T) {
	dear, issues := thirds(t, 3)
	dear.giveBack(t, issues[1].ID, "1") // 3.34 are left where 3.33 are due
	if i := dear.issue(t, "0.001"); i.Cost() != 1 {
		t.Errorf("a drop cost %d, want the cent too much", i.Cost())
	}
	cheap, issues := thirds(t, 2)
	cheap.giveBack(t, issues[0].ID, "1") // 6.66 are left where 6.67 are due
	if i := cheap.issue(t, "0.0001"); i.Cost() != 0 {
		t.Errorf("a drop cost %d, want 0 rather than less than nothing", i.Cost())
	}
	if i := cheap.issue(t, "0.9999"); i.Cost() != 3_33 || cheap.Value != 3_33 {
		t.Errorf("the rest of the litre cost %d and %d are left, want 333 and 333", i.Cost(), cheap.Value)
	}
}

// The right amount can be issued once the wrong one was taken back, also at the time of that one,
// when it had taken all there was.
func TestIssue_TakeBack_TheRightAmountAfterwards(t *testing.T) {
	for _, m := range methods {
		b := newBench(m)
		b.receive(t, "1", 10_00)
		wrong := b.issue(t, "1")
		b.takeBack(t, wrong.ID)
		right := wrong.Entry
		right.ID = id.New()
		right, err := b.Issue(right, litres("0.1"))
		if posted := b.do(t, right, err); posted.Total() != -1_00 || b.Value != 9_00 {
			t.Errorf("%s: the right amount cost %d, %d are left", m, -posted.Total(), b.Value)
		}
	}
}

// In whatever order material is received, issued, given back in parts and taken back: cost only
// moves between lots and the issues that stand; nothing costs less than nothing or is far off its
// share; and once all is used up, what stands of each lot has cost exactly the lot.
func TestIssue_Back_Laws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := newBench(materials.FirstIn)
		for range rapid.IntRange(1, 40).Draw(t, "steps") {
			standing := b.standing()
			switch command := rapid.IntRange(0, 9).Draw(t, "command"); {
			case command == 0 || len(b.lots) == 0:
				b.receive(t, drawAmount(t, 5_000).String(), money.Amount(rapid.Int64Range(0, 400).Draw(t, "cost")))
			case command == 1 && len(standing) > 0:
				i := rapid.SampledFrom(standing).Draw(t, "given back")
				b.giveBack(t, i.ID, decimal.Min(drawAmount(t, 200), i.Out()).String())
			case command < 4 && len(standing) > 0:
				i := rapid.SampledFrom(standing).Draw(t, "taken back")
				back := b.takeBack(t, i.ID)
				if i.Cost() != i.Returned.Cost+back.Total() || !back.Quantity.Equal(i.Out()) {
					t.Fatalf("%v at %d and before it %d went back, want %v and %d in all", back.Quantity, back.Total(), i.Returned.Cost, i.Out(), i.Cost())
				}
			case b.OnHand.IsPositive():
				b.issue(t, decimal.Min(drawAmount(t, 400), b.OnHand).String())
			}
			b.holds(t)
			b.fair(t)
		}
		if b.OnHand.IsPositive() && rapid.Bool().Draw(t, "use up") {
			b.issue(t, b.OnHand.String())
			b.holds(t)
			b.fair(t)
			if b.Value != 0 {
				t.Fatalf("nothing is left, but it is worth %d", b.Value)
			}
			return
		}
		for _, n := range rapid.Permutation(b.standing()).Draw(t, "all back") {
			b.takeBack(t, n.ID)
			b.holds(t)
		}
		for n, l := range b.all() {
			if !l.Left.Equal(l.Quantity) || l.CostLeft != l.Cost {
				t.Fatalf("all went back, but lot %d has %v of %v at %d of %d", n, l.Left, l.Quantity, l.CostLeft, l.Cost)
			}
		}
	})
}

func drawAmount(t *rapid.T, most int64) decimal.Decimal {
	return decimal.New(rapid.Int64Range(1, most).Draw(t, "millilitres"), -3)
}

// fair checks that each part of an issue is off its exact share of its lot's cost by one minor
// unit at most, and two for each return into the lot.
func (b *bench) fair(t *rapid.T) {
	returns := map[id.ID]int{}
	for _, p := range b.noted {
		for _, part := range p.Parts {
			if p.Kind == materials.CameBack {
				returns[part.Lot]++
			}
		}
	}
	for _, i := range b.standing() {
		for _, part := range i.Parts {
			l := b.lots[part.Lot]
			share := new(big.Rat).Mul(new(big.Rat).Quo(part.Quantity.Rat(), l.Quantity.Rat()), new(big.Rat).SetInt64(int64(l.Cost)))
			off := share.Sub(share, new(big.Rat).SetInt64(int64(part.Cost)))
			if most := new(big.Rat).SetInt64(int64(1 + 2*returns[part.Lot])); part.Cost > 0 || off.Abs(off).Cmp(most) > 0 {
				t.Fatalf("a part of %v of %v at %d cost %d after %d returns", part.Quantity, l.Quantity, l.Cost, part.Cost, returns[part.Lot])
			}
		}
	}
}

// holds checks that what is left in each lot and what is out of it make the whole lot,
// and that the product is the sum of its lots.
func (b *bench) holds(t *rapid.T) {
	amount, cost := map[id.ID]decimal.Decimal{}, map[id.ID]money.Amount{}
	for _, p := range b.noted {
		for _, part := range p.Parts {
			if p.Kind != materials.CameIn {
				amount[part.Lot], cost[part.Lot] = amount[part.Lot].Sub(part.Quantity), cost[part.Lot]-part.Cost
			}
		}
	}
	for n, l := range b.all() {
		if !amount[l.ID].Add(l.Left).Equal(l.Quantity) || cost[l.ID]+l.CostLeft != l.Cost {
			t.Fatalf("lot %d of %v at %d: %v at %d are out and %v at %d are left", n, l.Quantity, l.Cost, amount[l.ID], cost[l.ID], l.Left, l.CostLeft)
		}
		if l.Left.IsNegative() || l.CostLeft < 0 || l.Left.IsZero() && l.CostLeft != 0 {
			t.Fatalf("lot %d has %v at %d left", n, l.Left, l.CostLeft)
		}
	}
	if left, value := b.left(); !b.OnHand.Equal(left) || b.Value != value {
		t.Fatalf("on hand %v at %d, in the lots %v at %d", b.OnHand, b.Value, left, value)
	}
}
