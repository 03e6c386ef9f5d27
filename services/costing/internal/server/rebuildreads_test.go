package server_test

import (
	"fmt"
	"sync"
	"testing"
	"time"

	costingv1 "tackfree/proto/tackfree/costing/v1"
)

// Who reads while a rebuild puts other books in place sees all of the old ones or all of the new
// ones: the sums of the sheets and the balances of the ledger, which are in different tables, always
// belong together.
func TestServer_RebuildNeverShowsAMixture(t *testing.T) {
	t.Parallel()
	o := setup(t)
	o.setRate(t, 2_000, dayOf(3, 1))
	for n := range 40 {
		o.worked(o.takenIn(int32(n+1), 1_000), monday.Add(time.Duration(n)*time.Hour))
	}
	o.clean(t) // which catches up
	right := o.shopAt(t)
	for range 3 {
		o.exec(t, `SET search_path = costing; BEGIN; UPDATE posting SET amount = 3 * amount; UPDATE piece SET acquisition = 3 * acquisition, labour = 3 * labour; COMMIT`)
		wrong := o.shopAt(t)
		if wrong == right {
			t.Fatal("the harm does not show")
		}
		done := make(chan struct{})
		var readers sync.WaitGroup
		for range 4 {
			readers.Go(func() {
				for old := true; ; {
					switch got := o.shopAt(t); {
					case got == right:
						old = false
					case got != wrong || !old:
						t.Errorf("in the middle somebody reads %s, neither %s nor, from then on, %s", got, wrong, right)
						return
					}
					select {
					case <-done:
						return
					default:
					}
				}
			})
		}
		if _, err := o.books.Rebuild(t.Context(), &costingv1.RebuildRequest{}); err != nil {
			t.Fatal(err)
		}
		close(done)
		readers.Wait()
		if got := o.shopAt(t); got != right {
			t.Errorf("after the rebuild: %s, want %s", got, right)
		}
		o.clean(t)
	}
}

// shopAt reads the sums of all sheets and the balances of the ledger.
func (o *office) shopAt(t *testing.T) string {
	t.Helper()
	r, err := o.costing.GetShopCost(t.Context(), &costingv1.GetShopCostRequest{})
	if err != nil {
		t.Error(err)
		return ""
	}
	text := fmt.Sprintf("sheets %d and %d; ledger", cents(r.Total.Acquisition), cents(r.Total.Labour))
	for _, a := range r.Accounts {
		text += fmt.Sprintf(" %s %d", a.Account, cents(a.Balance))
	}
	return text
}

// A rebuild touches nothing of books that are right: those who watch a sheet are not made to look
// again.
func TestServer_RebuildOfRightBooksTouchesNothing(t *testing.T) {
	t.Parallel()
	o := setup(t)
	o.setRate(t, 2_000, dayOf(3, 1))
	piece := o.takenIn(7, 1_000)
	o.worked(piece, monday)
	o.clean(t) // which catches up
	before := o.cost(t, piece, func(*costingv1.PieceCost) bool { return true })
	r, err := o.books.Rebuild(t.Context(), &costingv1.RebuildRequest{})
	if err != nil || r.DifferenceCount != 0 || r.Events != 2 || r.LedgerLines != 6 {
		t.Errorf("Rebuild = %v, %v, want 2 events and 6 lines (a purchase, work before there was a rate, and its rate) without a difference", r, err)
	}
	after := o.cost(t, piece, func(*costingv1.PieceCost) bool { return true })
	if after.Revision != before.Revision {
		t.Errorf("the sheet's revision is %d, and was %d", after.Revision, before.Revision)
	}
}
