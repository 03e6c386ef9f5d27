package consume_test

import (
	"strings"
	"testing"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"
	"pgregory.net/rapid"

	"tackfree/pkg/apportion"
	"tackfree/pkg/id"
	"tackfree/pkg/inbox"
	"tackfree/pkg/pg"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	"tackfree/services/costing/internal/costing"
)

// lotShares are what pieces are of a lot at a price.
func lotShares(price int64, pieces []id.ID, weights ...int64) (out []*eventsv1.LotShare) {
	for i, share := range apportion.Split(price, weights) {
		out = append(out, &eventsv1.LotShare{PieceId: pieces[i].String(), Weight: weights[i], Share: usdOf(share)})
	}
	return out
}

func lotBought(price int64, onScrap string, pieces []id.ID, weights ...int64) *eventsv1.Envelope {
	return &eventsv1.Envelope{Payload: &eventsv1.Envelope_LotBought{LotBought: &eventsv1.LotBought{Price: usdOf(price), Source: "auction", Split: "by_value",
		OnScrap: onScrap, Shares: lotShares(price, pieces, weights...)}}}
}

func lotRevised(price int64, pieces []id.ID, weights ...int64) *eventsv1.Envelope {
	return &eventsv1.Envelope{Payload: &eventsv1.Envelope_LotSplitRevised{LotSplitRevised: &eventsv1.LotSplitRevised{Split: "by_value", Reason: "veneer",
		Shares: lotShares(price, pieces, weights...)}}}
}

func lotPriced(before, after int64, pieces []id.ID, weights ...int64) *eventsv1.Envelope {
	return &eventsv1.Envelope{Payload: &eventsv1.Envelope_PurchaseCorrected{PurchaseCorrected: &eventsv1.PurchaseCorrected{LotId: id.New().String(),
		OldPrice: usdOf(before), NewPrice: usdOf(after), Reason: "the premium", Shares: lotShares(after, pieces, weights...)}}}
}

func pricedAnew(before, after int64) *eventsv1.Envelope {
	return &eventsv1.Envelope{Payload: &eventsv1.Envelope_PurchaseCorrected{PurchaseCorrected: &eventsv1.PurchaseCorrected{
		OldPrice: usdOf(before), NewPrice: usdOf(after), Reason: "the receipt"}}}
}

func scrapped() *eventsv1.Envelope {
	return &eventsv1.Envelope{Payload: &eventsv1.Envelope_PieceScrapped{PieceScrapped: &eventsv1.PieceScrapped{Reason: "worm"}}}
}

// lotOfThree is 100.00 over three pieces that count 1, 1 and 2, taken in and told of.
func lotOfThree(lot id.ID, onScrap string) (pieces []id.ID, events []inbox.Event) {
	pieces = []id.ID{id.New(), id.New(), id.New()}
	events = append(events, event("intake", lot, 1, id.Nil, lotBought(10_000, onScrap, pieces, 1, 1, 2)))
	for i, share := range []int64{2_500, 2_500, 5_000} {
		events = append(events, event("intake", pieces[i], 1, pieces[i], takenIn(share)))
	}
	return pieces, events
}

func mustApply(t *testing.T, db *pg.DB, events ...inbox.Event) {
	t.Helper()
	if err := apply(t, db, events...); err != nil {
		t.Fatal(err)
	}
}

// costs checks what each piece cost by its sheet.
func costs(t *testing.T, db *pg.DB, pieces []id.ID, want ...int64) {
	t.Helper()
	for i, piece := range pieces {
		if got := int64(sheet(t, db, piece).Acquisition); got != want[i] {
			t.Errorf("piece %d of the lot cost %d, want %d", i+1, got, want[i])
		}
	}
}

// A piece of a lot is scrapped, another sold, the split and the price are put right: the sheets and
// the ledger follow, to where the cost of each piece stands.
func TestHandler_Lot(t *testing.T) {
	db, lot := books(t), id.New()
	pieces, bought := lotOfThree(lot, "takes_over")
	mustApply(t, db, bought...)
	costs(t, db, pieces, 2_500, 2_500, 5_000)
	mustApply(t, db, event("intake", pieces[1], 2, pieces[1], scrapped()))
	costs(t, db, pieces, 3_333, 0, 6_667)
	accounts(t, db, map[costing.Account]int64{costing.WorkInProcess: 10_000, "scrap_loss": 0, "cash_clearing": -10_000})
	sale := event("sales", pieces[0], 1, pieces[0], sold(20_000))
	sale.OccurredAt = timestamppb.New(monday.Add(30 * time.Minute))
	mustApply(t, db, sale)
	accounts(t, db, map[costing.Account]int64{costing.WorkInProcess: 6_667, "cost_of_goods_sold": 3_333})
	paid := 20_000 + 2_000 - 1_000 // by the buyer, with tax and less the fee
	later := event("intake", lot, 2, id.Nil, lotPriced(10_000, 13_000, pieces, 1, 1, 2))
	later.OccurredAt = timestamppb.New(monday.Add(time.Hour))
	mustApply(t, db, later)
	costs(t, db, pieces, 4_333, 0, 8_667)
	accounts(t, db, map[costing.Account]int64{costing.WorkInProcess: 8_667, "cost_of_goods_sold": 4_333, "cash_clearing": int64(paid) - 13_000})
	revised := event("intake", lot, 3, id.Nil, lotRevised(13_000, pieces, 3, 1, 1))
	revised.OccurredAt = timestamppb.New(monday.Add(2 * time.Hour))
	mustApply(t, db, revised)
	costs(t, db, pieces, 7_800+1_950, 0, 2_600+650)
	accounts(t, db, map[costing.Account]int64{costing.WorkInProcess: 3_250, "cost_of_goods_sold": 9_750, "cash_clearing": int64(paid) - 13_000})
}

// The same lot whose pieces keep their shares: what is scrapped is a loss.
func TestHandler_Lot_Keeps(t *testing.T) {
	db := books(t)
	pieces, bought := lotOfThree(id.New(), "keeps")
	mustApply(t, db, append(bought, event("intake", pieces[1], 2, pieces[1], scrapped()))...)
	costs(t, db, pieces, 2_500, 2_500, 5_000)
	accounts(t, db, map[costing.Account]int64{costing.WorkInProcess: 7_500, "scrap_loss": 2_500})
}

// The scrap is known before the lot, and another copy before the purchase itself.
func TestHandler_Lot_KnownLate(t *testing.T) {
	for _, order := range [][]int{{4, 1, 0, 2, 3}, {1, 4, 2, 3, 0}, {0, 1, 2, 3, 4}, {3, 2, 1, 4, 0}} {
		db := books(t)
		pieces, events := lotOfThree(id.New(), "takes_over")
		events = append(events, event("intake", pieces[1], 2, pieces[1], scrapped()))
		for _, n := range order {
			mustApply(t, db, events[n])
		}
		costs(t, db, pieces, 3_333, 0, 6_667)
	}
}

// What a single piece really cost is told after it was sold.
func TestHandler_PurchaseCorrected(t *testing.T) {
	db, piece := books(t), id.New()
	mustApply(t, db, event("intake", piece, 1, piece, takenIn(4_550)), event("sales", piece, 1, piece, sold(20_000)),
		event("intake", piece, 2, piece, pricedAnew(4_550, 4_200)))
	if got := sheet(t, db, piece); got.Acquisition != 4_200 {
		t.Errorf("it cost %d, want 4200", got.Acquisition)
	}
	accounts(t, db, map[costing.Account]int64{costing.WorkInProcess: 0, "cost_of_goods_sold": 4_200})
}

// A price that is put right in April counts from the day in March on which the piece, or the lot, came
// in: the old one is taken away and the new one added. One from before that was told counts from April.
func TestHandler_PurchaseCorrected_CountsFromTheTakingIn(t *testing.T) {
	april := monday.AddDate(0, 1, 0)
	fix := func(of, piece id.ID, e *eventsv1.Envelope, takenIn *timestamppb.Timestamp) inbox.Event {
		e.GetPurchaseCorrected().TakenInAt = takenIn
		told := event("intake", of, 2, piece, e)
		told.OccurredAt = timestamppb.New(april)
		return told
	}
	for name, c := range map[string]struct {
		takenIn *timestamppb.Timestamp
		march   int64
	}{"Told": {timestamppb.New(monday.Add(time.Minute)), 4_200 + 13_000}, "NotTold": {nil, 4_550 + 10_000}} {
		t.Run(name, func(t *testing.T) {
			db, piece, lot := books(t), id.New(), id.New()
			pieces, bought := lotOfThree(lot, "takes_over")
			scrap := event("intake", pieces[1], 2, pieces[1], scrapped())
			scrap.OccurredAt = timestamppb.New(monday.AddDate(0, 0, 5))
			mustApply(t, db, append(bought, event("intake", piece, 1, piece, takenIn(4_550)), scrap)...)
			mustApply(t, db, fix(piece, piece, pricedAnew(4_550, 4_200), c.takenIn), fix(lot, id.Nil, lotPriced(10_000, 13_000, pieces, 1, 1, 2), c.takenIn))
			costs(t, db, pieces, 4_333, 0, 8_667)
			for at, want := range map[time.Time]int64{monday.AddDate(0, 0, 1): c.march, monday.AddDate(0, 0, 6): c.march, april: 17_200} {
				if paid, cost := -balanceAt(t, db, "cash_clearing", at), balanceAt(t, db, costing.WorkInProcess, at); paid != want || cost != want {
					t.Errorf("on %s %d is paid and the pieces cost %d, want %d", at, paid, cost, want)
				}
			}
			if n := count(t, db, "correction WHERE reason IN ('the receipt', 'the premium')"); n != 2 {
				t.Errorf("%d reasons are kept, want those of both", n)
			}
		})
	}
}

func TestHandler_Lot_Refuses(t *testing.T) {
	pieces := []id.ID{id.New(), id.New()}
	with := func(change func(*eventsv1.LotBought)) *eventsv1.Envelope {
		e := lotBought(100, "keeps", pieces, 1, 1)
		change(e.GetLotBought())
		return e
	}
	for name, c := range map[string]struct {
		e    *eventsv1.Envelope
		want string
	}{
		"NoPieces":      {with(func(e *eventsv1.LotBought) { e.Shares = nil }), "the lot has no pieces"},
		"DoesNotAddUp":  {with(func(e *eventsv1.LotBought) { e.Price = usdOf(101) }), "add up to 100 minor units, its price is 101"},
		"OtherShares":   {with(func(e *eventsv1.LotBought) { e.Shares[0].Share, e.Shares[1].Share = usdOf(10), usdOf(90) }), "are [10 90] minor units, by their weights they are [50 50]"},
		"UnknownPolicy": {with(func(e *eventsv1.LotBought) { e.OnScrap = "burns" }), `"burns" is nothing`},
		"BelowZero":     {with(func(e *eventsv1.LotBought) { e.Shares[0].Weight = -1 }), "counts for less than nothing"},
		"NotAPiece":     {with(func(e *eventsv1.LotBought) { e.Shares[1].PieceId = "7" }), "piece of the lot: invalid UUID"},
		"InEuros":       {with(func(e *eventsv1.LotBought) { e.Shares[1].Share.CurrencyCode = "EUR" }), "the books are in USD"},
		"OfNothing":     {pricedAnew(1, 2), "of no piece and of no lot"},
	} {
		t.Run(name, func(t *testing.T) {
			db := books(t)
			if err := apply(t, db, event("intake", id.New(), 1, id.Nil, c.e)); err == nil || !strings.Contains(err.Error(), c.want) {
				t.Errorf("Apply = %v, want an error that says %q", err, c.want)
			}
			if n := count(t, db, "lot_terms"); n != 0 {
				t.Errorf("%d terms of lots after a refusal", n)
			}
		})
	}
}

// drawLot makes a lot and what becomes of its pieces, each aggregate's events in their order.
func drawLot(t *rapid.T) (out []inbox.Event) {
	lot, pieces := id.New(), []id.ID{id.New(), id.New(), id.New()}
	tell := func(producer string, aggregate id.ID, version int64, piece id.ID, e *eventsv1.Envelope) {
		told := event(producer, aggregate, version, piece, e)
		told.OccurredAt = timestamppb.New(monday.Add(time.Duration(rapid.IntRange(1, 9).Draw(t, "minute")) * time.Minute))
		out = append(out, told)
	}
	weights := rapid.SliceOfN(rapid.Int64Range(0, 90), 3, 3)
	price, w := rapid.Int64Range(0, 9_999), weights.Draw(t, "weights")
	was := price.Draw(t, "price")
	first := event("intake", lot, 1, id.Nil, lotBought(was, rapid.SampledFrom([]string{"keeps", "takes_over"}).Draw(t, "on scrap"), pieces, w...))
	out = append(out, first)
	for v := range rapid.Int64Range(0, 3).Draw(t, "revisions") {
		if rapid.Bool().Draw(t, "the price") {
			is := price.Draw(t, "price")
			e := lotPriced(was, is, pieces, w...)
			if rapid.Bool().Draw(t, "says when it was taken in") {
				e.GetPurchaseCorrected().TakenInAt = timestamppb.New(monday.Add(time.Minute))
			}
			tell("intake", lot, v+2, id.Nil, e)
			was = is
			continue
		}
		w = weights.Draw(t, "weights")
		tell("intake", lot, v+2, id.Nil, lotRevised(was, pieces, w...))
	}
	for i, piece := range pieces {
		in := event("intake", piece, 1, piece, takenIn(0))
		in.GetPieceTakenIn().GetPurchase().Price = first.GetLotBought().Shares[i].Share
		out = append(out, in)
		if rapid.Bool().Draw(t, "scrapped") {
			tell("intake", piece, 2, piece, scrapped())
		}
		for v, n := int64(1), rapid.Int64Range(0, 3).Draw(t, "sales"); v <= n; v++ {
			if v%2 == 1 {
				tell("sales", piece, v, piece, sold(20_000))
			} else {
				tell("sales", piece, v, piece, refunded(20_000, true))
			}
		}
	}
	return out
}
