package materials_test

import (
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/shopspring/decimal"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/services/materials/internal/materials"
)

// Somebody counted, and what had been used before that was written down only afterwards: what was
// missing is less by it, and what is there is what was counted.
func TestShelf_LateIssueBeforeACount(t *testing.T) {
	for _, m := range methods {
		b := newBench(m)
		b.receive(t, "10", 100_00)
		used := b.entry()
		count := b.count(t, "6")
		if count.Total() != -40_00 {
			t.Fatalf("%s: four litres were missing at %d", m, count.Total())
		}
		used, err := b.Issue(used, litres("3"))
		if err != nil {
			t.Fatal(err)
		}
		s, err := b.post(used)
		if err != nil || !b.OnHand.Equal(decimal.NewFromInt(6)) || b.Value != 60_00 || s.Posted[0].Total() != -30_00 {
			t.Errorf("%s: %v; the issue cost %d, %v for %d are there", m, err, s.Posted[0].Total(), b.OnHand, b.Value)
		}
		if len(s.Recosted) != 1 {
			t.Fatalf("%s: recosted %+v", m, s.Recosted)
		}
		r := s.Recosted[0]
		if old, now := r.Cost(); r.ID != count.ID || old != 40_00 || now != 10_00 || !r.Old.Net().Equal(decimal.NewFromInt(-4)) || !r.Net().Equal(decimal.NewFromInt(-1)) {
			t.Errorf("%s: the count missed %v at %d and now %v at %d", m, r.Old.Net(), old, r.Net(), now)
		}
	}
}

// More had been used before the count than it missed: so it had found something, which is a lot
// of its own; and when that turns out wrong too, the lot was never there.
func TestShelf_LateIssueBeforeACount_ThatFindsMore(t *testing.T) {
	b := newBench(materials.FirstIn)
	b.receive(t, "10", 100_00)
	used, later := b.entry(), b.entry()
	count := b.count(t, "8")
	used, err := b.Issue(used, litres("5"))
	b.do(t, used, err)
	found, ok := b.lots[count.Into]
	if !ok || !found.Left.Equal(decimal.NewFromInt(3)) || found.Cost != 30_00 || !b.OnHand.Equal(decimal.NewFromInt(8)) {
		t.Errorf("found %+v, %v are there", found, b.OnHand)
	}
	b.issue(t, "7") // two of them from what was found
	later.Cost = 21_00
	later, err = b.Receive("", later, materials.Packed{Quantity: litres("7")})
	b.do(t, later, err)
	found = b.lots[count.Into]
	if !found.Left.IsZero() || !found.Quantity.IsZero() || found.CostLeft != 0 || !b.OnHand.Equal(decimal.NewFromInt(1)) || b.Value != 3_00 {
		t.Errorf("found %+v, %v for %d are there", found, b.OnHand, b.Value)
	}
	s := b.shelf(materials.Entry{Lot: found.ID})
	if _, err := s.Lot(found.ID); !fault.Is(err, "LOT_NOT_FOUND") {
		t.Errorf("the lot that was never there: %v", err)
	}
}

// What is written down late and would have left too little for something later is refused, and says
// for what.
func TestShelf_Late_Refuses(t *testing.T) {
	for _, m := range methods {
		b := newBench(m)
		b.receive(t, "1", 10_00)
		late := b.entry()
		standing := b.issue(t, "0.8")
		late, err := b.Issue(late, litres("0.3"))
		if err != nil {
			t.Fatal(err)
		}
		before := b.clone()
		s, err := b.post(late)
		f := fault.Of(err)
		if f == nil || f.Reason != "STOCK_TOO_SMALL" || f.Meta["entry"] != standing.ID.String() || !strings.Contains(f.Text, standing.At.Format("2006-01-02 15:04")) || f.Fields[0].Path != "quantity" {
			t.Errorf("%s: %v, want STOCK_TOO_SMALL for the issue of 0.8 L", m, err)
		}
		if diff := cmp.Diff(before.Product, s.Product, exact); diff != "" {
			t.Errorf("%s: refused, but left (-before +after):\n%s", m, diff)
		}
	}
}

// So is what would have left only what had expired by then.
func TestShelf_Late_RefusesWhatWouldLeaveTheExpired(t *testing.T) {
	b := newBench(materials.FirstIn)
	b.receive(t, "1", 10_00)
	old := b.entry()
	old.Expires = old.At.Add(2 * time.Hour)
	old, err := b.Receive("", old, materials.Packed{Quantity: litres("1")})
	b.do(t, old, err)
	late := b.entry()
	b.now = old.Expires
	b.issue(t, "0.6")
	late, err = b.Issue(late, litres("0.5"))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := b.post(late); !fault.Is(err, "LOT_EXPIRED") {
		t.Errorf("%v, want LOT_EXPIRED", err)
	}
	late.Lot = old.Lot
	b.do(t, late, nil)
}

// A lot that was closed late tells of what was used of it since.
func TestShelf_LateClosing(t *testing.T) {
	b := newBench(materials.FirstIn)
	lot := b.receive(t, "1", 10_00)
	late := b.entry()
	b.issue(t, "0.1")
	e, err := lot.Close(late)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := b.post(e); !fault.Is(err, "STOCK_TOO_SMALL") {
		t.Errorf("closed before it was used: %v", err)
	}
	other := b.receive(t, "1", 20_00)
	e, err = other.Close(b.entry())
	b.do(t, e, err)
	if b.lots[lot.ID].Closed || !b.lots[other.ID].Closed {
		t.Errorf("the lots are %+v", b.all())
	}
}

// A late delivery makes what came back of a later issue cost something else, and all of what comes
// back then is again what the issue took.
func TestShelf_ReturnAfterALateDelivery(t *testing.T) {
	b := newBench(materials.FirstIn)
	early := b.entry()
	b.receive(t, "2", 40_00)
	i := b.issue(t, "1.5")
	early.Cost = 5_00
	early, err := b.Receive("", early, materials.Packed{Quantity: litres("0.5")})
	b.do(t, early, err)
	if now := b.noted[i.ID]; now.Total() != -25_00 {
		t.Fatalf("the issue cost %d", now.Total())
	}
	if p := b.giveBack(t, i.ID, "1"); p.Total() != 20_00 { // the later lot's, which was taken last
		t.Errorf("a litre came back at %d", p.Total())
	}
	if p := b.takeBack(t, i.ID); p.Quantity.String() != "0.5" || b.Value != 45_00 {
		t.Errorf("%v at %d was taken back, %d is there", p.Quantity, p.Total(), b.Value)
	}
}

// Amounts that a command reads of a shelf without its history are those with it.
func TestShelf_Remember(t *testing.T) {
	for _, m := range methods {
		b := newBench(m)
		b.receive(t, "1", 3_33)
		b.receive(t, "1", 6_66)
		i := b.issue(t, "2")
		b.giveBack(t, i.ID, "0.3")
		e, err := b.Return(b.asItIs(i.ID), b.entry(), litres("1.2"))
		if err != nil {
			t.Fatal(err)
		}
		short, long := b.shelf(e), b.shelf(e)
		long.Recall([]materials.Posted{b.noted[b.written[0]], b.noted[b.written[1]], b.noted[i.ID], b.noted[b.written[3]]}, b.all())
		for _, s := range []*materials.Shelf{short, long} {
			if err := s.Post(e); err != nil {
				t.Fatal(err)
			}
		}
		if diff := cmp.Diff(long.Posted, short.Posted, exact); diff != "" || long.Recosted != nil {
			t.Errorf("%s: (-with its history +without):\n%s", m, diff)
		}
		if diff := cmp.Diff(long.Lots(), short.Lots(), exact); diff != "" {
			t.Errorf("%s: lots (-with its history +without):\n%s", m, diff)
		}
	}
}

// Only what changed is written.
func TestShelf_Changed(t *testing.T) {
	b := newBench(materials.FirstIn)
	first, second := b.receive(t, "1", 1_00), b.receive(t, "1", money.Amount(2_00))
	e, err := b.Issue(b.entry(), litres("0.5"))
	if err != nil {
		t.Fatal(err)
	}
	s := b.shelf(e)
	if err := s.Post(e); err != nil {
		t.Fatal(err)
	}
	if changed := s.Changed(); len(changed) != 1 || changed[0].ID != first.ID || len(s.Lots()) != 2 {
		t.Errorf("changed %+v", changed)
	}
	e, err = second.Close(b.entry())
	if err != nil {
		t.Fatal(err)
	}
	s = b.shelf(e)
	if err := s.Post(e); err != nil || len(s.Changed()) != 1 || s.Changed()[0].ID != second.ID {
		t.Errorf("changed %+v, %v", s.Changed(), err)
	}
	if _, err := s.Lot(id.New()); !fault.Is(err, "LOT_NOT_FOUND") {
		t.Errorf("no such lot: %v", err)
	}
}
