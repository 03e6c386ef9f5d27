package consume_test

import (
	"strings"
	"testing"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/id"
	"tackfree/pkg/inbox"
	"tackfree/pkg/pg"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	"tackfree/services/costing/internal/costing"
)

// accounts compares the balances of some accounts.
func accounts(t testing.TB, db *pg.DB, want map[costing.Account]int64) {
	t.Helper()
	for account, amount := range want {
		if got := balance(t, db, account); got != amount {
			t.Errorf("%s = %d, want %d", account, got, amount)
		}
	}
}

// A drum of lacquer, from the delivery to the last drop: what a piece got is its cost, less what
// came back; what expired is overhead, what a count missed an adjustment, and the rest is on hand.
func TestHandler_Stock(t *testing.T) {
	db, piece, lacquer := books(t), id.New(), id.New()
	err := apply(t, db,
		event("materials", lacquer, 1, id.Nil, received(20_000)),
		event("materials", lacquer, 2, piece, issued(4_000, 1)),
		event("materials", lacquer, 3, piece, unused(1_500, 1)),
		event("materials", lacquer, 4, piece, hosed(300, 1)),
		event("materials", lacquer, 5, piece, issued(800, 2)),
		event("materials", lacquer, 6, piece, hosed(100, 2)),
		event("materials", lacquer, 7, piece, unused(250, 2)),
		event("materials", lacquer, 8, id.Nil, expired(600)),
		event("materials", lacquer, 9, id.Nil, counted(-70)),
		event("materials", lacquer, 10, id.Nil, counted(20)),
		event("materials", lacquer, 11, id.Nil, lotCorrected(20_000, 19_200)))
	if err != nil {
		t.Fatal(err)
	}
	const material, rework = 4_000 - 1_500 + 300, 800 + 100 - 250
	if got := sheet(t, db, piece); got.Material != material || got.Rework != rework || got.Cost() != material+rework {
		t.Errorf("sheet = %+v, want %d of material and %d of rework", got, material, rework)
	}
	accounts(t, db, map[costing.Account]int64{"cash_clearing": -19_200, costing.WorkInProcess: material, costing.Again: rework, "overhead_actual": 600,
		"inventory_adjustments": 50, "materials_on_hand": 19_200 - material - rework - 600 - 50})
	if n := count(t, db, "piece"); n != 1 {
		t.Errorf("%d pieces have a sheet, want the one", n)
	}
}

// A delivery is written down late, and what went out since costs something else: the sold piece's
// part of it goes to the cost of goods sold, and what was mixed moves nothing.
func TestHandler_Recosted(t *testing.T) {
	db, piece, lacquer := books(t), id.New(), id.New()
	out, rework, back, old, missing, tint := id.New(), id.New(), id.New(), id.New(), id.New(), id.New()
	err := apply(t, db,
		event("materials", lacquer, 1, piece, issued(4_000, 1)),
		event("materials", lacquer, 2, piece, unused(1_500, 1)),
		event("materials", lacquer, 3, piece, issued(800, 2)),
		event("materials", lacquer, 4, id.Nil, expired(600)),
		event("materials", lacquer, 5, id.Nil, counted(-70)),
		event("sales", piece, 1, piece, sold(30_000)),
		event("materials", lacquer, 6, piece, recosted(
			ofPiece(out, 1, 4_000, 4_400), ofPiece(back, 1, -1_500, -1_650), ofPiece(rework, 2, 800, 720))),
		event("materials", lacquer, 7, id.Nil, stockRecosted(
			ofShop(old, "waste", 600, 660), ofShop(missing, "count", 70, -10), ofShop(tint, "mixing", 500, 550))))
	if err != nil {
		t.Fatal(err)
	}
	const material = 4_400 - 1_650
	if got := sheet(t, db, piece); got.Material != material || got.Rework != 720 || got.Cost() != material+720 {
		t.Errorf("sheet = %+v, want %d of material and 720 of rework", got, material)
	}
	accounts(t, db, map[costing.Account]int64{"cost_of_goods_sold": material + 720, costing.WorkInProcess: 0, "overhead_actual": 660,
		"inventory_adjustments": -10, "materials_on_hand": -material - 720 - 660 + 10})
}

// What turns out to cost something else costs it from when it happened, and what was a slip counts no
// more from when it was to have happened, whenever that is told: a bill in April changes the books of
// the days in March, and of no day before.
func TestHandler_StockCountsFromWhenItHappened(t *testing.T) {
	db, piece, lacquer := books(t), id.New(), id.New()
	day := func(n int) time.Time { return monday.AddDate(0, 0, n) }
	on := func(n int, e inbox.Event) inbox.Event {
		e.OccurredAt = timestamppb.New(day(n))
		return e
	}
	issue, unusedOfIt := id.New(), id.New()
	out, back, old, missing := ofPiece(issue, 1, 500, 600), ofPiece(unusedOfIt, 1, -100, -120), ofShop(id.New(), "waste", 200, 240), ofShop(id.New(), "count", 100, 120)
	out.OccurredAt, back.OccurredAt, old.OccurredAt, missing.OccurredAt = timestamppb.New(day(10)), timestamppb.New(day(11)), timestamppb.New(day(12)), timestamppb.New(day(13))
	mustApply(t, db,
		on(0, event("materials", lacquer, 1, id.Nil, received(3_000))),
		on(10, event("materials", piece, 1, piece, issued(500, 1))), on(11, event("materials", piece, 2, piece, unused(100, 1))),
		on(12, event("materials", lacquer, 2, id.Nil, expired(200))), on(13, event("materials", lacquer, 3, id.Nil, counted(-100))),
		on(0, event("materials", lacquer, 4, id.Nil, lotCorrected(3_000, 3_600))),
		on(0, event("materials", piece, 3, piece, recosted(out, back))), on(0, event("materials", lacquer, 5, id.Nil, stockRecosted(old, missing))))
	want := []map[costing.Account]int64{9: {"materials_on_hand": 3_600, costing.WorkInProcess: 0}, 10: {"materials_on_hand": 3_000, costing.WorkInProcess: 600},
		11: {"materials_on_hand": 3_120, costing.WorkInProcess: 480, "overhead_actual": 0}, 12: {"materials_on_hand": 2_880, "overhead_actual": 240, "inventory_adjustments": 0},
		13: {"materials_on_hand": 2_760, "inventory_adjustments": 120}, 40: {"materials_on_hand": 2_760}}
	balances(t, db, want)
	slip := takenBack(480, 1)
	slip.GetMaterialTakenBack().IssueId = issue.String()
	slip.GetMaterialTakenBack().Parts = []*eventsv1.StockEntryUndone_Part{slipOf(issue, day(10), 600), slipOf(unusedOfIt, day(11), -120)}
	mustApply(t, db, on(30, event("materials", piece, 4, piece, slip)),
		on(30, event("materials", lacquer, 6, id.Nil, undoneOf("waste", 240, slipOf(id.New(), day(12), 240)))),
		on(30, event("materials", lacquer, 7, id.Nil, undoneOf("count", 120, slipOf(id.New(), day(13), 120)))))
	balances(t, db, []map[costing.Account]int64{9: {"materials_on_hand": 3_600}, 10: {"materials_on_hand": 3_600, costing.WorkInProcess: 0}, 11: {"materials_on_hand": 3_600, costing.WorkInProcess: 0},
		12: {"materials_on_hand": 3_600, "overhead_actual": 0}, 13: {"materials_on_hand": 3_600, "inventory_adjustments": 0}, 40: {"materials_on_hand": 3_600}})
}

// balances compares the balances of some accounts at the end of some days.
func balances(t testing.TB, db *pg.DB, want []map[costing.Account]int64) {
	t.Helper()
	for day, accounts := range want {
		for account, amount := range accounts {
			if got := balanceAt(t, db, account, monday.AddDate(0, 0, day)); got != amount {
				t.Errorf("on day %d %s = %d, want %d", day, account, got, amount)
			}
		}
	}
}

func TestHandler_Stock_Refuses(t *testing.T) {
	piece, entry := id.New(), id.New()
	euros := counted(1)
	euros.GetStockCounted().CostDifference.CurrencyCode = "EUR"
	fractions := counted(1)
	fractions.GetStockCounted().CostDifference.Nanos = 1
	nameless := ofPiece(entry, 1, 1, 2)
	nameless.EntryId = ""
	for name, c := range map[string]struct {
		piece id.ID
		e     *eventsv1.Envelope
		want  string
	}{
		"ReturnOfNoPiece":    {id.Nil, unused(1, 1), "of no piece"},
		"ReturnBelowZero":    {piece, unused(-1, 1), "the cost of the material is not an amount"},
		"HoseOfNoPiece":      {id.Nil, hosed(1, 1), "of no piece"},
		"HoseBelowZero":      {piece, hosed(-1, 1), "the cost of the material is not an amount"},
		"WasteBelowZero":     {id.Nil, expired(-1), "the cost of the waste is not an amount"},
		"CountInEuros":       {id.Nil, euros, "the books are in USD"},
		"CountInFractions":   {id.Nil, fractions, "is not an amount"},
		"LotWasBelowZero":    {id.Nil, lotCorrected(-1, 1), "the old cost of the lot is not an amount"},
		"LotIsBelowZero":     {id.Nil, lotCorrected(1, -1), "the new cost of the lot is not an amount"},
		"RecostedOfNoPiece":  {id.Nil, recosted(ofPiece(entry, 1, 1, 2)), "of no piece"},
		"RecostedNothing":    {piece, recosted(nameless), "stock entry: invalid UUID"},
		"RecostedTwice":      {piece, recosted(ofPiece(entry, 1, 1, 2), ofPiece(entry, 1, 2, 3)), "names entry " + entry.String() + " twice"},
		"StockRecostedTwice": {id.Nil, stockRecosted(ofShop(entry, "count", 1, 2), ofShop(entry, "mixing", 2, 3)), "twice"},
		"UndoneIsOff":        {piece, undoneOf("return", -5, slipOf(entry, monday, -4)), "off by -1 minor units"},
		"UndoneTwice":        {piece, undoneOf("return", -2, slipOf(entry, monday, -1), slipOf(entry, monday, -1)), "names entry " + entry.String() + " twice"},
		"UnknownPurpose":     {id.Nil, stockRecosted(ofShop(entry, "gift", 1, 2)), `does not know: "gift"`},
	} {
		t.Run(name, func(t *testing.T) {
			db := books(t)
			before := event("materials", id.New(), 1, id.Nil, received(100))
			if err := apply(t, db, before, event("materials", id.New(), 1, c.piece, c.e)); err == nil || !strings.Contains(err.Error(), c.want) {
				t.Errorf("Apply = %v, want an error that says %q", err, c.want)
			}
			if n := count(t, db, "posting"); n != 0 {
				t.Errorf("%d ledger lines after a refusal", n)
			}
		})
	}
}

// Every kind of event that the suite can state is known here, be it that it moves no money.
func TestHandler_KnowsEveryKind(t *testing.T) {
	db := books(t)
	fields := (&eventsv1.Envelope{}).ProtoReflect().Descriptor().Oneofs().ByName("payload").Fields()
	for i := range fields.Len() {
		e := &eventsv1.Envelope{}
		e.ProtoReflect().Mutable(fields.Get(i))
		about := id.New()
		if err := apply(t, db, event("anybody", about, 1, about, e)); err != nil && strings.Contains(err.Error(), "does not know") {
			t.Errorf("%s: %v", fields.Get(i).Name(), err)
		}
	}
}
