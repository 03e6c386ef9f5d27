package sales_test

import (
	"slices"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/services/sales/internal/sales"
)

func sold(t *testing.T, a sales.Amounts) (sales.Listing, id.ID) {
	t.Helper()
	l, s := sales.New(piece), sales.Sale{ID: id.New(), Amounts: a}
	_, err := l.Sell(piece, s)
	must(t, err)
	return l, s.ID
}

func TestListing_Refund(t *testing.T) {
	l, sale := sold(t, sales.Amounts{Price: 24000, Tax: 1920, Fee: 2400})
	got, err := l.Refund(sales.Refund{Sale: sale, Amounts: sales.Amounts{Price: 4000, Tax: 320}}, usd)
	must(t, err)
	if got.Refunded != (sales.Amounts{Price: 4000, Tax: 320}) || got.PieceReturned || l.State != sales.Sold {
		t.Errorf("after a refund of a part: %+v, listing %s", got, l.State)
	}
	got, err = l.Refund(sales.Refund{Sale: sale, Amounts: sales.Amounts{Price: 20000, Tax: 1600, Fee: 2400}, PieceReturned: true}, usd)
	must(t, err)
	if got.Left() != (sales.Amounts{}) || !got.PieceReturned || l.State != sales.NotListed || l.Channel != "" || l.AskingPrice != 0 {
		t.Errorf("after a refund of the rest: %+v, listing %+v", got, l)
	}
	if diff := cmp.Diff(got, l.Sales[0]); diff != "" {
		t.Errorf("the sale returned and the one kept differ:\n%s", diff)
	}
}

// A shop that takes a piece back may keep a part of the money, or all of it.
func TestListing_Refund_PieceAlone(t *testing.T) {
	l, sale := sold(t, sales.Amounts{Price: 24000})
	got, err := l.Refund(sales.Refund{Sale: sale, PieceReturned: true}, usd)
	if err != nil || got.Refunded != (sales.Amounts{}) || l.State != sales.NotListed {
		t.Errorf("Refund of the piece alone = %+v, %v, listing %s", got, err, l.State)
	}
}

// The piece comes back first and the rest of the money later, when the piece is already
// on sale again: it is still that sale's money, and nothing else changes.
func TestListing_Refund_TheRestAfterThePiece(t *testing.T) {
	whole := sales.Amounts{Price: 24000, Tax: 1920, Fee: 2400}
	l, sale := sold(t, whole)
	_, err := l.Refund(sales.Refund{Sale: sale, Amounts: sales.Amounts{Price: 4000, Tax: 320}, PieceReturned: true}, usd)
	must(t, err)
	must(t, list(&l))
	before := l
	got, err := l.Refund(sales.Refund{Sale: sale, Amounts: sales.Amounts{Price: 20000, Tax: 1600, Fee: 2400}}, usd)
	must(t, err)
	if got.Refunded != whole || got.Left() != (sales.Amounts{}) || !got.PieceReturned {
		t.Errorf("after the rest went back: %+v", got)
	}
	if l.State != sales.Listed || l.Channel != before.Channel || l.AskingPrice != before.AskingPrice {
		t.Errorf("listing = %+v, want it as it was", l)
	}
	check(t, l, giveBack(false), "REFUND_ABOVE_SALE")
}

func TestListing_Refund_Refuses(t *testing.T) {
	whole := sales.Amounts{Price: 24000, Tax: 1920, Fee: 2400}
	cases := map[string]struct {
		back   sales.Amounts
		kind   fault.Kind
		reason string
		field  string
		left   string
	}{
		"AbovePrice": {sales.Amounts{Price: 20001}, fault.Precondition, "REFUND_ABOVE_SALE", "price", "200.00"},
		"AboveTax":   {sales.Amounts{Tax: 1601}, fault.Precondition, "REFUND_ABOVE_SALE", "tax", "16.00"},
		"AboveFee":   {sales.Amounts{Price: 1, Fee: 2401}, fault.Precondition, "REFUND_ABOVE_SALE", "fee", "24.00"},
		"Nothing":    {sales.Amounts{}, fault.Invalid, "REFUND_OF_NOTHING", "price", ""},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			l, sale := sold(t, whole)
			_, err := l.Refund(sales.Refund{Sale: sale, Amounts: sales.Amounts{Price: 4000, Tax: 320}}, usd)
			must(t, err)
			check(t, l, func(l *sales.Listing) error {
				_, err = l.Refund(sales.Refund{Sale: sale, Amounts: c.back}, usd)
				return err
			}, c.reason)
			if f := fault.Of(err); f == nil || f.Kind != c.kind || f.Fields[0].Path != c.field || f.Meta["left"] != c.left {
				t.Errorf("Refund = %+v, want %v at %s with %q left", f, c.kind, c.field, c.left)
			}
		})
	}
}

func TestListing_Refund_BeforeItsSale(t *testing.T) {
	at := time.Date(2026, 3, 2, 14, 5, 40, 0, time.UTC)
	l, s := sales.New(piece), sales.Sale{ID: id.New(), Amounts: sales.Amounts{Price: 24000}, SoldAt: at}
	_, err := l.Sell(piece, s)
	must(t, err)
	refund := func(when time.Time) func(*sales.Listing) error {
		return func(l *sales.Listing) error {
			_, err := l.Refund(sales.Refund{Sale: s.ID, Amounts: sales.Amounts{Price: 100}, RefundedAt: when}, usd)
			return err
		}
	}
	check(t, l, refund(at.Add(-time.Minute)), "REFUND_BEFORE_SALE")
	check(t, l, refund(at.Add(-40*time.Second)), "sold") // 14:05, as a person writes it
}

func amounts(most money.Amount) *rapid.Generator[sales.Amounts] {
	return rapid.Custom(func(t *rapid.T) sales.Amounts {
		draw := func(name string) money.Amount { return money.Amount(rapid.Int64Range(0, int64(most)).Draw(t, name)) }
		return sales.Amounts{Price: draw("price"), Tax: draw("tax"), Fee: draw("fee")}
	})
}

func plus(a, b sales.Amounts) sales.Amounts {
	return sales.Amounts{Price: a.Price + b.Price, Tax: a.Tax + b.Tax, Fee: a.Fee + b.Fee}
}

func within(a, b sales.Amounts) bool { return a.Price <= b.Price && a.Tax <= b.Tax && a.Fee <= b.Fee }

// However refunds come: what went back is the sum of those taken, never above the sale,
// and with what is left it is the sale; a refund is taken just when it gives back
// something, as much is left, and the piece does not come back a second time.
func TestListing_Refund_Laws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		whole := amounts(100).Draw(t, "sale")
		whole.Price = max(whole.Price, whole.Tax, whole.Fee, 1)
		l, s := sales.New(piece), sales.Sale{ID: id.New(), Amounts: whole}
		if _, err := l.Sell(piece, s); err != nil {
			t.Fatal(err)
		}
		var back sales.Amounts
		out := true
		for n := range rapid.IntRange(1, 8).Draw(t, "refunds") {
			r := sales.Refund{Sale: s.ID, Amounts: amounts(60).Draw(t, "refund"), PieceReturned: rapid.IntRange(0, 5).Draw(t, "returned") == 0}
			may := (out || !r.PieceReturned) && within(plus(back, r.Amounts), whole) && (r.Amounts != sales.Amounts{} || r.PieceReturned)
			_, err := l.Refund(r, usd)
			if (err == nil) != may {
				t.Fatalf("refund %d of %+v after %+v of %+v = %v, want taken: %t", n, r, back, whole, err, may)
			}
			if err == nil {
				back, out = plus(back, r.Amounts), out && !r.PieceReturned
			}
			kept := l.Sales[0]
			if kept.Refunded != back || !within(back, whole) || plus(kept.Refunded, kept.Left()) != whole || kept.PieceReturned == out {
				t.Fatalf("after refund %d the sale is %+v; %+v went back of %+v", n, kept, back, whole)
			}
		}
	})
}

// However commands come: a version counts each that was taken, a sale is open just when
// the piece is sold, only the newest can be, a piece that came back stays so, and what is
// not listed has no channel.
func TestListing_Laws(t *testing.T) {
	commands := []func(*sales.Listing) error{list, change, sell, giveBack(false), giveBack(true), giveBackLast(false), giveBackLast(true)}
	rapid.Check(t, func(t *rapid.T) {
		l := sales.New(piece)
		for range rapid.IntRange(1, 30).Draw(t, "commands") {
			version, before := l.Version, slices.Clone(l.Sales)
			if err := rapid.SampledFrom(commands).Draw(t, "command")(&l); err == nil {
				version++
			}
			for n, s := range before {
				if s.PieceReturned && !l.Sales[n].PieceReturned {
					t.Fatalf("the piece of sale %d is out again", n+1)
				}
			}
			open := slices.IndexFunc(l.Sales, func(s sales.Sale) bool { return !s.PieceReturned })
			switch {
			case l.Version != version:
				t.Fatalf("version %d, want %d", l.Version, version)
			case (open >= 0) != (l.State == sales.Sold) || (open >= 0 && open != len(l.Sales)-1):
				t.Fatalf("%s with sale %d of %d open", l.State, open+1, len(l.Sales))
			case (l.Channel == "") != (l.AskingPrice == 0) || (l.State == sales.NotListed && l.Channel != "") || (l.State == sales.Listed && l.Channel == ""):
				t.Fatalf("%s on %q at %d", l.State, l.Channel, l.AskingPrice)
			}
		}
	})
}
