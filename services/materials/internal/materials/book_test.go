package materials

import (
	"errors"
	"fmt"
	"slices"
	"testing"
	"time"

	"github.com/shopspring/decimal"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/money"
)

var july = time.Date(2026, 7, 1, 8, 0, 0, 0, time.UTC)

// methods are both ways of counting.
var methods = []Method{FirstIn, Average}

func on(day int) time.Time { return july.AddDate(0, 0, day-1) }

func units(n int64) decimal.Decimal { return decimal.NewFromInt(n) }

// bought came in for so many dollars each; its lot has the id of its entry.
func bought(day int, n, each int64) Entry {
	e := Entry{ID: id.New(), Kind: CameIn, Purpose: ForDelivery, At: on(day), Quantity: units(n), Cost: money.Amount(n * each * 100)}
	e.Lot = e.ID
	return e
}

func used(day int, n int64) Entry {
	return Entry{ID: id.New(), Kind: WentOut, Purpose: ForIssue, At: on(day), Quantity: units(n), Takes: Fresh}
}

// usedOf is used of a lot that was named.
func usedOf(lot id.ID, day int, n int64) Entry {
	e := used(day, n)
	e.Lot = lot
	return e
}

func returned(out Entry, day int, n int64) Entry {
	return Entry{ID: id.New(), Kind: CameBack, Purpose: ForReturn, At: on(day), Quantity: units(n), Of: out.ID}
}

// counted is a count of all; of a lot with its id in Lot.
func counted(day int, n int64) Entry {
	e := Entry{ID: id.New(), Kind: Tallied, Purpose: ForCount, At: on(day), Quantity: units(n)}
	e.Into = e.ID
	return e
}

func countedOf(lot id.ID, day int, n int64) Entry {
	e := counted(day, n)
	e.Lot = lot
	return e
}

// opened makes a part of a lot one of its own, that has the id of its entry.
func opened(lot id.ID, day int, n int64) Entry {
	e := Entry{ID: id.New(), Kind: Split, Purpose: ForOpening, At: on(day), Quantity: units(n), Lot: lot, Opened: true}
	e.Into = e.ID
	return e
}

func closed(lot id.ID, day int) Entry {
	return Entry{ID: id.New(), Kind: Closed, Purpose: ForClosing, At: on(day), Lot: lot}
}

func corrected(lot Entry, by money.Amount) Entry {
	return Entry{ID: id.New(), Kind: CostAdded, Purpose: ForCorrection, At: lot.At, Cost: by, Lot: lot.Lot}
}

// replay posts entries in the order of their time on an empty book; what is posted is in the
// order in which they were given. It stops at the first that is refused.
func replay(m Method, entries []Entry) (*Book, []Posted, error) {
	b, posted := NewBook(m), make([]Posted, len(entries))
	for _, e := range slices.SortedFunc(slices.Values(entries), Entry.before) {
		p, err := b.Post(e)
		if err != nil {
			return b, nil, err
		}
		posted[slices.IndexFunc(entries, func(o Entry) bool { return o.ID == e.ID })] = p
	}
	return b, posted, nil
}

func post(t *testing.T, m Method, entries ...Entry) (*Book, []Posted) {
	t.Helper()
	b, posted, err := replay(m, entries)
	if err != nil {
		t.Fatalf("%s: %v", m, err)
	}
	return b, posted
}

// refused posts entries of which the last is refused, and changes nothing.
func refused(t *testing.T, reason string, entries ...Entry) {
	t.Helper()
	for _, m := range methods {
		last := len(entries) - 1
		b, _ := post(t, m, entries[:last]...)
		before := fmt.Sprint(b.OnHand, b.Value, b.Last, lotsOf(b))
		_, err := b.Post(entries[last])
		wantReason(t, err, reason)
		if after := fmt.Sprint(b.OnHand, b.Value, b.Last, lotsOf(b)); after != before {
			t.Errorf("refused, but left\n%s, not\n%s", after, before)
		}
	}
}

// wantReason expects a fault, or what becomes one where its unit is known.
func wantReason(t *testing.T, err error, reason string) {
	t.Helper()
	var short shortage
	if errors.As(err, &short) {
		err = (&Shelf{}).short(short) // as people are told
	}
	if f := fault.Of(err); f == nil || f.Reason != reason {
		t.Errorf("%v, want %s", err, reason)
	}
}

func lotsOf(b *Book) (lots []Lot) {
	for _, l := range b.lots {
		lots = append(lots, *l)
	}
	return lots
}

// parts writes what an entry did to lots as "+5 A for 100.00"; lots are called by their place
// among those given.
func parts(p Posted, lots ...id.ID) (all []string) {
	for _, part := range p.Parts {
		name := string(rune('A' + slices.Index(lots, part.Lot)))
		all = append(all, fmt.Sprintf("%s %s for %d", part.Quantity, name, part.Cost))
	}
	return all
}

func wantParts(t *testing.T, p Posted, lots []id.ID, want ...string) {
	t.Helper()
	if got := parts(p, lots...); !slices.Equal(got, want) {
		t.Errorf("%s of %s: %q, want %q", p.Purpose, p.Quantity, got, want)
	}
}

func outlay(posted []Posted) (sum money.Amount) {
	for _, p := range posted {
		if p.Kind == WentOut {
			sum -= p.Total()
		}
	}
	return sum
}

// The worked example of Principles of Accounting, Volume 1: Financial Accounting (OpenStax,
// CC BY-NC-SA 4.0), chapter 10: 585 units for 16,155 dollars in July, of which 300 are sold. By the
// perpetual average the book rounds to dollars; the cents here are exact.
func TestBook_WorkedExample(t *testing.T) {
	month := []Entry{bought(1, 150, 21), used(5, 120), bought(10, 225, 27), used(15, 180), bought(25, 210, 33)}
	for _, c := range []struct {
		method      Method
		first, then money.Amount
		left        money.Amount
	}{{FirstIn, 2_520_00, 4_680_00, 8_955_00}, {Average, 2_520_00, 4_732_94, 8_902_06}} {
		b, posted := post(t, c.method, month...)
		if posted[1].Total() != -c.first || posted[3].Total() != -c.then || b.Value != c.left || !b.OnHand.Equal(units(285)) {
			t.Errorf("%s: cost %d and %d, left %s for %d; want %d and %d, left 285 for %d", c.method, -posted[1].Total(), -posted[3].Total(), b.OnHand, b.Value, c.first, c.then, c.left)
		}
		if c.method != FirstIn {
			continue
		}
		wantParts(t, posted[3], []id.ID{month[0].Lot, month[2].Lot}, "-30 A for -63000", "-150 B for -405000")
		if lots := lotsOf(b); lots[1].CostLeft != 75*27_00 || lots[2].CostLeft != 210*33_00 {
			t.Errorf("left in the lots: %d and %d, want 75 @ 27 and 210 @ 33", lots[1].CostLeft, lots[2].CostLeft)
		}
	}
}

// From the same chapter its example with two purchases at one price and the data of its exercises,
// where all is bought before anything is sold, so that the average is that of all. Of first in,
// first out the book gives what was sold too. The columns are units and dollars each.
func TestBook_EndOfPeriodExamples(t *testing.T) {
	for name, c := range map[string]struct {
		bought         [][2]int64
		left           int64
		first, average money.Amount
	}{
		"OnePrice":    {[][2]int64{{50, 7}, {20, 7}}, 18, 126_00, 126_00},
		"RisingPrice": {[][2]int64{{150, 10}, {160, 12}, {130, 15}}, 50, 750_00, 610_23},
		"FourLots":    {[][2]int64{{1050, 22}, {1020, 23}, {1300, 26}, {1200, 27}}, 900, 24_300_00, 22_206_56},
		"UpAndDown":   {[][2]int64{{500, 40}, {600, 45}, {650, 40}, {700, 35}}, 550, 19_250_00, 21_887_76},
	} {
		t.Run(name, func(t *testing.T) {
			var entries []Entry
			var all int64
			var paid money.Amount
			for n, lot := range c.bought {
				entries, all, paid = append(entries, bought(n+1, lot[0], lot[1])), all+lot[0], paid+money.Amount(lot[0]*lot[1]*100)
			}
			entries = append(entries, used(20, all-c.left))
			for m, want := range map[Method]money.Amount{FirstIn: c.first, Average: c.average} {
				if b, posted := post(t, m, entries...); b.Value != want || outlay(posted) != paid-want || !b.OnHand.Equal(units(c.left)) {
					t.Errorf("%s: sold for %d, %s left for %d; want %d, %d for %d", m, outlay(posted), b.OnHand, b.Value, paid-want, c.left, want)
				}
			}
		})
	}
}

// The month of the worked example with what happens in a shop besides. By the moving average what
// stays on the shelf costs what it did: a part that is opened changes nothing, what comes back does
// so at what it went out for, and what a count finds or misses is worth the average of the day.
func TestBook_MovingAverage_OpenedReturnedCounted(t *testing.T) {
	first := bought(1, 150, 21)
	sold := used(5, 120)
	second := bought(10, 225, 27)
	open := opened(second.Lot, 11, 50)
	sale := used(15, 180)
	b, posted := post(t, Average, first, sold, second, open, sale)
	if open := posted[3]; open.Total() != 0 || !open.Net().IsZero() || len(open.Parts) != 2 {
		t.Errorf("opening changed %s for %d", open.Net(), open.Total())
	}
	if posted[4].Total() != -4_732_94 || b.Value != 1_972_06 { // 75 @ 26.2941…
		t.Errorf("180 of 255 for 6,705 cost %d, %d are left", posted[4].Total(), b.Value)
	}
	back := returned(sale, 16, 60)
	b, posted = post(t, Average, first, sold, second, open, sale, back)
	if posted[5].Total() != 1_577_65 || b.Value != 3_549_71 { // 60 of 180 for 4,732.94
		t.Errorf("60 of them came back at %d, %d are there", posted[5].Total(), b.Value)
	}
	less, more := counted(20, 130), counted(21, 143)
	b, posted = post(t, Average, first, sold, second, open, sale, back, less, more)
	if missing := posted[6]; !missing.Net().Equal(units(-5)) || missing.Total() != -1_31_47 { // 5 of 135
		t.Errorf("a count missed %s for %d, want 5 for 131.47", missing.Net(), missing.Total())
	}
	if found := posted[7]; !found.Net().Equal(units(13)) || found.Total() != 3_41_82 { // a tenth of 3,418.24
		t.Errorf("a count found %s for %d, want 13 for 341.82", found.Net(), found.Total())
	}
	if b.Value != 3_760_06 || !b.OnHand.Equal(units(143)) {
		t.Errorf("%s are there for %d", b.OnHand, b.Value)
	}
	_, posted = post(t, Average, first, sold, second, open, sale, back, less, more, bought(25, 57, 33), used(26, 20))
	if posted[9].Total() != -5_64_11 { // a tenth of 200 for 3,760.06 and 57 @ 33
		t.Errorf("20 of 200 for 5,641.06 cost %d", posted[9].Total())
	}
}

// A third of 10.00 is 3.33…: the running total is rounded, so the cents even out.
func TestBook_RoundsTheRunningTotal(t *testing.T) {
	lot := bought(1, 3, 0)
	lot.Cost = 10_00
	_, posted := post(t, FirstIn, lot, used(2, 1), used(3, 1), used(4, 1))
	for n, want := range []money.Amount{-3_33, -3_34, -3_33} {
		if got := posted[n+1].Total(); got != want {
			t.Errorf("use %d cost %d, want %d", n+1, got, want)
		}
	}
}

// Of two that came in at one instant, that which was written down first is used first.
func TestBook_OldestFirst(t *testing.T) {
	first, second, third := bought(3, 1, 1), bought(2, 1, 1), bought(3, 1, 1)
	out := used(4, 3)
	out.Quantity = decimal.RequireFromString("2.5")
	lots := []id.ID{first.Lot, second.Lot, third.Lot}
	_, posted := post(t, FirstIn, out, third, second, first)
	wantParts(t, posted[0], lots, "-1 B for -100", "-1 A for -100", "-0.5 C for -50")
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
	if after[1].Total() != -80_00 || after[3].Total() != -(6*20_00+2*24_00) {
		t.Errorf("after: %d and %d", after[1].Total(), after[3].Total())
	}
}

// A wrong price put right costs what was made of the lot, as if it had been right at once; so does
// what was lost of it, and what came back.
func TestBook_PricePutRight(t *testing.T) {
	lot, out := bought(1, 10, 20), used(5, 4)
	right := corrected(lot, -50_00)
	for _, m := range methods {
		b, posted := post(t, m, out, right, lot, returned(out, 6, 1), counted(7, 5))
		if posted[0].Total() != -60_00 || posted[3].Total() != 15_00 || posted[4].Total() != -30_00 || b.Value != 75_00 {
			t.Errorf("%s: %d for four of ten at 15, %d for one back, %d for two lost, %d left", m, posted[0].Total(), posted[3].Total(), posted[4].Total(), b.Value)
		}
	}
	refused(t, "COST_BELOW_ZERO", lot, corrected(lot, -200_01))
	if b, _ := post(t, FirstIn, lot, corrected(lot, -200_00), out); b.Value != 0 {
		t.Errorf("what was a gift is worth %d", b.Value)
	}
}

// What is found when nothing is there costs what came in last did, as that is right now.
func TestBook_PricePutRight_OfWhatCameInLast(t *testing.T) {
	old, lot := bought(1, 10, 20), bought(2, 10, 30)
	for _, m := range methods {
		_, posted := post(t, m, old, lot, used(3, 20), counted(4, 2), corrected(lot, 50_00), corrected(old, 100_00))
		if posted[3].Total() != 70_00 {
			t.Errorf("%s: two found cost %d, want 35.00 each", m, posted[3].Total())
		}
	}
}

// What comes back comes back at what it went out for, and all of it at exactly that.
func TestBook_ComesBack(t *testing.T) {
	lot := bought(1, 3, 0)
	lot.Cost = 10_00
	out := used(2, 3)
	for _, m := range methods {
		b, posted := post(t, m, lot, out, returned(out, 3, 1), returned(out, 4, 1), returned(out, 5, 1))
		if b.Value != 10_00 || posted[2].Total() != 3_33 || posted[3].Total() != 3_34 || posted[4].Total() != 3_33 {
			t.Errorf("%s: %d for what came back at %d, %d and %d", m, b.Value, posted[2].Total(), posted[3].Total(), posted[4].Total())
		}
	}
	refused(t, "RETURN_TOO_LARGE", lot, out, returned(out, 3, 1), returned(out, 4, 1), returned(out, 5, 1), returned(out, 6, 1))
	refused(t, "RETURN_TOO_LARGE", lot, out, returned(out, 3, 1), returned(out, 4, 3))
}

// What was taken last comes back first, so that what came in first stays used.
func TestBook_ComesBack_WhatWasTakenLastFirst(t *testing.T) {
	old, lot := bought(1, 5, 1), bought(2, 5, 2)
	out := used(3, 8)
	lots := []id.ID{old.Lot, lot.Lot}
	_, posted := post(t, FirstIn, old, lot, out, returned(out, 4, 2), returned(out, 5, 3))
	wantParts(t, posted[3], lots, "2 B for 400")
	wantParts(t, posted[4], lots, "2 A for 200", "1 B for 200")
}

// More than there was at the time is refused, also when it came in later; so is more of a lot that
// was named than it has, and what nobody knows.
func TestBook_Refuses(t *testing.T) {
	lot, other := bought(1, 5, 1), bought(2, 1, 9)
	refused(t, "STOCK_TOO_SMALL", used(2, 1))
	refused(t, "STOCK_TOO_SMALL", lot, other, used(3, 7))
	refused(t, "STOCK_TOO_SMALL", lot, other, usedOf(other.Lot, 4, 2))
	refused(t, "STOCK_TOO_SMALL", lot, usedOf(id.New(), 4, 1))
	for _, e := range []Entry{opened(id.New(), 3, 1), closed(id.New(), 3), countedOf(id.New(), 3, 1), {ID: id.New(), Kind: Moved, At: on(3), Lot: id.New()}} {
		refused(t, "LOT_NOT_FOUND", lot, e)
	}
	if _, _, err := replay(FirstIn, []Entry{bought(3, 5, 1), used(2, 1)}); err == nil {
		t.Error("what came in on the third was used on the second")
	}
}
