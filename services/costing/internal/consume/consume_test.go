package consume_test

import (
	"context"
	"fmt"
	"strings"
	"testing"
	"time"

	moneyv1 "google.golang.org/genproto/googleapis/type/money"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/timestamppb"
	"pgregory.net/rapid"

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

func TestMain(m *testing.M) { pgtest.Main(m) }

var (
	monday = time.Date(2026, 3, 2, 14, 0, 0, 0, time.UTC)
	usd    = money.Currency{Code: "USD", Digits: 2}
	nell   = id.New()
)

func usdOf(minor int64) *moneyv1.Money {
	return wire.Shop{Currency: usd}.ToMoney(money.Amount(minor))
}

func handler() consume.Handler {
	return consume.Handler{Shop: wire.Shop{Currency: usd, Zone: time.UTC, Now: time.Now}}
}

func books(t testing.TB) *pg.DB {
	t.Helper()
	return pgtest.Open(t, "costing", nil, inbox.Migrations(), boot.Migrations(store.Migrations))
}

// event makes an event as its producer would.
func event(producer string, aggregate id.ID, version int64, piece id.ID, payload *eventsv1.Envelope) inbox.Event {
	e := inbox.Event{Envelope: payload, ID: id.New(), Aggregate: aggregate, Piece: piece}
	e.EventId, e.Producer, e.Epoch, e.AggregateId, e.Version = e.ID.String(), producer, "one", aggregate.String(), version
	if piece != id.Nil {
		e.PieceId = piece.String()
	}
	at := timestamppb.New(monday.Add(time.Duration(version) * time.Minute))
	e.OccurredAt, e.RecordedAt = at, at
	return e
}

func apply(t testing.TB, db *pg.DB, events ...inbox.Event) error {
	t.Helper()
	return db.InTx(t.Context(), func(ctx context.Context, tx *pg.Tx) error {
		_, err := inbox.Apply(ctx, tx, handler(), events)
		return err
	})
}

func span(minutes int, pass int32) *eventsv1.ClockSpan {
	return &eventsv1.ClockSpan{EntryId: id.New().String(), PersonId: nell.String(), PersonName: "Nell", StageId: id.New().String(),
		StageKind: "sand", StageKey: "sand-fine", PartLabel: "seat", Pass: pass, Start: timestamppb.New(monday), End: timestamppb.New(monday.Add(time.Duration(minutes) * time.Minute))}
}

func takenIn(price int64) *eventsv1.Envelope {
	return &eventsv1.Envelope{Payload: &eventsv1.Envelope_PieceTakenIn{PieceTakenIn: &eventsv1.PieceTakenIn{Tag: 7, Title: "Stool",
		Origin: &eventsv1.PieceTakenIn_Purchase_{Purchase: &eventsv1.PieceTakenIn_Purchase{Price: usdOf(price), Source: "kerb"}}}}}
}

// share makes a span one of a stretch on a batch that began so many minutes after it, or before.
func share(s *eventsv1.ClockSpan, minutes int) *eventsv1.ClockSpan {
	s = proto.CloneOf(s)
	s.BatchId, s.StretchStart = id.New().String(), timestamppb.New(s.Start.AsTime().Add(time.Duration(minutes)*time.Minute))
	return s
}

// indirect makes a span one of cleaning, which belongs to no piece.
func indirect(s *eventsv1.ClockSpan) *eventsv1.ClockSpan {
	s = proto.CloneOf(s)
	s.StageId, s.StageKind, s.StageKey, s.PartLabel, s.Indirect = "", "", "", "", "cleaning"
	return s
}

func billed(amount int64, pass int32) *eventsv1.Envelope {
	return cameBack(id.New(), usdOf(amount), pass)
}

// cameBack tells of work that is back, done; nil: its bill is yet to come.
func cameBack(work id.ID, bill *moneyv1.Money, pass int32) *eventsv1.Envelope {
	return &eventsv1.Envelope{Payload: &eventsv1.Envelope_OutsideWorkReceived{OutsideWorkReceived: &eventsv1.OutsideWorkReceived{
		OutsideWorkId: work.String(), Kind: "caning", Firm: "Rush & Reed", Billed: bill, Pass: pass}}}
}

// calledOff tells of work that came back undone, and cost nothing.
func calledOff(work id.ID) *eventsv1.Envelope {
	e := cameBack(work, nil, 1)
	e.GetOutsideWorkReceived().CalledOff = true
	return e
}

// sentOut tells of work that went out; nil: no price was named.
func sentOut(work id.ID, kind string, quoted *moneyv1.Money) *eventsv1.Envelope {
	return &eventsv1.Envelope{Payload: &eventsv1.Envelope_SentOut{SentOut: &eventsv1.SentOut{
		OutsideWorkId: work.String(), Kind: kind, Firm: "Rush & Reed", Quoted: quoted}}}
}

func setAside(review id.ID, sent *eventsv1.ClockSpan) *eventsv1.Envelope {
	return &eventsv1.Envelope{Payload: &eventsv1.Envelope_ClockEntrySetAside{ClockEntrySetAside: &eventsv1.ClockEntrySetAside{
		ReviewId: review.String(), Sent: sent, Kind: "overlap", Reason: "two at once"}}}
}

func forgotten(review id.ID, s *eventsv1.ClockSpan) *eventsv1.Envelope {
	return &eventsv1.Envelope{Payload: &eventsv1.Envelope_ClockForgotten{ClockForgotten: &eventsv1.ClockForgotten{ReviewId: review.String(), Span: s}}}
}

func settled(review id.ID) *eventsv1.Envelope {
	return &eventsv1.Envelope{Payload: &eventsv1.Envelope_ClockReviewSettled{ClockReviewSettled: &eventsv1.ClockReviewSettled{
		ReviewId: review.String(), Settlement: "accepted", Reason: "she was there"}}}
}

// billCorrected tells that what was billed was another amount; nil: there was no bill yet.
func billCorrected(work id.ID, before *moneyv1.Money, after int64, pass int32) *eventsv1.Envelope {
	return &eventsv1.Envelope{Payload: &eventsv1.Envelope_OutsideBillCorrected{OutsideBillCorrected: &eventsv1.OutsideBillCorrected{
		OutsideWorkId: work.String(), Before: before, After: usdOf(after), Pass: pass, Reason: "misread"}}}
}

// running is the span of a clock that has not been ended.
func running(s *eventsv1.ClockSpan) *eventsv1.Envelope {
	began := proto.CloneOf(s)
	began.End = nil
	return &eventsv1.Envelope{Payload: &eventsv1.Envelope_ClockedOn{ClockedOn: &eventsv1.ClockedOn{Span: began}}}
}

func added(person id.ID, name string) *eventsv1.Envelope {
	return &eventsv1.Envelope{Payload: &eventsv1.Envelope_PersonAdded{PersonAdded: &eventsv1.PersonAdded{PersonId: person.String(), DisplayName: name}}}
}

func renamed(person id.ID, name string) *eventsv1.Envelope {
	return &eventsv1.Envelope{Payload: &eventsv1.Envelope_PersonChanged{PersonChanged: &eventsv1.PersonChanged{PersonId: person.String(), DisplayName: name}}}
}

func clockedOff(s *eventsv1.ClockSpan) *eventsv1.Envelope {
	return &eventsv1.Envelope{Payload: &eventsv1.Envelope_ClockedOff{ClockedOff: &eventsv1.ClockedOff{Span: s}}}
}

func corrected(before, after *eventsv1.ClockSpan) *eventsv1.Envelope {
	return &eventsv1.Envelope{Payload: &eventsv1.Envelope_ClockEntryCorrected{ClockEntryCorrected: &eventsv1.ClockEntryCorrected{Before: before, After: after}}}
}

func issued(cost int64, pass int32) *eventsv1.Envelope {
	return &eventsv1.Envelope{Payload: &eventsv1.Envelope_MaterialIssued{MaterialIssued: &eventsv1.MaterialIssued{Cost: usdOf(cost), StageKind: "paint_coat", Pass: pass}}}
}

func takenBack(cost int64, pass int32) *eventsv1.Envelope {
	return &eventsv1.Envelope{Payload: &eventsv1.Envelope_MaterialTakenBack{MaterialTakenBack: &eventsv1.MaterialTakenBack{
		Cost: usdOf(cost), StageKind: "paint_coat", Pass: pass, Reason: "a slip"}}}
}

func sold(price int64) *eventsv1.Envelope {
	return &eventsv1.Envelope{Payload: &eventsv1.Envelope_PieceSold{PieceSold: &eventsv1.PieceSold{Price: usdOf(price), Tax: usdOf(price / 10), Fee: usdOf(price / 20)}}}
}

func refunded(price int64, returned bool) *eventsv1.Envelope {
	return &eventsv1.Envelope{Payload: &eventsv1.Envelope_SaleRefunded{SaleRefunded: &eventsv1.SaleRefunded{Price: usdOf(price), PieceReturned: returned}}}
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
	if got := balance(t, db, costing.CostOfGoodsSold); got != 4_550+1_250+300 {
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
	for account, want := range map[costing.Account]int64{costing.CostOfGoodsSold: 4_550, costing.WorkInProcess: 0, costing.MaterialsOnHand: 0} {
		if got := balance(t, db, account); got != want {
			t.Errorf("%s = %d, want %d", account, got, want)
		}
	}
}

// balance adds up the lines of an account.
func balance(t testing.TB, db *pg.DB, a costing.Account) (sum int64) {
	t.Helper()
	err := db.View(t.Context(), func(q pg.Querier) error {
		return q.QueryRow(t.Context(), `SELECT coalesce(sum(amount), 0)::bigint FROM posting WHERE account = $1`, string(a)).Scan(&sum)
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

// Whatever order the deliveries come in, and however often, the ledger is the same to the
// last row, and so is every sum.
func TestHandler_OrderAndRepeatsDoNotMatter(t *testing.T) {
	db := books(t)
	rate(t, db, 1_777, monday.Add(-time.Hour))
	rate(t, db, 2_011, monday.Add(3*time.Minute)) // recorded in the middle of the events
	rapid.Check(t, func(rt *rapid.T) {
		clear := func() {
			for _, table := range []string{"applied", "parked", "posting", "stretch", "clock", "outside_work", "review", "mark", "person", "piece"} {
				exec(t, db, `DELETE FROM `+table)
			}
		}
		history := draw(rt)
		clear()
		if err := apply(t, db, history...); err != nil {
			rt.Fatal(err)
		}
		want := dump(t, db)
		clear()
		deliveries := rapid.Permutation(append(append([]inbox.Event{}, history...), history...)).Draw(rt, "deliveries")
		for len(deliveries) > 0 {
			n := rapid.IntRange(1, len(deliveries)).Draw(rt, "batch")
			if err := apply(t, db, deliveries[:n]...); err != nil {
				rt.Fatal(err)
			}
			deliveries = deliveries[n:]
		}
		if got := dump(t, db); got != want {
			rt.Fatalf("in another order the books are\n%s\nnot\n%s", got, want)
		}
	})
}

// draw makes what happens to one or two pieces, each producer's events in their order.
func draw(t *rapid.T) []inbox.Event {
	var out []inbox.Event
	var ofNell int64
	person := func(e *eventsv1.Envelope) {
		ofNell++
		out = append(out, event("workflow", nell, ofNell, id.Nil, e))
	}
	for v := range rapid.IntRange(0, 3).Draw(t, "names") {
		name := fmt.Sprintf("Nell %d", rapid.IntRange(1, 9).Draw(t, "name"))
		if v == 0 {
			person(added(nell, name))
		} else {
			person(renamed(nell, name))
		}
	}
	for range rapid.IntRange(1, 2).Draw(t, "pieces") {
		piece := id.New()
		out = append(out, event("intake", piece, 1, piece, takenIn(rapid.Int64Range(0, 9_999).Draw(t, "price"))))
		var last *eventsv1.ClockSpan
		var v int64
		clock := func(e *eventsv1.Envelope) {
			v++
			out = append(out, event("workflow", piece, v, piece, e))
		}
		for range rapid.IntRange(0, 5).Draw(t, "work") {
			if last != nil && rapid.Bool().Draw(t, "correct") {
				next := span(rapid.IntRange(1, 500).Draw(t, "minutes"), 1)
				if rapid.Bool().Draw(t, "to what belongs to no piece") {
					clock(corrected(last, nil))
					person(corrected(nil, indirect(next)))
					last = nil
					continue
				}
				clock(corrected(last, next))
				last = next
				continue
			}
			next := share(span(rapid.IntRange(1, 500).Draw(t, "minutes"), int32(rapid.IntRange(1, 2).Draw(t, "pass"))), -rapid.IntRange(0, 500).Draw(t, "shared since"))
			clock(running(next))
			if rapid.Bool().Draw(t, "still running") {
				continue
			}
			clock(clockedOff(next))
			last = next
		}
		if rapid.Bool().Draw(t, "outside") {
			work := id.New()
			clock(sentOut(work, "caning", usdOf(rapid.Int64Range(0, 9_000).Draw(t, "quote"))))
			bill, pass := rapid.Int64Range(0, 9_000).Draw(t, "bill"), int32(rapid.IntRange(1, 2).Draw(t, "pass"))
			if rapid.Bool().Draw(t, "back") {
				said := usdOf(bill)
				if rapid.Bool().Draw(t, "the bill is yet to come") {
					said = nil
				}
				clock(cameBack(work, said, pass))
				if rapid.Bool().Draw(t, "rather another bill") {
					clock(billCorrected(work, said, rapid.Int64Range(0, 9_000).Draw(t, "rather"), pass))
				}
			}
		}
		for range rapid.IntRange(0, 2).Draw(t, "issues") {
			product, cost, pass := id.New(), rapid.Int64Range(0, 5_000).Draw(t, "cost"), int32(rapid.IntRange(1, 2).Draw(t, "pass"))
			out = append(out, event("materials", product, 1, piece, issued(cost, pass)))
			if rapid.Bool().Draw(t, "taken back") {
				out = append(out, event("materials", product, 2, piece, takenBack(cost, pass)))
			}
		}
		for n := range rapid.Int64Range(0, 2).Draw(t, "sales") {
			out = append(out, event("sales", piece, 2*n+1, piece, sold(20_000)), event("sales", piece, 2*n+2, piece, refunded(20_000, true)))
		}
		if rapid.Bool().Draw(t, "scrapped") {
			out = append(out, event("intake", piece, 2, piece, &eventsv1.Envelope{Payload: &eventsv1.Envelope_PieceScrapped{PieceScrapped: &eventsv1.PieceScrapped{}}}))
		}
	}
	for range rapid.IntRange(0, 3).Draw(t, "of no piece") {
		cleaning := indirect(span(rapid.IntRange(1, 500).Draw(t, "minutes"), 1))
		person(running(cleaning))
		if rapid.Bool().Draw(t, "ended") {
			person(clockedOff(cleaning))
		}
	}
	for range rapid.IntRange(0, 2).Draw(t, "set aside") {
		review := id.New()
		person(setAside(review, span(rapid.IntRange(1, 500).Draw(t, "minutes"), 1)))
		if rapid.Bool().Draw(t, "settled") {
			person(settled(review))
		}
	}
	return out
}

// dump writes every row of the books, but for how often a sheet changed.
func dump(t testing.TB, db *pg.DB) string {
	t.Helper()
	var all strings.Builder
	for _, q := range []string{
		`SELECT coalesce(string_agg(p::text, E'\n' ORDER BY tx_id, line), '') FROM posting p`,
		`SELECT coalesce(string_agg(s::text, E'\n' ORDER BY event_id, sign), '') FROM stretch s`,
		`SELECT coalesce(string_agg(c::text, E'\n' ORDER BY entry_id), '') FROM clock c`,
		`SELECT coalesce(string_agg(o::text, E'\n' ORDER BY outside_work_id), '') FROM outside_work o`,
		`SELECT coalesce(string_agg(r::text, E'\n' ORDER BY review_id), '') FROM review r`,
		`SELECT coalesce(string_agg(m::text, E'\n' ORDER BY event_id), '') FROM mark m`,
		`SELECT coalesce(string_agg(n::text, E'\n' ORDER BY person_id), '') FROM person n`,
		`SELECT coalesce(string_agg(row(piece_id, tag, title, sales_state, scrapped, acquisition, labour, material, outside, rework, fees, revenue, tax, labour_ms, rework_ms, running)::text, E'\n' ORDER BY piece_id), '') FROM piece`,
		`SELECT count(*)::text FROM parked`,
	} {
		err := db.View(t.Context(), func(v pg.Querier) error {
			var text string
			err := v.QueryRow(t.Context(), q).Scan(&text)
			fmt.Fprintln(&all, text)
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	return all.String()
}

func exec(t testing.TB, db *pg.DB, sql string) {
	t.Helper()
	err := db.InTx(t.Context(), func(ctx context.Context, tx *pg.Tx) error {
		_, err := tx.Exec(ctx, sql)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
}
