package consume_test

import (
	"context"
	"flag"
	"strings"
	"testing"
	"time"

	moneyv1 "google.golang.org/genproto/googleapis/type/money"

	"tackfree/pkg/boot"
	"tackfree/pkg/id"
	"tackfree/pkg/inbox"
	"tackfree/pkg/money"
	"tackfree/pkg/pg"
	"tackfree/pkg/pgtest"
	"tackfree/pkg/wire"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	"tackfree/services/costing/internal/consume"
	"tackfree/services/costing/internal/costing"
	"tackfree/services/costing/internal/store"
)

func TestMain(m *testing.M) {
	_ = flag.Set("rapid.checks", "40") // each of them is dozens of transactions
	pgtest.Main(m)
}

var (
	monday = time.Date(2026, 3, 2, 14, 0, 0, 0, time.UTC)
	usd    = money.Currency{Code: "USD", Digits: 2}
	nell   = id.New()
)

func usdOf(minor int64) *moneyv1.Money {
	return wire.Shop{Currency: usd}.ToMoney(money.Amount(minor))
}

func handler() consume.Handler {
	return consume.Handler{Shop: wire.Shop{Currency: usd, Zone: time.UTC, Now: time.Now}, Rules: costing.Standard()}
}

func books(t testing.TB) *pg.DB {
	t.Helper()
	return pgtest.Open(t, "costing", nil, inbox.Migrations(), boot.Migrations(store.Migrations))
}

func rate(t testing.TB, db *pg.DB, perHour money.Amount, recorded time.Time) {
	t.Helper()
	err := db.InTx(t.Context(), func(ctx context.Context, tx *pg.Tx) error {
		return store.New(tx).InsertRate(ctx, costing.Rate{ID: id.New(), Person: nell, Day: monday, From: monday.Add(-24 * time.Hour), PerHour: perHour, RecordedAt: recorded})
	})
	if err != nil {
		t.Fatal(err)
	}
}

func sheet(t testing.TB, db *pg.DB, piece id.ID) (s costing.Sheet) {
	t.Helper()
	err := db.View(t.Context(), func(q pg.Querier) (err error) {
		s, err = store.New(q).Sheet(t.Context(), piece)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func TestHandler_APieceFromPurchaseToSale(t *testing.T) {
	db, piece := books(t), id.New()
	rate(t, db, 2000, monday.Add(-time.Hour))
	first, rework := span(90, 1), span(30, 2)
	shorter := span(60, 1)
	err := apply(t, db,
		event("intake", piece, 1, piece, takenIn(4_550)),
		event("workflow", piece, 1, piece, clockedOff(first)),
		event("workflow", piece, 2, piece, clockedOff(rework)),
		event("workflow", piece, 3, piece, corrected(first, shorter)),
		event("materials", id.New(), 1, piece, issued(1_250, 1)),
		event("materials", id.New(), 1, piece, issued(300, 2)),
		event("sales", piece, 1, piece, sold(30_000)))
	if err != nil {
		t.Fatal(err)
	}
	got := sheet(t, db, piece)
	want := costing.Sums{Acquisition: 4_550, Labour: 2_000, Material: 1_250, Rework: 1_000 + 300, Fees: 1_500, Revenue: 30_000, Tax: 3_000,
		LabourTime: time.Hour, ReworkTime: 30 * time.Minute}
	if got.Sums != want || got.Tag != 7 || got.Sales != costing.Sold || len(got.Open(time.UTC, usd)) != 0 {
		t.Errorf("sheet = %+v", got)
	}
	if len(got.Work) != 2 || got.Work[0].Time+got.Work[1].Time != 90*time.Minute || got.Work[0].Cost+got.Work[1].Cost != 3_000 {
		t.Errorf("work = %+v", got.Work)
	}
}

// Material that is taken back after the piece was sold leaves every account and line as if
// it had never been issued, in the cost of goods sold too.
func TestHandler_MaterialTakenBack(t *testing.T) {
	db, piece, product := books(t), id.New(), id.New()
	err := apply(t, db,
		event("intake", piece, 1, piece, takenIn(4_550)),
		event("materials", product, 1, piece, issued(1_250, 1)),
		event("materials", product, 2, piece, issued(300, 2)),
		event("sales", piece, 1, piece, sold(30_000)))
	if err != nil {
		t.Fatal(err)
	}
	if got := balance(t, db, "cost_of_goods_sold"); got != 4_550+1_250+300 {
		t.Errorf("cost of goods sold = %d, want 6100", got)
	}
	err = apply(t, db,
		event("materials", product, 3, piece, takenBack(1_250, 1)),
		event("materials", product, 4, piece, takenBack(300, 2)))
	if err != nil {
		t.Fatal(err)
	}
	if got := sheet(t, db, piece); got.Material != 0 || got.Rework != 0 || got.Cost() != 4_550 {
		t.Errorf("sheet = %+v, want only the purchase", got)
	}
	for account, want := range map[costing.Account]int64{"cost_of_goods_sold": 4_550, costing.WorkInProcess: 0, costing.Again: 0, "materials_on_hand": 0} {
		if got := balance(t, db, account); got != want {
			t.Errorf("%s = %d, want %d", account, got, want)
		}
	}
}

// balance adds up the lines of an account.
func balance(t testing.TB, db *pg.DB, a costing.Account) (sum int64) {
	t.Helper()
	return balanceAt(t, db, a, monday.AddDate(100, 0, 0))
}

// balanceAt adds up the lines of an account that count at an instant.
func balanceAt(t testing.TB, db *pg.DB, a costing.Account, at time.Time) (sum int64) {
	t.Helper()
	err := db.View(t.Context(), func(q pg.Querier) error {
		return q.QueryRow(t.Context(), `SELECT coalesce(sum(amount), 0)::bigint FROM posting WHERE account = $1 AND occurred_at <= $2`, string(a), at).Scan(&sum)
	})
	if err != nil {
		t.Fatal(err)
	}
	return sum
}

func TestHandler_NoRateYetIsProvisional(t *testing.T) {
	db, piece := books(t), id.New()
	if err := apply(t, db, event("workflow", piece, 1, piece, clockedOff(span(60, 1)))); err != nil {
		t.Fatal(err)
	}
	got := sheet(t, db, piece)
	if got.Labour != 0 || got.LabourTime != time.Hour || len(got.Open(time.UTC, usd)) != 1 || !strings.Contains(got.Open(time.UTC, usd)[0], "Nell has no pay rate") {
		t.Errorf("sheet = %+v", got)
	}
}

func TestHandler_Refuses(t *testing.T) {
	piece := id.New()
	euros := takenIn(1)
	euros.GetPieceTakenIn().GetPurchase().Price.CurrencyCode = "EUR"
	negative := issued(-1, 1)
	backwards := clockedOff(span(-5, 1))
	nowhere := span(5, 1)
	nowhere.StageId = ""
	beforehand := share(span(5, 1), 1)
	cases := map[string]inbox.Event{
		"the books are in USD":         event("intake", piece, 1, piece, euros),
		"is not an amount":             event("materials", piece, 1, piece, negative),
		"does not end after":           event("workflow", piece, 1, piece, backwards),
		"begins before the stretch":    event("workflow", piece, 1, piece, clockedOff(beforehand)),
		"cleaning belongs to no piece": event("workflow", piece, 1, piece, clockedOff(indirect(span(5, 1)))),
		"clock entry: invalid UUID":    event("workflow", piece, 1, piece, running(&eventsv1.ClockSpan{PersonId: nell.String()})),
		"on no piece":                  event("workflow", piece, 1, id.Nil, billed(1, 1)),
		"outside work is on no piece":  event("workflow", piece, 1, id.Nil, sentOut(id.New(), "caning", nil)),
		"the quote is not an amount":   event("workflow", piece, 1, piece, sentOut(id.New(), "caning", usdOf(-1))),
		"outside work: invalid UUID":   event("workflow", piece, 1, piece, &eventsv1.Envelope{Payload: &eventsv1.Envelope_SentOut{SentOut: &eventsv1.SentOut{Firm: "Bo"}}}),
		"clock review: invalid UUID":   event("workflow", nell, 1, id.Nil, &eventsv1.Envelope{Payload: &eventsv1.Envelope_ClockReviewSettled{ClockReviewSettled: &eventsv1.ClockReviewSettled{}}}),
		"the clock entry has no time":  event("workflow", nell, 1, id.Nil, setAside(id.New(), &eventsv1.ClockSpan{PersonId: nell.String()})),
		"the bill is not an amount":    event("workflow", piece, 1, piece, billCorrected(id.New(), usdOf(1), -1, 1)),
		"stage: invalid UUID":          event("workflow", piece, 1, piece, clockedOff(nowhere)),
		"the clock is at no piece":     event("workflow", id.New(), 1, id.Nil, running(span(5, 1))),
		"person: invalid UUID":         event("workflow", id.New(), 1, id.Nil, &eventsv1.Envelope{Payload: &eventsv1.Envelope_PersonAdded{PersonAdded: &eventsv1.PersonAdded{DisplayName: "Nell"}}}),
		"does not know":                event("sales", piece, 1, piece, &eventsv1.Envelope{}),
		"of no piece":                  event("materials", id.New(), 1, id.Nil, issued(1, 1)),
		"material is of no piece":      event("materials", id.New(), 1, id.Nil, takenBack(1, 1)),
		"the deposit is not an amount": event("sales", piece, 1, piece, deposited(-1)),
		"what became of the deposit":   event("sales", piece, 1, piece, depositSettled(1, eventsv1.DepositSettled_HOW_UNSPECIFIED)),
		"what was given before is not": event("sales", piece, 1, piece, paidBefore(-1)),
		"neither a purchase nor a":     event("intake", piece, 1, piece, &eventsv1.Envelope{Payload: &eventsv1.Envelope_PieceTakenIn{PieceTakenIn: &eventsv1.PieceTakenIn{}}}),
	}
	for want, e := range cases {
		db := books(t)
		if err := apply(t, db, e); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("Apply = %v, want an error that says %q", err, want)
		}
		if n := count(t, db, "posting"); n != 0 {
			t.Errorf("%d ledger lines after a refusal", n)
		}
	}
}

func count(t testing.TB, db *pg.DB, table string) (n int) {
	t.Helper()
	err := db.View(t.Context(), func(q pg.Querier) error {
		return q.QueryRow(t.Context(), `SELECT count(*) FROM `+table).Scan(&n)
	})
	if err != nil {
		t.Fatal(err)
	}
	return n
}
