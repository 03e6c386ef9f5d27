package intake_test

import (
	"testing"
	"time"

	"tackfree/pkg/fault"
	"tackfree/services/intake/internal/intake"
)

// One that was not invoiced is closed only for a reason; the invoice stays as it was agreed.
func TestCommission_End(t *testing.T) {
	c := every(t, house())[intake.Approved]
	w := writing()
	w.Reason = ""
	if err := c.End(false, w); !fault.Is(err, "CLOSED_WITHOUT_REASON") || c.State != intake.Approved {
		t.Errorf("End for no reason = %v, then %s", err, c.State)
	}
	w.Reason, w.Actor = "paid in kind", "Rosa"
	if err := c.End(false, w); err != nil || *c.Finish != (intake.Finish{Reason: "paid in kind", At: w.At, Actor: "Rosa"}) {
		t.Errorf("End = %v, %+v", err, c.Finish)
	}
	if price, tax, is := c.Invoice(); !is || price+tax != 854_67 {
		t.Errorf("the invoice of a finished one is %d and %d, %t", price, tax, is)
	}
}

// Only what was finished by an invoice, and whose invoice was undone, is taken up again; the command after that makes
// its next version.
func TestCommission_Reopen(t *testing.T) {
	for state, was := range every(t, house()) {
		c := was
		if state == intake.Finished {
			c.Finish = &intake.Finish{Reason: "paid in kind"}
			was = c
		}
		c.Reopen(true)
		if c.State != was.State || c.Finish != was.Finish {
			t.Errorf("%s, not by an invoice, reopened is %s", state, c.State)
		}
	}
	c := every(t, house())[intake.Approved]
	if err := c.End(true, writing()); err != nil {
		t.Fatal(err)
	}
	before := c.Version
	if c.Reopen(false); !c.WasInvoiced() {
		t.Errorf("with its invoice it is %s", c.State)
	}
	if c.Reopen(true); c.State != intake.Approved || c.Finish != nil || c.Version != before || c.WasInvoiced() {
		t.Errorf("Reopen = %s, %+v, version %d", c.State, c.Finish, c.Version)
	}
}

// Fifty versions and a hundred change orders are kept, and one more of either says what to do.
func TestCommission_NoMoreThanAreKept(t *testing.T) {
	c := begun(t, table(), house())
	for range 49 {
		if err := c.Revise(table(), intake.Client{}, house(), writing()); err != nil {
			t.Fatal(err)
		}
	}
	if err := c.Revise(table(), intake.Client{}, house(), writing()); !fault.Is(err, "TOO_MANY_VERSIONS") || len(c.Estimates) != 50 {
		t.Errorf("version 51 = %v, of %d", err, len(c.Estimates))
	}
	c = every(t, house())[intake.Approved]
	order := func() error {
		return c.AddChangeOrder([]intake.EstimateLine{fixed(1_00, false)}, time.Time{}, house(), writing())
	}
	for range 100 {
		if err := order(); err != nil {
			t.Fatal(err)
		}
	}
	if err := order(); !fault.Is(err, "TOO_MANY_CHANGE_ORDERS") || len(c.ChangeOrders) != 100 {
		t.Errorf("change order 101 = %v, of %d", err, len(c.ChangeOrders))
	}
}

// What would be owed is what is owed when it is cancelled, and looking at it changes nothing.
func TestCommission_Settle(t *testing.T) {
	c := every(t, house())[intake.Approved]
	before := c.Version
	done := intake.Done{Minutes: 250, Material: 30_00}
	would, err := c.Settle(done, 100_00, house(), writing())
	if err != nil || c.Version != before || c.Settlement != nil || would.Owed == 0 {
		t.Fatalf("Settle = %+v, %v; the commission is %+v", would, err, c)
	}
	if err := c.Cancel(done, 100_00, house(), writing()); err != nil || c.Settlement.Owed != would.Owed || c.Settlement.ToPay() != would.ToPay() {
		t.Errorf("Cancel = %v, owed %d, not %d", err, c.Settlement.Owed, would.Owed)
	}
}

func TestLetterhead_Say(t *testing.T) {
	was := intake.Letterhead{Version: 3}
	for reason, to := range map[string]intake.Letterhead{"LETTERHEAD_WITHOUT_NAME": {Paper: intake.A4}, "LETTERHEAD_WITHOUT_PAPER": {Name: "Reedmere"}, "": {Name: "Reedmere", Paper: intake.Letter}} {
		got, err := was.Say(to)
		if fault.Reason(err) != reason || (err == nil) != (got.Version == 4 && got.Name == "Reedmere") {
			t.Errorf("Say(%+v) = %+v, %v; want %q", to, got, err, reason)
		}
	}
}

// People search by what they remember: a part of the name, the street, the telephone, or the number.
func TestClient_Holds(t *testing.T) {
	c := intake.Client{Number: 12, Details: intake.ClientDetails{Name: "Ana  Núñez", Phone: "555 0101", Email: "ana@example.org", Address: []string{"4 Mill Lane", "Barton"}}}
	for search, want := range map[string]bool{"NÚÑ": true, "nunez": true, "ana nu": true, "mill": true, "0101": true, "12": true, "ANA@": true, "barton": true, "2": false, "%": false, "bo": false} {
		if got := c.Holds(intake.Folded(search)); got != want {
			t.Errorf("search for %q = %t, want %t", search, got, want)
		}
	}
}
