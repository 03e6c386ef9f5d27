package server_test

import (
	"context"
	"strings"
	"sync"
	"testing"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/pg"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	"tackfree/services/sales/internal/store"
)

// A client's own piece, and one of which intake has not told, teach nothing.
func TestServer_Teaches_OwnOnly(t *testing.T) {
	a := advises(t)
	clients := id.New()
	a.tell("intake", clients, opened, &eventsv1.Envelope{Payload: &eventsv1.Envelope_PieceTakenIn{PieceTakenIn: &eventsv1.PieceTakenIn{Tag: 70, Title: "Hers", Kind: "dresser",
		Origin: &eventsv1.PieceTakenIn_Commission_{Commission: &eventsv1.PieceTakenIn_Commission{Client: "Ana"}}}}})
	a.sells(clients, 900, opened, id.Nil)
	unheard := id.New()
	a.puts(unheard, 80, opened)
	a.sells(unheard, 70, opened.AddDate(0, 0, 2), id.Nil)
	a.sells(a.own("dresser", "", "", opened), 300, opened, id.Nil) // by which all are known to be worth something
	if b := a.askSale(of("dresser")).Basis; b.Sales != 1 || b.Listings != 0 || len(b.Examples) != 1 || dollars(b.Examples[0].Price) != 300 {
		t.Errorf("they teach: %v", b)
	}
}

// Of a sale that came back the price teaches nothing, and the days do. Money that went back is not of the price.
func TestServer_Teaches_Returned(t *testing.T) {
	a := advises(t)
	piece := a.own("dresser", "", "", opened)
	a.puts(piece, 300, opened)
	sale := a.sells(piece, 300, opened.AddDate(0, 0, 9), id.Nil)
	back := func(price int64, returned bool) {
		a.tell("sales", piece, opened.AddDate(0, 0, 12), &eventsv1.Envelope{Payload: &eventsv1.Envelope_SaleRefunded{SaleRefunded: &eventsv1.SaleRefunded{
			SaleId: sale.String(), Price: usd(price), PieceReturned: returned}}})
	}
	back(40, false)
	b := a.askSale(of("dresser")).Basis
	if b.Sales != 1 || b.Listings != 1 || len(b.Examples) != 1 || dollars(b.Examples[0].Price) != 260 {
		t.Errorf("after money went back: %v", b)
	}
	back(0, true)
	a.said(&salesv1.SellingTerms{Beliefs: []*salesv1.SellingTerms_Belief{belief("dresser", 200, 400, 0)}}) // or nobody knows what it was worth
	if b := a.askSale(of("dresser")).Basis; b.Sales != 0 || b.Listings != 1 {
		t.Errorf("after it came back: %v", b)
	}
	a.puts(piece, 280, opened.AddDate(0, 0, 20))
	a.sells(piece, 270, opened.AddDate(0, 0, 30), id.Nil)
	if b := a.askSale(of("dresser")).Basis; b.Sales != 1 || b.Listings != 2 || dollars(b.Examples[0].Price) != 270 || b.Examples[0].Days != 11 {
		t.Errorf("after it was sold again: %v", b)
	}
}

// One whose price went back as a whole brought nothing that could be learned.
func TestServer_Teaches_GivenAway(t *testing.T) {
	a := advises(t)
	piece := a.own("dresser", "", "", opened)
	sale := a.sells(piece, 300, opened, id.Nil)
	a.tell("sales", piece, opened, &eventsv1.Envelope{Payload: &eventsv1.Envelope_SaleRefunded{SaleRefunded: &eventsv1.SaleRefunded{SaleId: sale.String(), Price: usd(300)}}})
	r := of("dresser")
	r.Guess = guess(200, 400)
	if b := a.askSale(r).Basis; b.Sales != 0 {
		t.Errorf("it teaches: %v", b)
	}
}

// Six chairs and a table that one buyer took together are one sale of a chair and one of a table.
func TestServer_Teaches_Set(t *testing.T) {
	a := advises(t)
	set, other := id.New(), id.New()
	for range 6 {
		a.sells(a.own("chair", "", "", opened), 50, opened, set)
	}
	a.sells(a.own("table", "", "", opened), 300, opened, set)
	a.sells(a.own("chair", "", "", opened), 40, opened, other)
	a.sells(a.own("chair", "", "", opened), 90, opened, other)
	b := a.askSale(of("chair")).Basis
	if b.Sales != 3 || b.SalesOfKind != 2 || len(b.Examples) != 5 {
		t.Errorf("they teach as %v", b)
	}
	alone := advises(t)
	for _, price := range []float64{50, 60} { // √(40 · 90) = 60
		alone.sells(alone.own("chair", "", "", opened), price, opened, id.Nil)
	}
	alone.sells(alone.own("table", "", "", opened), 300, opened, id.Nil)
	differ(t, "price by sets and by single sales", alone.askSale(of("chair")).PriceLikely, a.askSale(of("chair")).PriceLikely)
}

// A piece that was given up stood unsold until then, and not longer.
func TestServer_Teaches_Scrapped(t *testing.T) {
	days := func(scrap bool) int32 {
		a := advises(t)
		for range 20 {
			piece := a.own("dresser", "", "", opened)
			a.puts(piece, 283, opened)
			if scrap {
				a.tell("intake", piece, opened.AddDate(0, 0, 2), &eventsv1.Envelope{Payload: &eventsv1.Envelope_PieceScrapped{PieceScrapped: &eventsv1.PieceScrapped{}}})
			}
		}
		a.said(&salesv1.SellingTerms{Beliefs: []*salesv1.SellingTerms_Belief{belief("dresser", 200, 400, 0)}}) // or nobody knows what they were worth
		return a.askSale(of("dresser")).DaysLikely
	}
	if given, stand := days(true), days(false); given < 30 || given > 60 || stand != 0 && stand < 200 {
		t.Errorf("half are sold in %d days where twenty were given up after two, and in %d where they still stand after two years", given, stand)
	}
}

// A piece that stands for sale stands a day longer each day: what was learned yesterday is not good today.
func TestServer_Teaches_Daily(t *testing.T) {
	a := advises(t)
	a.sells(a.own("dresser", "", "", opened), 280, opened, id.Nil)
	a.puts(a.own("dresser", "", "", opened), 280, today.AddDate(0, 0, -1))
	before := a.askSale(of("dresser")).DaysLikely
	a.now = today.Add(60 * 24 * time.Hour)
	if now := a.askSale(of("dresser")).DaysLikely; now <= before {
		t.Errorf("half are sold in %d days, and two months later in %d", before, now)
	}
}

// Whoever dates a markdown back, or sells on the hour of the listing, is learned from all the same.
func TestServer_Teaches_OddTimes(t *testing.T) {
	a := advises(t)
	piece := a.own("dresser", "", "", opened)
	a.puts(piece, 300, opened.AddDate(0, 0, 5))
	a.marks(piece, 280, opened.AddDate(0, 0, 2))
	a.sells(piece, 270, opened.AddDate(0, 0, 1), id.Nil)
	quick := a.own("dresser", "", "", opened)
	a.puts(quick, 300, opened)
	a.sells(quick, 300, opened, id.Nil)
	if b := a.askSale(of("dresser")).Basis; b.Sales != 2 || b.Listings != 2 {
		t.Errorf("they teach as %v", b)
	}
}

// How other pieces sell here tells how a kind sells that was never offered.
func TestServer_Teaches_OtherKinds(t *testing.T) {
	a := advises(t)
	for n := range 40 {
		piece := a.own("chair", "", "", opened)
		a.puts(piece, 60, opened.AddDate(0, 0, n))
		a.sells(piece, 60, opened.AddDate(0, 0, n+1+n%8), id.Nil)
	}
	if f := a.askSale(of("table")); f.DaysLikely < 2 || f.DaysLikely > 8 {
		t.Errorf("half of the tables are sold in %d days, all the chairs in one to eight", f.DaysLikely)
	}
}

// When all is noted anew, what was learned before counts no more.
func TestServer_Teaches_Anew(t *testing.T) {
	a := advises(t)
	a.sells(a.own("dresser", "", "", opened), 300, opened, id.Nil)
	a.askSale(of("dresser"))
	err := a.DB.InTx(t.Context(), func(ctx context.Context, tx *pg.Tx) error { return store.New(tx).ForgetPast(ctx) })
	if err != nil {
		t.Fatal(err)
	}
	refuses(t, a.AdviseSale, of("dresser"), "BELIEF_MISSING")
	a.sells(a.own("dresser", "", "", opened), 500, opened, id.Nil)
	if b := a.askSale(of("dresser")).Basis; b.Sales != 1 || dollars(b.Examples[0].Price) != 500 {
		t.Errorf("what was noted anew teaches as %v", b)
	}
}

// The database comes back from a backup of before what was learned, all is noted anew, and more is heard than was known
// before anybody asks: what was noted under numbers that were learned up to is read all the same.
func TestServer_Teaches_AnewAfterABackup(t *testing.T) {
	a := advises(t)
	hear := func(price float64, sales int) {
		t.Helper()
		for range sales {
			a.sells(a.own("dresser", "", "", opened), price, opened, id.Nil)
			a.hear()
		}
	}
	hear(300, 6)
	a.askSale(of("dresser"))
	err := a.DB.InTx(t.Context(), func(ctx context.Context, tx *pg.Tx) error {
		_, _ = tx.Exec(ctx, `UPDATE past_stamp SET n = 1`) // put off: its error comes at the commit
		return store.New(tx).ForgetPast(ctx)
	})
	if err != nil {
		t.Fatal(err)
	}
	hear(500, 9)
	if b := a.askSale(of("dresser")).Basis; b.Sales != 9 || dollars(b.Examples[4].Price) != 500 {
		t.Errorf("nine sales that were noted anew teach as %v", b)
	}
}

// Many who ask at once, while sales are heard, are all answered.
func TestServer_Teaches_ManyAtOnce(t *testing.T) {
	a := advises(t)
	a.sells(a.own("dresser", "", "", opened), 300, opened, id.Nil)
	a.hear()
	var all sync.WaitGroup
	for range 4 {
		all.Go(func() {
			for range 20 {
				if _, err := a.AdviseSale(t.Context(), of("dresser")); err != nil {
					t.Error(err)
				}
			}
		})
	}
	for range 10 {
		a.sells(a.own("dresser", "", "", opened), 300, opened, id.Nil)
		a.hear()
	}
	all.Wait()
	if b := a.askSale(of("dresser")).Basis; b.Sales != 11 {
		t.Errorf("they teach as %v, want 11 sales", b)
	}
}

// While what a producer told is read anew after a backup, there is no advice from half of it, with a model that was learned
// before or without; then there is.
func TestServer_Teaches_NotFromHalf(t *testing.T) {
	a := advises(t)
	a.sells(a.own("dresser", "", "", opened), 300, opened, id.Nil)
	a.askSale(of("dresser"))
	piece := a.own("dresser", "", "", opened)
	a.hear()
	source := func(restoring bool) {
		t.Helper()
		err := a.DB.InTx(t.Context(), func(ctx context.Context, tx *pg.Tx) error {
			_, err := tx.Exec(ctx, `INSERT INTO source (producer, epoch, behind, compared_at, restoring) VALUES ('intake', 'two', 0, now(), $1)
				ON CONFLICT (producer) DO UPDATE SET restoring = excluded.restoring`, restoring)
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	source(true)
	for _, f := range []*fault.Fault{refuses(t, a.AdviseSale, of("dresser"), "PAST_BEING_READ"),
		refuses(t, a.AdvisePrice, &salesv1.AdvisePriceRequest{Piece: id.Name("pieces", piece)}, "PAST_BEING_READ")} {
		if f.Kind != fault.Precondition || !strings.Contains(f.Text, "in a minute") {
			t.Errorf("it says %v: %s", f.Kind, f.Text)
		}
	}
	source(false)
	if b := a.askSale(of("dresser")).Basis; b.Sales != 1 {
		t.Errorf("after all was read: %v", b)
	}
}
