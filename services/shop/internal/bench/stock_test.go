package bench

import "testing"

// That it ends at all shows that the service and pgbench keep the same books, that the last can
// gives what it holds and no more, and that each crossing is told.
func TestRunStock_Short(t *testing.T) {
	r, err := runStock(t.Context(), short(t), stockSizes{callers: 4, products: 20, pieces: 50, fills: 40, alerted: 20, advised: 40, lateLots: 4})
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("%+v", r)
	if r.RPCPerS <= 0 || r.PgbenchPerS <= 0 || r.OnePerS <= 0 || r.Crossings == 0 || r.AlertP99ms < r.AlertP50ms {
		t.Errorf("the speed comes to %+v", r)
	}
	if r.LastFills != 40 || r.Refused != 20 {
		t.Errorf("of 60 who wanted some of the last can %d got it and %d did not, want 40 and 20", r.LastFills, r.Refused)
	}
	// All products are advised on, and all issues after the first lot drew from another one.
	if r.Advised != 40+20+3 || r.Entries != 40*116 || r.History != 121 || r.Recosted != 3*29 {
		t.Errorf("%d products with %d entries are advised on, %d of %d entries cost something else", r.Advised, r.Entries, r.Recosted, r.History)
	}
}
