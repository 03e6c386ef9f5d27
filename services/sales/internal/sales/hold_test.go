package sales_test

import (
	"testing"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/services/sales/internal/sales"
)

var midday = time.Date(2026, 3, 2, 12, 0, 0, 0, time.UTC)

// heldUntil is a listed piece that is kept for Ana until an hour after midday, at 240.00.
func heldUntil(t *testing.T) (sales.Piece, sales.Listing) {
	t.Helper()
	p := sales.Piece{ID: id.New(), Tag: 12, TakenInAt: midday.AddDate(0, -1, 0)}
	l := sales.New(p)
	if err := l.List(p, midday, func(s string) string { return s }, "fair", 300_00); err != nil {
		t.Fatal(err)
	}
	if err := l.Keep(p, sales.Hold{ID: id.New(), Buyer: "Ana", Price: 240_00, HeldAt: midday, Until: midday.Add(time.Hour)}); err != nil {
		t.Fatal(err)
	}
	return p, l
}

// An offer holds up to the moment that was said, and not at it; one of which nobody said a time does not lapse.
func TestOffer_At(t *testing.T) {
	for _, c := range []struct {
		state sales.OfferState
		until time.Time
		want  sales.OfferState
	}{
		{sales.OfferOpen, midday.Add(time.Millisecond), sales.OfferOpen}, {sales.OfferOpen, midday, sales.OfferLapsed}, {sales.OfferCountered, midday.Add(-time.Hour), sales.OfferLapsed},
		{sales.OfferCountered, time.Time{}, sales.OfferCountered}, {sales.OfferDeclined, midday.Add(-time.Hour), sales.OfferDeclined},
	} {
		if got := (sales.Offer{State: c.state, Until: c.until}).At(midday); got != c.want {
			t.Errorf("%s until %v is %s, want %s", c.state, c.until, got, c.want)
		}
	}
}

// A hold lasts a year at most, and longer than now; each end is checked to the millisecond.
func TestListing_Keep_Until(t *testing.T) {
	for _, c := range []struct {
		after time.Duration
		want  string
	}{{0, "HOLD_UNTIL_PAST"}, {time.Millisecond, ""}, {366 * 24 * time.Hour, ""}, {366*24*time.Hour + time.Millisecond, "HOLD_TOO_LONG"}} {
		p, l := heldUntil(t)
		l.Hold = sales.Hold{}
		err := l.Keep(p, sales.Hold{ID: id.New(), Buyer: "Bert", HeldAt: midday, Until: midday.Add(c.after)})
		if c.want == "" && err != nil || c.want != "" && !fault.Is(err, c.want) {
			t.Errorf("held for %v: %v, want %q", c.after, err, c.want)
		}
	}
}

// What was given goes into the sale whole, up to price and tax to the cent; a cent more is refused.
func TestSale_UseDeposits(t *testing.T) {
	given := func(parts ...money.Amount) (all []sales.Deposit) {
		for _, amount := range parts {
			all = append(all, sales.Deposit{ID: id.New(), State: sales.DepositHeld, Amount: amount})
		}
		return all
	}
	s := sales.Sale{Amounts: sales.Amounts{Price: 100_00, Tax: 8_25}}
	held := given(100_00, 8_25)
	held = append(held, sales.Deposit{Amount: 5_00, Returned: 5_00, State: sales.DepositReturned})
	used, err := s.UseDeposits(held)
	if err != nil || s.Deposit != 108_25 || len(used) != 2 || used[0].State != sales.DepositUsed || used[0].Left() != 0 || s.AtOnce() != 0 {
		t.Errorf("UseDeposits = %+v, %v, sale %+v", used, err, s)
	}
	if held[0].Used != 0 {
		t.Error("it changed what it was given")
	}
	s = sales.Sale{Amounts: sales.Amounts{Price: 100_00, Tax: 8_25}}
	if _, err := s.UseDeposits(given(100_00, 8_26)); !fault.Is(err, "DEPOSIT_ABOVE_PRICE") || s.Deposit != 0 {
		t.Errorf("a cent more: %v, sale %+v", err, s)
	}
}

// Whoever is not the holder does not get the piece, in whatever case their name is written; the holder does, and is the buyer.
func TestListing_Sell_Held(t *testing.T) {
	for name, c := range map[string]struct {
		named  bool
		buyer  string
		reason string
	}{
		"Nobody": {false, "", "PIECE_HELD"}, "Another": {true, "Bert", "HOLD_FOR_ANOTHER"}, "Holder": {true, "", ""}, "HolderByName": {true, "ana", ""}, "HolderWithoutHold": {false, "Ana", "PIECE_HELD"},
	} {
		t.Run(name, func(t *testing.T) {
			p, l := heldUntil(t)
			s := sales.Sale{ID: id.New(), Buyer: c.buyer, SoldAt: midday, Amounts: sales.Amounts{Price: 240_00}}
			if c.named {
				s.Hold = l.Hold.ID
			}
			got, err := l.Sell(p, s)
			switch {
			case c.reason == "" && (err != nil || got.Buyer != "Ana" || l.IsHeld() || l.State != sales.Sold):
				t.Errorf("Sell = %+v, %v", got, err)
			case c.reason != "" && (!fault.Is(err, c.reason) || !l.IsHeld()):
				t.Errorf("Sell = %v, want %s", err, c.reason)
			}
		})
	}
}
