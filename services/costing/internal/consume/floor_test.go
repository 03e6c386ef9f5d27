package consume_test

import (
	"slices"
	"testing"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/id"
	"tackfree/pkg/inbox"
	"tackfree/pkg/money"
	"tackfree/pkg/pg"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	"tackfree/services/costing/internal/costing"
	"tackfree/services/costing/internal/store"
)

// Time that belongs to no piece is owed to the person all the same, and is no piece's cost.
func TestHandler_Indirect(t *testing.T) {
	db, piece := books(t), id.New()
	rate(t, db, 2_000, monday.Add(-time.Hour))
	sanding, cleaning := span(60, 1), indirect(span(30, 1))
	err := apply(t, db,
		event("workflow", piece, 1, piece, clockedOff(sanding)),
		event("workflow", nell, 1, id.Nil, running(cleaning)),
		event("workflow", nell, 2, id.Nil, clockedOff(cleaning)))
	if err != nil {
		t.Fatal(err)
	}
	for account, want := range map[costing.Account]int64{costing.WagesPayable: -3_000, "indirect_labour": 1_000, costing.WorkInProcess: 2_000} {
		if got := balance(t, db, account); got != want {
			t.Errorf("%s = %d, want %d", account, got, want)
		}
	}
	if got := sheet(t, db, piece); got.Labour != 2_000 || got.LabourTime != time.Hour || count(t, db, "piece") != 1 {
		t.Errorf("sheet = %+v, want the hour of sanding alone", got)
	}
}

// A correction to what belongs to no piece is two events, of two aggregates: the hour leaves
// the piece and comes to the person, whichever is known first.
func TestHandler_CorrectedToIndirect(t *testing.T) {
	for _, personFirst := range []bool{false, true} {
		db, piece := books(t), id.New()
		rate(t, db, 2_000, monday.Add(-time.Hour))
		wrong := span(60, 1)
		taken, given := event("workflow", piece, 2, piece, corrected(wrong, nil)), event("workflow", nell, 1, id.Nil, corrected(nil, indirect(span(60, 1))))
		first, second := taken, given
		if personFirst {
			first, second = given, taken
		}
		if err := apply(t, db, event("workflow", piece, 1, piece, clockedOff(wrong)), first); err != nil {
			t.Fatal(err)
		}
		if err := apply(t, db, second); err != nil {
			t.Fatal(err)
		}
		if got := sheet(t, db, piece); got.Labour != 0 || got.LabourTime != 0 || len(got.Work) != 0 {
			t.Errorf("sheet = %+v, want nothing of the hour", got)
		}
		if wages, indirect := balance(t, db, costing.WagesPayable), balance(t, db, "indirect_labour"); wages != -2_000 || indirect != 2_000 {
			t.Errorf("wages payable %d, indirect labour %d; want -2000 and 2000", wages, indirect)
		}
	}
}

// The shares of three pieces that were sprayed in one go are owed as the hour is, in whatever order
// they come, and when one is taken away nothing is left of it.
func TestHandler_Shares(t *testing.T) {
	db := books(t)
	rate(t, db, 2_000, monday.Add(-time.Hour))
	pieces := []id.ID{id.New(), id.New(), id.New()}
	var all []inbox.Event
	var second *eventsv1.ClockSpan
	for i, piece := range pieces {
		s := span(20*(i+1), 1)
		s.Start = timestamppb.New(monday.Add(time.Duration(20*i) * time.Minute))
		s = share(s, -20*i)
		if i == 1 {
			second = s
		}
		all = append(all, event("workflow", piece, 1, piece, clockedOff(s)))
	}
	slices.Reverse(all)
	for _, e := range all {
		if err := apply(t, db, e); err != nil {
			t.Fatal(err)
		}
	}
	for i, want := range []money.Amount{667, 666, 667} {
		if got := sheet(t, db, pieces[i]).Labour; got != want {
			t.Errorf("piece %d costs %d, want %d", i, got, want)
		}
	}
	if err := apply(t, db, event("workflow", pieces[1], 2, pieces[1], corrected(second, nil))); err != nil {
		t.Fatal(err)
	}
	if got, owed := sheet(t, db, pieces[1]).Labour, balance(t, db, costing.WagesPayable); got != 0 || owed != -1_334 {
		t.Errorf("taken away, the piece costs %d and %d are owed; want 0 and -1334", got, owed)
	}
}

// What others bill is the piece's cost, in a later pass as rework; when the bill comes after
// the sale it goes to the cost of goods sold, and a correction of it goes there too.
func TestHandler_OutsideWork(t *testing.T) {
	db, piece := books(t), id.New()
	err := apply(t, db,
		event("intake", piece, 1, piece, takenIn(4_550)),
		event("workflow", piece, 1, piece, billed(8_000, 1)),
		event("workflow", piece, 2, piece, billed(1_500, 2)),
		event("sales", piece, 1, piece, sold(30_000)))
	if err != nil {
		t.Fatal(err)
	}
	if got := sheet(t, db, piece); got.Outside != 8_000 || got.Rework != 1_500 || got.Cost() != 4_550+8_000+1_500 {
		t.Errorf("sheet = %+v", got)
	}
	err = apply(t, db,
		event("workflow", piece, 3, piece, billCorrected(id.New(), usdOf(8_000), 7_250, 1)),
		event("workflow", piece, 4, piece, billCorrected(id.New(), usdOf(1_500), 1_600, 2)),
		event("workflow", piece, 5, piece, billed(900, 1)))
	if err != nil {
		t.Fatal(err)
	}
	if got := sheet(t, db, piece); got.Outside != 7_250+900 || got.Rework != 1_600 {
		t.Errorf("sheet after the corrections = %+v", got)
	}
	const all = 7_250 + 900 + 1_600
	for account, want := range map[costing.Account]int64{"accounts_payable": -all, "cost_of_goods_sold": 4_550 + all, costing.WorkInProcess: 0} {
		if got := balance(t, db, account); got != want {
			t.Errorf("%s = %d, want %d", account, got, want)
		}
	}
}

// A piece that is sold while a part of it is at others shows no final profit until that is
// back, and billed or called off; each is a change of the sheet. A bill that comes later than the
// work may say that it cost nothing.
func TestHandler_OutsideWorkIsOut(t *testing.T) {
	db, piece, cane, stain, glass := books(t), id.New(), id.New(), id.New(), id.New()
	const caning, staining, unbilled = "caning by Rush & Reed is out, quoted 99.00", "staining by Rush & Reed is out", "no bill yet from Rush & Reed for caning"
	for n, step := range []struct {
		e    inbox.Event
		want []string
	}{
		{event("workflow", piece, 1, piece, sentOut(cane, "caning", usdOf(99_00))), []string{caning}},
		{event("workflow", piece, 2, piece, sentOut(stain, "staining", nil)), []string{caning, staining}},
		{event("sales", piece, 1, piece, sold(30_000)), []string{caning, staining}},
		{event("workflow", piece, 3, piece, cameBack(cane, usdOf(101_00), 1)), []string{staining}},
		{event("workflow", piece, 4, piece, calledOff(stain)), nil},
		{event("workflow", piece, 5, piece, sentOut(glass, "caning", nil)), []string{"caning by Rush & Reed is out"}},
		{event("workflow", piece, 6, piece, cameBack(glass, nil, 1)), []string{unbilled}},
		{event("workflow", piece, 7, piece, billCorrected(cane, usdOf(101_00), 99_00, 1)), []string{unbilled}},
		{event("workflow", piece, 8, piece, billCorrected(glass, nil, 0, 1)), nil},
	} {
		if err := apply(t, db, step.e); err != nil {
			t.Fatal(err)
		}
		got := sheet(t, db, piece)
		if open := got.Open(time.UTC, usd); !slices.Equal(open, step.want) || got.Revision != int64(n+1) {
			t.Errorf("step %d: Open = %q in revision %d, want %q in %d", n+1, open, got.Revision, step.want, n+1)
		}
	}
	if got := sheet(t, db, piece); got.Outside != 99_00 {
		t.Errorf("outside work = %d, want the bill", got.Outside)
	}
}

// What waits for the lead is known until they settle it, since when it says it began; what only
// ends a clock, since its end.
func TestHandler_WhatWaitsForTheLead(t *testing.T) {
	db, overlap, late, bus := books(t), id.New(), id.New(), id.New()
	end := span(60, 1)
	end.Start = nil
	for v, step := range []struct {
		e           *eventsv1.Envelope
		early, late []string // since before 14:30, and before 15:30
	}{
		{added(nell, "Nell Quist"), nil, nil},
		{setAside(overlap, span(30, 1)), []string{"Nell Quist"}, []string{"Nell Quist"}},
		{setAside(late, end), []string{"Nell Quist"}, []string{"Nell Quist"}},
		{settled(overlap), nil, []string{"Nell Quist"}},
		{settled(late), nil, nil},
		{forgotten(bus, span(600, 1)), []string{"Nell Quist"}, []string{"Nell Quist"}},
		{settled(bus), nil, nil},
		{settled(id.New()), nil, nil}, // of one that was raised before reviews were booked
	} {
		if err := apply(t, db, event("workflow", nell, int64(v+1), id.Nil, step.e)); err != nil {
			t.Fatal(err)
		}
		for before, want := range map[time.Duration][]string{0: nil, 30 * time.Minute: step.early, 90 * time.Minute: step.late} {
			if got := waiting(t, db, monday.Add(before)); !slices.Equal(got, want) {
				t.Errorf("step %d, since before %v: %q, want %q", v+1, before, got, want)
			}
		}
	}
}

func waiting(t *testing.T, db *pg.DB, before time.Time) (names []string) {
	t.Helper()
	err := db.View(t.Context(), func(q pg.Querier) (err error) {
		names, err = store.New(q).ReviewedBefore(t.Context(), before)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return names
}

// Who is on the clock is known until they end, at a piece or at none; a correction begins no
// clock, and who comes later does not count for an earlier instant.
func TestHandler_WhoIsOnTheClock(t *testing.T) {
	db, piece := books(t), id.New()
	bo := id.New()
	sanding, cleaning := span(60, 1), indirect(span(30, 1))
	cleaning.PersonId, cleaning.PersonName = bo.String(), "Bo"
	for n, step := range []struct {
		events []*eventsv1.Envelope // of the piece, then of Bo
		want   []string
	}{
		{[]*eventsv1.Envelope{running(sanding), running(cleaning)}, []string{"Bo", "Nell"}},
		{[]*eventsv1.Envelope{clockedOff(sanding), renamed(bo, "Boris")}, []string{"Boris"}},
		{[]*eventsv1.Envelope{corrected(sanding, span(50, 1)), clockedOff(cleaning)}, nil},
	} {
		err := apply(t, db, event("workflow", piece, int64(n+1), piece, step.events[0]), event("workflow", bo, int64(n+1), id.Nil, step.events[1]))
		if err != nil {
			t.Fatal(err)
		}
		if got := onTheClock(t, db, monday.Add(time.Second)); !slices.Equal(got, step.want) {
			t.Errorf("step %d: on the clock = %q, want %q", n+1, got, step.want)
		}
		if got := onTheClock(t, db, monday); got != nil {
			t.Errorf("step %d: %q were on the clock before it began", n+1, got)
		}
	}
}

func onTheClock(t *testing.T, db *pg.DB, before time.Time) (names []string) {
	t.Helper()
	err := db.View(t.Context(), func(q pg.Querier) (err error) {
		names, err = store.New(q).RunningBefore(t.Context(), before)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return names
}
