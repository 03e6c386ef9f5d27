package materials

import (
	"slices"
	"testing"

	"tackfree/pkg/id"
)

// A count says how much there is. What that is less went out of what is used first; what it is more
// came in, at what the rest is worth.
func TestBook_Count(t *testing.T) {
	old, lot := bought(1, 5, 1), bought(2, 5, 3)
	for name, c := range map[string]struct {
		counted int64
		method  Method
		want    []string // A and B are the lots, C is what was found
	}{
		"Less":            {3, FirstIn, []string{"-5 A for -500", "-2 B for -600"}},
		"LessOnAverage":   {3, Average, []string{"-5 A for -1000", "-2 B for -400"}},
		"None":            {0, FirstIn, []string{"-5 A for -500", "-5 B for -1500"}},
		"AsMany":          {10, FirstIn, nil},
		"More":            {12, FirstIn, []string{"2 C for 400"}},
		"MoreOnAverage":   {12, Average, []string{"2 C for 400"}},
		"AsManyOnAverage": {10, Average, nil},
	} {
		t.Run(name, func(t *testing.T) {
			count := counted(3, c.counted)
			b, posted := post(t, c.method, old, lot, count)
			wantParts(t, posted[2], []id.ID{old.Lot, lot.Lot, count.Into}, c.want...)
			if !b.OnHand.Equal(units(c.counted)) || b.Value != 20_00+posted[2].Total() {
				t.Errorf("counted %d, but %s are there for %d", c.counted, b.OnHand, b.Value)
			}
		})
	}
}

// A count of one lot changes nothing else. What it found more is a lot of its own that keeps as
// long, stands in the same place and goes out after what came in before.
func TestBook_Count_OfALot(t *testing.T) {
	old, lot := bought(1, 5, 1), bought(2, 5, 3)
	lot.Expires, lot.Place, lot.Code, lot.Supplier = on(40), id.New(), "B-7", "paint store"
	less, more := countedOf(lot.Lot, 3, 4), countedOf(lot.Lot, 4, 6)
	b, posted := post(t, FirstIn, old, lot, less, more)
	lots := []id.ID{old.Lot, lot.Lot, more.Into}
	wantParts(t, posted[2], lots, "-1 B for -300")
	wantParts(t, posted[3], lots, "2 C for 378") // of 9 for 17.00
	found := lotsOf(b)[2]
	if found.ID != more.Into || found.Root != more.Into || found.Expires != lot.Expires || found.Place != lot.Place || found.Code != "B-7" || found.Supplier != "paint store" || found.ReceivedAt != more.At {
		t.Errorf("found %+v", found)
	}
	_, posted = post(t, FirstIn, old, lot, less, more, used(5, 10))
	wantParts(t, posted[4], lots, "-5 A for -500", "-4 B for -1200", "-1 C for -189")
	if _, posted = post(t, FirstIn, old, lot, countedOf(lot.Lot, 3, 5)); posted[2].Parts != nil {
		t.Errorf("a count that is right did %v", posted[2].Parts)
	}
}

// What is found where nothing is there costs what came in last did, and nothing if nothing ever
// came; what a count found is no delivery.
func TestBook_Count_OfNothing(t *testing.T) {
	for _, m := range methods {
		count := counted(1, 4)
		if b, posted := post(t, m, count); posted[0].Total() != 0 || !b.OnHand.Equal(units(4)) || b.Value != 0 {
			t.Errorf("%s: found before anything came in: %v, %s for %d", m, posted[0].Parts, b.OnHand, b.Value)
		}
		first, last := counted(4, 1), counted(6, 3)
		_, posted := post(t, m, bought(1, 5, 9), bought(2, 5, 3), used(3, 10), first, used(5, 1), last)
		if posted[3].Total() != 3_00 || posted[5].Total() != 9_00 {
			t.Errorf("%s: one found for %d, then three for %d; want 3.00 each", m, posted[3].Total(), posted[5].Total())
		}
	}
}

// A count takes what is too old and what was closed for what it is.
func TestBook_Count_OfWhatIsNotUsed(t *testing.T) {
	old, shut := bought(1, 5, 1), bought(2, 5, 3)
	old.Expires = on(3)
	for _, m := range methods {
		if b, _ := post(t, m, old, shut, closed(shut.Lot, 4), counted(5, 1)); !b.OnHand.Equal(units(1)) || b.lots[1].Closed == b.lots[0].Closed {
			t.Errorf("%s: %s are there in %+v", m, b.OnHand, lotsOf(b))
		}
	}
}

// An opened part has its share of the cost, is used before the rest of its can and after what came
// in before the can, whenever it was opened.
func TestBook_Opened(t *testing.T) {
	old, can, newer := bought(1, 5, 1), bought(2, 10, 3), bought(3, 5, 2)
	part := opened(can.Lot, 4, 4)
	part.Expires = on(34)
	b, posted := post(t, FirstIn, old, can, newer, part)
	lots := []id.ID{old.Lot, can.Lot, newer.Lot, part.Into}
	wantParts(t, posted[3], lots, "-4 B for -1200", "4 D for 1200")
	if !b.OnHand.Equal(units(20)) || b.Value != 45_00 {
		t.Errorf("opening left %s for %d", b.OnHand, b.Value)
	}
	order := lotsOf(b)
	if open := order[1]; open.ID != part.Into || open.Root != can.Lot || !open.Opened || open.Expires != on(34) || open.ReceivedAt != can.At || order[2].Opened {
		t.Errorf("the open part is %+v in %+v", open, order)
	}
	_, posted = post(t, FirstIn, old, can, newer, part, used(5, 16))
	wantParts(t, posted[4], lots, "-5 A for -500", "-4 D for -1200", "-6 B for -1800", "-1 C for -200")
}

// The parts of a can cost together what it cost, though their cents do not divide.
func TestBook_Opened_CostsWhatTheCanDid(t *testing.T) {
	can := bought(1, 3, 0)
	can.Cost = 10_00
	first, second := opened(can.Lot, 2, 1), opened(can.Lot, 3, 2)
	b, posted := post(t, FirstIn, can, first, second)
	lots := []id.ID{can.Lot, first.Into, second.Into}
	wantParts(t, posted[1], lots, "-1 A for -333", "1 B for 333")
	wantParts(t, posted[2], lots, "-2 A for -667", "2 C for 667")
	if b.Value != 10_00 {
		t.Errorf("the parts are worth %d", b.Value)
	}
}

// All of a can was opened; that some of it had been used by then was written down later. So less
// was opened, and that is no error, even if nothing was left.
func TestBook_Opened_AfterALateUse(t *testing.T) {
	can := bought(1, 10, 3)
	part := opened(can.Lot, 4, 10)
	lots := []id.ID{can.Lot, part.Into}
	b, posted := post(t, FirstIn, can, part, used(3, 3))
	wantParts(t, posted[1], lots, "-7 A for -2100", "7 B for 2100")
	if open := b.lots[0]; open.ID != part.Into || !open.Left.Equal(units(7)) || !open.Quantity.Equal(units(7)) {
		t.Errorf("after a late use of 3 the open part is %+v", *open)
	}
	b, _ = post(t, FirstIn, can, used(3, 10))
	if p, err := b.Repost(part); err != nil || p.Parts != nil {
		t.Errorf("with nothing left what had been opened is %+v, %v", p, err)
	}
	_, _, err := replay(FirstIn, []Entry{can, part, used(3, 4), used(5, 7)})
	wantReason(t, err, "STOCK_TOO_SMALL")
}

// A part that was moved stands in its new place, the rest where it was; what was open stays open.
func TestBook_Moved(t *testing.T) {
	shelf, cabinet := id.New(), id.New()
	can := bought(1, 10, 3)
	can.Place, can.Opened = shelf, true
	part := opened(can.Lot, 2, 4)
	part.Purpose, part.Opened, part.Place = ForMove, false, cabinet
	b, _ := post(t, FirstIn, can, part)
	if lots := lotsOf(b); lots[0].Place != shelf || lots[1].Place != cabinet || !lots[1].Opened {
		t.Errorf("the lots are %+v", lots)
	}
	all := Entry{ID: id.New(), Kind: Moved, Purpose: ForMove, At: on(3), Lot: can.Lot, Place: cabinet}
	b, posted := post(t, FirstIn, can, part, all)
	if lots := lotsOf(b); lots[0].Place != cabinet || posted[2].Parts != nil {
		t.Errorf("moved it is %+v", lots)
	}
	open := opened(can.Lot, 4, 6)
	open.Place = shelf // says where somebody stood; opening moves nothing
	b, _ = post(t, FirstIn, can, part, all, open)
	if n := slices.IndexFunc(b.lots, func(l *Lot) bool { return l.ID == open.Into }); b.lots[n].Place != cabinet {
		t.Errorf("opened it is %+v", *b.lots[n])
	}
}

// What has expired is used only by somebody who says why, and what was closed by nobody; either
// can be thrown away. The day on which a can expires is the first that it is too old.
func TestBook_ExpiredAndClosed(t *testing.T) {
	old, shut, fresh := bought(1, 5, 1), bought(2, 5, 2), bought(3, 5, 3)
	old.Expires = on(10)
	lots := []id.ID{old.Lot, shut.Lot, fresh.Lot}
	takes := func(takes Takes, n int64) Entry {
		e := used(10, n)
		e.Takes = takes
		return e
	}
	for _, c := range []struct {
		out  Entry
		want []string
	}{
		{used(9, 6), []string{"-5 A for -500", "-1 C for -300"}},
		{takes(Fresh, 4), []string{"-4 C for -1200"}},
		{takes(Expired, 6), []string{"-5 A for -500", "-1 C for -300"}},
		{takes(Anything, 11), []string{"-5 A for -500", "-5 B for -1000", "-1 C for -300"}},
	} {
		_, posted := post(t, FirstIn, old, shut, fresh, closed(shut.Lot, 4), c.out)
		wantParts(t, posted[4], lots, c.want...)
	}
	stock := func(last Entry) []Entry { return []Entry{old, shut, fresh, closed(shut.Lot, 4), last} }
	refused(t, "LOT_EXPIRED", stock(takes(Fresh, 6))...)
	refused(t, "LOT_EXPIRED", stock(usedOf(old.Lot, 10, 1))...)
	refused(t, "STOCK_TOO_SMALL", stock(takes(Fresh, 11))...) // more than if the expired were taken too
	refused(t, "STOCK_TOO_SMALL", stock(takes(Expired, 11))...)
	refused(t, "LOT_CLOSED", stock(usedOf(shut.Lot, 10, 1))...)
	post(t, FirstIn, stock(usedOf(shut.Lot, 3, 1))...) // before it was closed
	part := opened(shut.Lot, 5, 2)
	refused(t, "LOT_CLOSED", old, shut, fresh, closed(shut.Lot, 4), part, usedOf(part.Into, 6, 2)) // a part of it is no better
}

// Somebody who names a lot gets of it, and of it alone.
func TestBook_NamesALot(t *testing.T) {
	old, lot := bought(1, 5, 1), bought(2, 5, 3)
	b, posted := post(t, FirstIn, old, lot, usedOf(lot.Lot, 3, 2), used(4, 6))
	lots := []id.ID{old.Lot, lot.Lot}
	wantParts(t, posted[2], lots, "-2 B for -600")
	wantParts(t, posted[3], lots, "-5 A for -500", "-1 B for -300")
	if b.Value != 6_00 {
		t.Errorf("two at 3 are worth %d", b.Value)
	}
	if _, posted = post(t, Average, old, lot, usedOf(lot.Lot, 3, 2)); posted[2].Total() != -4_00 {
		t.Errorf("on average two cost %d, want 2.00 each", posted[2].Total())
	}
}

// What a count found has no price of its own to put right.
func TestBook_PricePutRight_OfWhatWasFound(t *testing.T) {
	lot, count := bought(1, 5, 1), counted(2, 7)
	wrong := corrected(count, 1)
	wrong.Lot = count.Into
	for _, m := range methods {
		_, _, err := replay(m, []Entry{lot, count, wrong})
		wantReason(t, err, "LOT_WAS_FOUND")
	}
}
