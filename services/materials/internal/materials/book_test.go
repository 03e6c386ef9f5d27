package materials

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"github.com/shopspring/decimal"
	"pgregory.net/rapid"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/money"
)

var july = time.Date(2026, 7, 1, 8, 0, 0, 0, time.UTC)

func on(day int) time.Time { return july.AddDate(0, 0, day-1) }

func units(n int64) decimal.Decimal { return decimal.NewFromInt(n) }

func bought(day int, n, each int64) Entry {
	return Entry{ID: id.New(), Kind: CameIn, At: on(day), Quantity: units(n), Cost: money.Amount(n * each * 100), Lot: id.New()}
}

func used(day int, n int64) Entry {
	return Entry{ID: id.New(), Kind: WentOut, At: on(day), Quantity: units(n)}
}

func post(t *testing.T, m Method, entries ...Entry) (*Book, []Posted) {
	t.Helper()
	b, posted, err := Replay(m, entries)
	if err != nil {
		t.Fatal(err)
	}
	return b, posted
}

func outlay(posted []Posted) (sum money.Amount) {
	for _, p := range posted {
		if p.Kind == WentOut {
			sum -= p.Total()
		}
	}
	return sum
}

// The worked example of Principles of Accounting, Volume 1: Financial Accounting (OpenStax),
// chapter 10: 585 units for 16,155 dollars in July, of which 300 are sold. By the perpetual
// average the book rounds to dollars; the cents here are exact.
func TestBook_WorkedExample(t *testing.T) {
	month := []Entry{bought(1, 150, 21), used(5, 120), bought(10, 225, 27), used(15, 180), bought(25, 210, 33)}
	for _, c := range []struct {
		method     Method
		cost, left money.Amount
	}{{FirstIn, 7_200_00, 8_955_00}, {Average, 7_252_94, 8_902_06}} {
		b, posted := post(t, c.method, month...)
		if outlay(posted) != c.cost || b.Value != c.left || !b.OnHand.Equal(units(285)) {
			t.Errorf("%s: cost %d, left %s for %d; want %d and %d", c.method, outlay(posted), b.OnHand, b.Value, c.cost, c.left)
		}
	}
}

// Exercises of the same chapter, where all is bought before anything is sold, so that the
// average is that of all.
func TestBook_Exercises(t *testing.T) {
	for _, c := range []struct {
		bought         [][2]int64
		left           int64
		first, average money.Amount
	}{
		{[][2]int64{{150, 10}, {160, 12}, {130, 15}}, 50, 750_00, 610_23},
		{[][2]int64{{1050, 22}, {1020, 23}, {1300, 26}, {1200, 27}}, 900, 24_300_00, 22_206_56},
		{[][2]int64{{500, 40}, {600, 45}, {650, 40}, {700, 35}}, 550, 19_250_00, 21_887_76},
	} {
		var entries []Entry
		var all int64
		for n, lot := range c.bought {
			entries, all = append(entries, bought(n+1, lot[0], lot[1])), all+lot[0]
		}
		entries = append(entries, used(20, all-c.left))
		for m, want := range map[Method]money.Amount{FirstIn: c.first, Average: c.average} {
			if b, _ := post(t, m, entries...); b.Value != want {
				t.Errorf("%v left of %v by %s: %d, want %d", c.left, c.bought, m, b.Value, want)
			}
		}
	}
}

// A delivery that was written down late changes what was used after it, and nothing before.
func TestBook_LateDelivery(t *testing.T) {
	first, early, late := bought(1, 10, 20), used(2, 4), used(9, 8)
	newer := bought(8, 10, 30)
	_, before := post(t, FirstIn, first, early, newer, late)
	_, after := post(t, FirstIn, first, early, newer, late, bought(5, 5, 24))
	if before[1].Total() != -80_00 || before[3].Total() != -(6*20_00+2*30_00) {
		t.Errorf("before: %d and %d", before[1].Total(), before[3].Total())
	}
	if after[1].Total() != -80_00 || after[4].Total() != -(6*20_00+2*24_00) {
		t.Errorf("after: %d and %d", after[1].Total(), after[4].Total())
	}
}

// A wrong price put right costs what was made of the lot, as if it had been right at once.
func TestBook_PricePutRight(t *testing.T) {
	lot, out := bought(1, 10, 20), used(5, 4)
	right := Entry{ID: id.New(), Kind: CostAdded, At: lot.At, Cost: -50_00, Lot: lot.Lot}
	for _, m := range []Method{FirstIn, Average} {
		b, posted := post(t, m, out, right, lot)
		if posted[2].Total() != -60_00 || b.Value != 90_00 {
			t.Errorf("%s: %d for four of ten at 15, %d left", m, posted[2].Total(), b.Value)
		}
	}
}

// What comes back comes back at what it went out for, and all of it at exactly that.
func TestBook_ComesBack(t *testing.T) {
	lot := Entry{ID: id.New(), Kind: CameIn, At: on(1), Quantity: units(3), Cost: 10_00, Lot: id.New()}
	out := used(2, 3)
	back := func(day int) Entry {
		return Entry{ID: id.New(), Kind: CameBack, At: on(day), Quantity: units(1), Of: out.ID}
	}
	for _, m := range []Method{FirstIn, Average} {
		b, posted := post(t, m, lot, out, back(3), back(4), back(5))
		if b.Value != 10_00 || posted[2].Total() != 3_33 || posted[3].Total() != 3_34 || posted[4].Total() != 3_33 {
			t.Errorf("%s: %d for what came back at %d, %d and %d", m, b.Value, posted[2].Total(), posted[3].Total(), posted[4].Total())
		}
		_, _, err := Replay(m, []Entry{lot, out, back(3), back(4), back(5), back(6)})
		wantReason(t, err, "RETURN_TOO_LARGE")
	}
}

// More than there was at the time is refused, also when it came in later; so is what has expired,
// but for somebody who says why.
func TestBook_Refuses(t *testing.T) {
	_, _, err := Replay(FirstIn, []Entry{bought(3, 5, 1), used(2, 1)})
	wantReason(t, err, "STOCK_TOO_SMALL")
	old := bought(1, 5, 1)
	old.Expires = on(10)
	_, _, err = Replay(FirstIn, []Entry{old, used(10, 1)})
	wantReason(t, err, "LOT_EXPIRED")
	anyway := used(10, 1)
	anyway.Stale = true
	post(t, FirstIn, old, used(9, 1), anyway)
	named := used(4, 2)
	other := bought(2, 1, 9)
	named.Lot = other.Lot
	_, _, err = Replay(FirstIn, []Entry{bought(1, 5, 1), other, named})
	wantReason(t, err, "STOCK_TOO_SMALL")
}

func wantReason(t *testing.T, err error, reason string) {
	t.Helper()
	if f := fault.Of(err); f == nil || f.Reason != reason {
		t.Errorf("%v, want %s", err, reason)
	}
}

// Whatever comes and goes: what is on hand is the sum of the parts and so is its value, nothing
// is below zero, what is used up is worth nothing, and the order of writing does not matter.
func TestBook_Laws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := rapid.SampledFrom([]Method{FirstIn, Average}).Draw(t, "method")
		entries := someEntries(t)
		b, posted, err := Replay(m, entries)
		if err != nil {
			t.Fatal(err)
		}
		shuffled := slices.Clone(entries)
		rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1)).Shuffle(len(shuffled), func(i, j int) { shuffled[i], shuffled[j] = shuffled[j], shuffled[i] })
		_, again, err := Replay(m, shuffled)
		if err != nil || fmt.Sprint(again) != fmt.Sprint(posted) {
			t.Fatalf("in another order: %v\n%v\n%v", err, posted, again)
		}
		onHand, value := decimal.Zero, money.Amount(0)
		for _, p := range posted {
			for _, part := range p.Parts {
				onHand, value = onHand.Add(part.Quantity), value+part.Cost
			}
			if onHand.IsNegative() || value < 0 || onHand.IsZero() && value != 0 {
				t.Fatalf("%s on hand for %d after %v", onHand, value, p)
			}
		}
		if !onHand.Equal(b.OnHand) || value != b.Value {
			t.Fatalf("the parts come to %s for %d, the book says %s for %d", onHand, value, b.OnHand, b.Value)
		}
	})
}

// someEntries never take more than there is; their times may be the same.
func someEntries(t *rapid.T) (entries []Entry) {
	have := decimal.Zero
	out := map[id.ID]decimal.Decimal{}
	var outs []id.ID
	at := july
	for range rapid.IntRange(1, 40).Draw(t, "entries") {
		at = at.Add(time.Duration(rapid.IntRange(0, 3).Draw(t, "hours")) * time.Hour)
		q := decimal.New(int64(rapid.IntRange(1, 5000).Draw(t, "quantity")), -3)
		e := Entry{ID: id.New(), Kind: CameIn, At: at, Quantity: q, Cost: money.Amount(rapid.IntRange(0, 10_000).Draw(t, "cost")), Lot: id.New()}
		switch k := rapid.IntRange(0, 4).Draw(t, "kind"); {
		case k >= 3 && have.GreaterThanOrEqual(q):
			e.Kind, e.Cost, e.Lot = WentOut, 0, id.Nil
			out[e.ID], outs = q, append(outs, e.ID)
		case k == 2 && len(outs) > 0:
			of := rapid.SampledFrom(outs).Draw(t, "of")
			if q = decimal.Min(q, out[of]); q.IsPositive() {
				out[of] = out[of].Sub(q)
				e.Kind, e.Cost, e.Lot, e.Of, e.Quantity = CameBack, 0, id.Nil, of, q
			}
		case k == 1:
			e.Kind, e.Cost = Found, 0
		}
		if e.Kind == WentOut {
			have = have.Sub(q)
		} else {
			have = have.Add(e.Quantity)
		}
		entries = append(entries, e)
	}
	return entries
}
