package consume_test

import (
	"strings"
	"testing"

	"tackfree/pkg/id"
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
		"RecostedTwice":      {piece, recosted(ofPiece(entry, 1, 1, 2), ofPiece(entry, 1, 2, 3)), "recosts entry " + entry.String() + " twice"},
		"StockRecostedTwice": {id.Nil, stockRecosted(ofShop(entry, "count", 1, 2), ofShop(entry, "mixing", 2, 3)), "twice"},
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
