package server_test

import (
	"fmt"
	"testing"
	"time"

	"google.golang.org/genproto/googleapis/type/date"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/pg"
	"tackfree/pkg/svctest"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	"tackfree/services/costing/costingsvc"
)

// taken is a journal that somebody took: the ids of its entries, and the position to go on from.
type taken struct {
	entries  []string
	position int64
}

// take reads a journal by pages of so many entries, and lets something happen after the first.
func (o *office) take(t *testing.T, r *costingv1.ListJournalRequest, size int32, after func()) (got taken) {
	t.Helper()
	r.PageSize, r.PageToken = size, ""
	for n := 0; ; n++ {
		page, err := o.answers.ListJournal(t.Context(), r)
		if err != nil {
			t.Fatal(err)
		}
		if n > 0 && page.Position != got.position {
			t.Errorf("page %d goes up to position %d, the first to %d", n, page.Position, got.position)
		}
		got.position = page.Position
		for _, e := range page.Entries {
			got.entries = append(got.entries, e.Id)
		}
		if n == 0 && after != nil {
			after()
		}
		if r.PageToken = page.NextPageToken; r.PageToken == "" {
			return got
		}
	}
}

// backAgain tells of 10.00 that were given back of the stool's price, and were written down before the rest of
// the books was, and waits until they are booked.
func (b *bench) backAgain(t *testing.T) {
	t.Helper()
	before := cents(b.cost(t, b.stool, func(*costingv1.PieceCost) bool { return true }).Sums.Revenue)
	e := &eventsv1.Envelope{Payload: &eventsv1.Envelope_SaleRefunded{SaleRefunded: &eventsv1.SaleRefunded{Price: usd(10_00)}}}
	e.OccurredAt, e.RecordedAt = timestamppb.New(march(11, 10, 0)), timestamppb.New(march(11, 10, 0))
	b.from["sales"].add(b.stool, b.stool, e)
	b.cost(t, b.stool, func(c *costingv1.PieceCost) bool { return cents(c.Sums.Revenue) == before-10_00 })
}

// whole holds a list of journals that were taken one after the other against the one journal of now: each
// entry of it is in one of them, once.
func (b *bench) whole(t *testing.T, parts ...taken) {
	t.Helper()
	times := map[string]int{}
	for _, part := range parts {
		for _, e := range part.entries {
			times[e]++
		}
	}
	for _, e := range b.take(t, &costingv1.ListJournalRequest{}, 1000, nil).entries {
		if times[e] != 1 {
			t.Errorf("entry %s was taken %d times", e, times[e])
		}
		delete(times, e)
	}
	if len(times) > 0 {
		t.Errorf("the books have not what was taken: %v", times)
	}
}

// Who goes on from a position gets what the books took in since, whenever it was written down; what comes in
// while the pages are read is of the next time, however early its day is.
func TestServer_ListJournal_AfterPosition(t *testing.T) {
	t.Parallel()
	b := setupBench(t)
	first := b.take(t, &costingv1.ListJournalRequest{}, 2, func() { b.backAgain(t) })
	second := b.take(t, &costingv1.ListJournalRequest{AfterPosition: first.position}, 2, nil)
	if len(second.entries) == 0 || second.position <= first.position {
		t.Errorf("after position %d it has %d entries, up to %d", first.position, len(second.entries), second.position)
	}
	b.whole(t, first, second)
	nothing := b.take(t, &costingv1.ListJournalRequest{AfterPosition: second.position}, 2, nil)
	if len(nothing.entries) > 0 || nothing.position != second.position {
		t.Errorf("where nothing came in it has %v, up to %d, not %d", nothing.entries, nothing.position, second.position)
	}
	b.backAgain(t)
	b.backAgain(t)
	third := b.take(t, &costingv1.ListJournalRequest{AfterPosition: second.position, ToDate: dayOf(3, 10)}, 1, nil)
	fourth := b.take(t, &costingv1.ListJournalRequest{AfterPosition: second.position, FromDate: dayOf(3, 11)}, 1, nil)
	if len(third.entries) > 0 || third.position != fourth.position || len(fourth.entries) < 2 {
		t.Errorf("two things of the 11th are new: until the 10th %v, from it on %v", third, fourth)
	}
	b.whole(t, first, second, third, fourth)
	_, err := b.answers.ListJournal(t.Context(), &costingv1.ListJournalRequest{AfterPosition: fourth.position + 1})
	if !fault.Is(err, "POSITION_AHEAD") {
		t.Errorf("after a position that no books came to: %v", err)
	}
}

// remade makes the books anew after they were harmed, and says from which day the journal is another.
func (o *office) remade(t *testing.T, harm string) *date.Date {
	t.Helper()
	o.exec(t, "SET search_path = costing; "+harm)
	r, err := o.books.Rebuild(t.Context(), &costingv1.RebuildRequest{})
	if err != nil {
		t.Fatal(err)
	}
	return r.JournalFromDate
}

// harms are what may become of the books of the 12th at three.
var harms = map[string]string{
	"TwoLinesOfAnAmount": `UPDATE posting SET amount = 2 * amount WHERE occurred_at = '2026-03-12 15:00+00' AND account IN ('revenue', 'cash_clearing')`,
	"OneLineOfAnAccount": `UPDATE posting SET account = 'tax_payable' WHERE occurred_at = '2026-03-12 15:00+00' AND account = 'revenue'`,
	anEntryOfNothing: `INSERT INTO posting (tx_id, line, event_id, account, bucket, stage_kind, amount, occurred_at, recorded_at)
		SELECT '018f0000-0000-7000-8000-00000000000a', n, '018f0000-0000-7000-8000-00000000000a', 'cash_clearing', '', '', 3 - 2 * n, '2026-03-12 15:00+00', now() FROM generate_series(1, 2) AS n`,
	"AnEntryLost":             `DELETE FROM posting WHERE occurred_at = '2026-03-12 15:00+00' AND group_kind = ''`,
	"WhatSeveralEventsDecide": `UPDATE posting SET amount = 2 * amount WHERE occurred_at = '2026-03-12 15:00+00' AND group_kind <> ''`,
}

// anEntryOfNothing is the harm of which a rebuild only takes something out.
const anEntryOfNothing = "AnEntryOfNothing"

// A rebuild that puts other entries in place says from which day on the journal is another. Who goes on from
// a position before it is told, unless only what is before that day is asked; what was right keeps its
// position.
func TestServer_ListJournal_MadeAnew(t *testing.T) {
	t.Parallel()
	b := setupBench(t)
	b.clean(t) // which catches up
	if day := b.remade(t, ""); day != nil {
		t.Errorf("the books were right, and the journal is another from %v on", day)
	}
	const right = `SELECT string_agg(concat(tx_id, line, position), ' ' ORDER BY tx_id, line) FROM costing.posting WHERE occurred_at < '2026-03-12 15:00+00'`
	were := b.text(t, right)
	for what, harm := range harms {
		before := b.take(t, &costingv1.ListJournalRequest{}, 1000, nil).position
		if day := b.remade(t, harm); day.GetMonth() != 3 || day.GetDay() != 12 {
			t.Errorf("%s: the journal is said to be another from %v on, not from the 12th", what, day)
		}
		b.putWhole(t, what)
		_, err := b.answers.ListJournal(t.Context(), &costingv1.ListJournalRequest{AfterPosition: before})
		if !fault.Is(err, "JOURNAL_REMADE") || fault.Of(err).Meta["from_date"] != "2026-03-12" {
			t.Errorf("%s: who goes on is told %v", what, err)
		}
		if early := b.take(t, &costingv1.ListJournalRequest{AfterPosition: before, ToDate: dayOf(3, 11)}, 1000, nil); len(early.entries) > 0 {
			t.Errorf("%s: before the 12th %v are new", what, early.entries)
		}
		early, late := b.take(t, &costingv1.ListJournalRequest{ToDate: dayOf(3, 11)}, 1000, nil), b.take(t, &costingv1.ListJournalRequest{FromDate: dayOf(3, 12)}, 1000, nil)
		b.whole(t, early, late)
		if next := b.take(t, &costingv1.ListJournalRequest{AfterPosition: late.position}, 1000, nil); len(next.entries) > 0 {
			t.Errorf("%s: after it was taken anew, %v are new", what, next.entries)
		}
		b.clean(t)
	}
	if b.text(t, right) != were {
		t.Error("lines that were right have another position")
	}
}

// putWhole wants that the last rebuild has put entries in after itself, and each of them whole.
func (b *bench) putWhole(t *testing.T, what string) {
	t.Helper()
	some := b.text(t, `SELECT (count(*) > 0)::text FROM costing.posting WHERE position > (SELECT max(position) FROM costing.remade)`)
	if want := fmt.Sprint(what != anEntryOfNothing); some != want {
		t.Errorf("%s: that lines come after the rebuild is %s, want %s", what, some, want)
	}
	torn := b.text(t, `SELECT count(*)::text FROM (SELECT tx_id FROM costing.posting, (SELECT max(position) AS at FROM costing.remade) AS r GROUP BY tx_id, at HAVING min(position) < at AND max(position) > at) AS m`)
	if torn != "0" {
		t.Errorf("%s: %s entries are in part from before the rebuild", what, torn)
	}
}

// setBack tells the books that their database was set back to a backup.
func (o *office) setBack(t *testing.T) {
	t.Helper()
	db, err := pg.Open(t.Context(), pg.Config{URL: o.URL, Schema: costingsvc.Name}, nil)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	if noted, err := costingsvc.Restored(t.Context(), db); err != nil || !noted {
		t.Fatal(noted, err)
	}
}

// Books that were set back to a backup have entries of other things where those are that somebody took in the time
// that is lost. Once they were told, who goes on from there is refused, also when they have long passed it, and who
// goes on from what the backup knows has what is new.
func TestServer_ListJournal_SetBack(t *testing.T) {
	t.Parallel()
	b := setupBench(t)
	b.clean(t)
	first := b.take(t, &costingv1.ListJournalRequest{}, 1000, nil)
	lost := first.position + 2 // two lines, of which the backup knows nothing
	b.setBack(t)
	for range 3 {
		b.backAgain(t)
	}
	_, err := b.answers.ListJournal(t.Context(), &costingv1.ListJournalRequest{AfterPosition: lost, ToDate: dayOf(3, 1)})
	if !fault.Is(err, "JOURNAL_REMADE") || fault.Of(err).Meta["from_date"] != "" {
		t.Errorf("who goes on from a position that is lost is told %v", err)
	}
	next := b.take(t, &costingv1.ListJournalRequest{AfterPosition: first.position}, 2, nil)
	b.whole(t, first, next)
	b.backAgain(t)
	b.whole(t, first, next, b.take(t, &costingv1.ListJournalRequest{AfterPosition: next.position}, 2, nil))
}

// Where the books change under somebody who reads them page by page, the pages do not belong together, and
// they are told.
func TestServer_ListJournal_ChangesBetweenPages(t *testing.T) {
	t.Parallel()
	o := paying(t)
	o.twoPieces(t)
	for what, change := range map[string]func(){
		"Rebuilt": func() {
			o.remade(t, `UPDATE posting SET amount = 2 * amount WHERE account IN ('revenue', 'cash_clearing')`)
		},
		"Closed": func() { o.closeMonth(t, 3, toSold) },
	} {
		r := &costingv1.ListJournalRequest{PageSize: 1}
		first, err := o.answers.ListJournal(t.Context(), r)
		if err != nil || first.NextPageToken == "" {
			t.Fatal(first, err)
		}
		change()
		r.PageToken = first.NextPageToken
		if _, err := o.answers.ListJournal(t.Context(), r); !fault.Is(err, "JOURNAL_CHANGED") {
			t.Errorf("%s between two pages: %v", what, err)
		}
	}
	first, err := o.answers.ListJournal(t.Context(), &costingv1.ListJournalRequest{PageSize: 1})
	if err != nil {
		t.Fatal(err)
	}
	o.reopened(t, 3)
	if _, err := o.answers.ListJournal(t.Context(), &costingv1.ListJournalRequest{PageSize: 1, PageToken: first.NextPageToken}); !fault.Is(err, "JOURNAL_CHANGED") {
		t.Errorf("opened again between two pages: %v", err)
	}
}

func TestServer_ListJournal_Refuses(t *testing.T) {
	t.Parallel()
	o := paying(t)
	for what, r := range map[string]*costingv1.ListJournalRequest{
		"WithADay":      {CountedMonth: dayOf(3, 1), FromDate: dayOf(3, 1)},
		"WithALastDay":  {CountedMonth: dayOf(3, 1), ToDate: dayOf(3, 1)},
		"WithAPosition": {CountedMonth: dayOf(3, 1), AfterPosition: 1},
		"WithATime":     {CountedMonth: dayOf(3, 1), RecordedSince: timestamppb.New(time.Unix(0, 0))},
	} {
		t.Run(what, func(t *testing.T) {
			svctest.Refused(t, o.Service, o.answers.ListJournal, r, fault.Invalid, "MONTH_ALONE")
		})
	}
	svctest.Refused(t, o.Service, o.answers.ListJournal, &costingv1.ListJournalRequest{CountedMonth: &date.Date{Year: 1999, Month: 1, Day: 1}}, fault.Invalid, "DATE_ABSURD")
	svctest.Refused(t, o.Service, o.answers.ListJournal, &costingv1.ListJournalRequest{AfterPosition: -1}, fault.Invalid, "INVALID_FIELD")
	_ = id.Nil
}
