package consume_test

import (
	"context"
	"fmt"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"tackfree/pkg/id"
	"tackfree/pkg/inbox"
	"tackfree/pkg/pg"
	eventsv1 "tackfree/proto/tackfree/events/v1"
)

// Whatever order the deliveries come in, and however often, the ledger is the same to the
// last row, what is decided by several events comes to the same, and so does every sum.
func TestHandler_OrderAndRepeatsDoNotMatter(t *testing.T) {
	db := books(t)
	setTerms(t, db)
	empty := dump(t, db)
	rapid.Check(t, func(rt *rapid.T) {
		history := draw(rt)
		clearBooks(t, db)
		if got := dump(t, db); got != empty {
			rt.Fatalf("something of the story before is still there:\n%s", got)
		}
		if err := apply(t, db, history...); err != nil {
			rt.Fatal(err)
		}
		want := dump(t, db)
		clearBooks(t, db)
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

func clearBooks(t testing.TB, db *pg.DB) {
	t.Helper()
	for _, table := range []string{"applied", "parked", "posting", "stretch", "clock", "outside_work", "review", "tangled_week", "mark", "stage", "sent_back", "inspection", "comeback", "comeback_stage", "lot_terms", "lot_share", "correction", "tangled_week", "person", "piece"} {
		exec(t, db, `DELETE FROM `+table)
	}
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
	stock, hand := &shelf{}, &hand{at: begins}
	for range rapid.IntRange(1, 2).Draw(t, "pieces") {
		piece := id.New()
		stock.pieces = append(stock.pieces, piece)
		out = append(out, event("intake", piece, 1, piece, takenIn(rapid.Int64Range(0, 9_999).Draw(t, "price"))))
		var v int64
		clock := func(e *eventsv1.Envelope) {
			v++
			out = append(out, event("workflow", piece, v, piece, e))
		}
		hand.draw(t, clock, person)
		drawPlan(t, piece, clock)
		hand.drawComebacks(t, clock)
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
		for n := range rapid.Int64Range(0, 2).Draw(t, "sales") {
			for v, e := range bought(t) {
				out = append(out, event("sales", piece, 9*n+int64(v)+1, piece, e))
			}
		}
		if rapid.Bool().Draw(t, "scrapped") {
			out = append(out, event("intake", piece, 2, piece, &eventsv1.Envelope{Payload: &eventsv1.Envelope_PieceScrapped{PieceScrapped: &eventsv1.PieceScrapped{}}}))
		}
	}
	out = append(out, drawLot(t)...)
	stock.draw(t)
	out = append(out, stock.events...)
	for range rapid.IntRange(0, 3).Draw(t, "of no piece") {
		cleaning := indirect(hand.next(t))
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

// bought is two deposits, of which some is given back and some kept, a sale with the rest at once or on account, two payments of which
// the second was none, and a refund: nine events.
func bought(t *rapid.T) []*eventsv1.Envelope {
	e := sold(20_000)
	if rapid.Bool().Draw(t, "on account") {
		e.GetPieceSold().OnAccount = usdOf(22_000)
	} else {
		e.GetPieceSold().CashRounding = usdOf(rapid.Int64Range(-2, 2).Draw(t, "rounding"))
	}
	back := refunded(20_000, true)
	back.GetSaleRefunded().LoweredDue = usdOf(rapid.Int64Range(0, 20_000).Draw(t, "lowered"))
	first, second := rapid.Int64Range(1, 9_000).Draw(t, "first payment"), rapid.Int64Range(1, 9_000).Draw(t, "second payment")
	given, more := rapid.Int64Range(100, 5_000).Draw(t, "deposit"), rapid.Int64Range(1, 100).Draw(t, "another deposit")
	e.GetPieceSold().Deposit = usdOf(given - 100)
	return []*eventsv1.Envelope{deposited(given), deposited(more), depositSettled(100, eventsv1.DepositSettled_HOW_RETURNED),
		depositSettled(more, eventsv1.DepositSettled_HOW_KEPT), e, paidIn(first, 2), paidIn(second, -1), paidNot(second, -1), back}
}

// dump writes every row of every table, but for how often a sheet changed, and of groups the net alone.
func dump(t testing.TB, db *pg.DB) string {
	t.Helper()
	var all strings.Builder
	err := db.View(t.Context(), func(v pg.Querier) error {
		var tables []string
		if err := v.QueryRow(t.Context(), `SELECT array_agg(tablename::text ORDER BY tablename) FROM pg_tables WHERE schemaname = current_schema()`).Scan(&tables); err != nil {
			return err
		}
		for _, table := range tables {
			rows := `SELECT to_jsonb(r) - '{revision,updated_at}'::text[] FROM ` + table + ` r`
			switch table {
			case "applied":
				rows += ` WHERE version > 0` // else something waits for the first
			case "posting":
				rows = `SELECT to_jsonb(p) - 'position' FROM posting p WHERE group_kind = '' UNION ALL SELECT to_jsonb(g) FROM (
					SELECT group_kind, group_id, account, bucket, piece_id, person_id, stage_id, stage_kind, again, occurred_at, sum(amount) FROM posting WHERE group_kind <> ''
					GROUP BY group_kind, group_id, account, bucket, piece_id, person_id, stage_id, stage_kind, again, occurred_at HAVING sum(amount) <> 0) g`
			}
			var text string
			if err := v.QueryRow(t.Context(), `SELECT coalesce(string_agg(j::text, E'\n' ORDER BY j::text), '') FROM (`+rows+`) AS t (j)`).Scan(&text); err != nil {
				return err
			}
			fmt.Fprintln(&all, table)
			fmt.Fprintln(&all, text)
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return all.String()
}

// drawPlan makes a plan of a piece, does some of it and sends some of it back.
func drawPlan(t *rapid.T, piece id.ID, tell func(*eventsv1.Envelope)) {
	var plan []*eventsv1.StagesPlanned_Stage
	for range rapid.IntRange(0, 3).Draw(t, "stages") {
		plan = append(plan, &eventsv1.StagesPlanned_Stage{StageId: id.New().String(), Kind: "sand", Key: "sand-fine", AttendedMinutes: 30})
	}
	if len(plan) == 0 {
		return
	}
	tell(&eventsv1.Envelope{Payload: &eventsv1.Envelope_StagesPlanned{StagesPlanned: &eventsv1.StagesPlanned{Stages: plan, Route: rapid.SampledFrom([]string{"", "paint", "clear"}).Draw(t, "route")}}})
	for _, s := range plan {
		if rapid.Bool().Draw(t, "done") {
			tell(&eventsv1.Envelope{Payload: &eventsv1.Envelope_StageFinished{StageFinished: &eventsv1.StageFinished{StageId: s.StageId, Kind: s.Kind, Pass: 1}}})
		}
		if rapid.Bool().Draw(t, "sent back") {
			tell(&eventsv1.Envelope{Payload: &eventsv1.Envelope_StageSentBack{StageSentBack: &eventsv1.StageSentBack{StageId: s.StageId,
				Reopened: []*eventsv1.StageSentBack_Reopened{{StageId: s.StageId, Kind: s.Kind, Pass: 2}}}}})
			if rapid.Bool().Draw(t, "inspected") {
				tell(&eventsv1.Envelope{Payload: &eventsv1.Envelope_StageInspected{StageInspected: &eventsv1.StageInspected{StageId: s.StageId, BackToStageId: s.StageId,
					Defects: []*eventsv1.StageInspected_Defect{{Kind: "runs"}}}}})
			}
		}
	}
	if rapid.Bool().Draw(t, "amended") {
		tell(&eventsv1.Envelope{Payload: &eventsv1.Envelope_FinishPlanAmended{FinishPlanAmended: &eventsv1.FinishPlanAmended{
			DroppedStageIds: []string{plan[0].StageId}, Added: []*eventsv1.StagesPlanned_Stage{{StageId: id.New().String(), Kind: "strip"}}}}})
	}
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
