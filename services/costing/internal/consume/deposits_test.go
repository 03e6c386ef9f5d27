package consume_test

import (
	"testing"

	"tackfree/pkg/id"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	"tackfree/services/costing/internal/costing"
)

// What is owed of a deposit is what was given less what became of it, and never below zero; a kept one is income of the shop and of no
// piece, and none is revenue before the sale.
func TestHandler_Deposits(t *testing.T) {
	db, piece := books(t), id.New()
	steps := []struct {
		e                  *eventsv1.Envelope
		owed, kept, earned int64
	}{
		{deposited(5_000), 5_000, 0, 0},
		{depositSettled(2_000, eventsv1.DepositSettled_HOW_KEPT), 3_000, 2_000, 0},
		{depositSettled(500, eventsv1.DepositSettled_HOW_RETURNED), 2_500, 2_000, 0},
		{paidBefore(2_500), 0, 2_000, 20_000},
	}
	if err := apply(t, db, event("intake", piece, 1, piece, takenIn(0))); err != nil {
		t.Fatal(err)
	}
	for i, s := range steps {
		if err := apply(t, db, event("sales", piece, int64(i+1), piece, s.e)); err != nil {
			t.Fatal(err)
		}
		if owed, kept := -balance(t, db, "client_deposits"), -balance(t, db, "deposits_kept"); owed != s.owed || kept != s.kept || int64(sheet(t, db, piece).Revenue) != s.earned {
			t.Errorf("after %v: owed %d, kept %d, earned %d; want %d, %d, %d", s.e.Payload, owed, kept, sheet(t, db, piece).Revenue, s.owed, s.kept, s.earned)
		}
	}
	// 50.00 came and 5.00 went; with the sale 200.00 + 20.00 tax - 10.00 fee, less the 25.00 that were given before.
	if got := balance(t, db, costing.CashClearing); got != 5_000-500+20_000+2_000-1_000-2_500 {
		t.Errorf("cash = %d", got)
	}
	if s := sheet(t, db, piece); s.Revenue != 20_000 || s.Tax != 2_000 || s.Fees != 1_000 || s.Sales != costing.Sold {
		t.Errorf("sheet = %+v", s)
	}
}
