package consume_test

import (
	"strings"
	"testing"

	"tackfree/pkg/id"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	"tackfree/services/costing/internal/costing"
)

// undone tells that an entry was a slip, and by how much that makes the stock worth more.
func undone(purpose string, more int64, stage string) *eventsv1.Envelope {
	return &eventsv1.Envelope{Payload: &eventsv1.Envelope_StockEntryUndone{StockEntryUndone: &eventsv1.StockEntryUndone{
		EntryId: id.New().String(), Purpose: purpose, ValueChange: usdOf(more), StageId: stage, StageKind: "paint_coat", Pass: 1}}}
}

// Whatever was a slip leaves every account as if it had never been, also of a piece that was sold
// meanwhile.
func TestHandler_Slips(t *testing.T) {
	db, piece, product, stage := books(t), id.New(), id.New(), id.New().String()
	err := apply(t, db,
		event("intake", piece, 1, piece, takenIn(4_550)),
		event("materials", product, 1, id.Nil, received(10_000)),
		event("materials", product, 2, id.Nil, lotCorrected(10_000, 9_000)),
		event("materials", product, 3, id.Nil, expired(700)),
		event("materials", product, 4, id.Nil, counted(-300)),
		event("materials", piece, 1, piece, issued(2_000, 1)),
		event("materials", piece, 2, piece, hosed(150, 1)),
		event("materials", piece, 3, piece, unused(400, 1)),
		event("sales", piece, 1, piece, sold(30_000)),
		event("materials", piece, 4, piece, undone("return", -400, stage)),
		event("materials", piece, 5, piece, undone("waste", 150, stage)),
		event("materials", product, 5, id.Nil, undone("count", 300, "")),
		event("materials", product, 6, id.Nil, undone("waste", 700, "")),
		event("materials", product, 7, id.Nil, undone("opening", 0, "")),
		event("materials", product, 8, id.Nil, undone("correction", 1_000, "")))
	if err != nil {
		t.Fatal(err)
	}
	for account, want := range map[costing.Account]int64{"materials_on_hand": 10_000 - 2_000, "overhead_actual": 0, "inventory_adjustments": 0,
		"cost_of_goods_sold": 4_550 + 2_000} {
		if got := balance(t, db, account); got != want {
			t.Errorf("%s = %d, want %d", account, got, want)
		}
	}
	if err := apply(t, db, event("materials", product, 9, id.Nil, undone("delivery", -8_000, ""))); err != nil {
		t.Fatal(err)
	}
	if got := balance(t, db, "materials_on_hand"); got != 0 {
		t.Errorf("materials on hand = %d after the delivery was a slip too", got)
	}
	if err := apply(t, db, event("materials", product, 10, id.Nil, undone("gift", 1, ""))); err == nil || !strings.Contains(err.Error(), `unknown purpose, "gift"`) {
		t.Errorf("Apply = %v, want it refused", err)
	}
}
