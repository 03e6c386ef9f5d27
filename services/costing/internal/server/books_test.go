package server_test

import (
	"fmt"
	"maps"
	"regexp"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	moneyv1 "google.golang.org/genproto/googleapis/type/money"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	eventsv1 "tackfree/proto/tackfree/events/v1"
)

// An event that cannot be booked is put aside and named; the piece is provisional, other
// pieces go on, and after the producer mended its record a retry books it and what came
// behind it.
func TestServer_DeadLetter(t *testing.T) {
	t.Parallel()
	o := setup(t)
	piece, other := o.takenIn(7, 1_000), o.takenIn(8, 2_000)
	bad := o.from["materials"].add(id.New(), piece, &eventsv1.Envelope{Payload: &eventsv1.Envelope_MaterialIssued{MaterialIssued: &eventsv1.MaterialIssued{
		Cost: &moneyv1.Money{CurrencyCode: "EUR", Units: 3}}}})
	product, _ := id.Parse(bad.AggregateId)
	o.from["materials"].add(product, piece, &eventsv1.Envelope{Payload: &eventsv1.Envelope_MaterialIssued{MaterialIssued: &eventsv1.MaterialIssued{Cost: usd(500)}}})
	o.cost(t, other, func(c *costingv1.PieceCost) bool { return cents(c.Sums.Acquisition) == 2_000 })
	o.cost(t, piece, func(c *costingv1.PieceCost) bool { return c.Provisional && cents(c.Sums.Material) == 0 })

	list, err := o.books.ListDeadLetters(t.Context(), &costingv1.ListDeadLettersRequest{})
	if err != nil || len(list.DeadLetters) != 1 || list.DeadLetters[0].Piece != id.Name("pieces", piece) || list.DeadLetters[0].EventId != bad.EventId {
		t.Fatalf("dead letters = %v, %v", list, err)
	}
	retry := func() *costingv1.RetryDeadLetterRequest {
		return &costingv1.RetryDeadLetterRequest{RequestId: svctest.NewID(), Name: list.DeadLetters[0].Name}
	}
	if _, err := o.books.RetryDeadLetter(svctest.Ctx(t), retry()); !fault.Is(err, "EVENT_REFUSED") {
		t.Errorf("retry = %v, want EVENT_REFUSED", err)
	}
	o.from["materials"].mu.Lock()
	bad.GetMaterialIssued().Cost = usd(300)
	o.from["materials"].mu.Unlock()
	if _, err := o.books.RetryDeadLetter(svctest.Ctx(t), retry()); err != nil {
		t.Fatal(err)
	}
	if c := o.cost(t, piece, func(c *costingv1.PieceCost) bool { return !c.Provisional }); cents(c.Sums.Material) != 800 {
		t.Errorf("material = %d, want 800", cents(c.Sums.Material))
	}
	svctest.Refused(t, o.Service, o.books.RetryDeadLetter, retry(), fault.NotFound, "DEAD_LETTER_NOT_FOUND")
	o.clean(t)
}

// Verify sees a single wrong cent, row, name or version, and Rebuild mends it.
func TestServer_VerifySeesAndRebuildMends(t *testing.T) {
	t.Parallel()
	o := setup(t)
	piece := o.takenIn(7, 1_000)
	o.setRate(t, 2_000, dayOf(3, 1))
	o.worked(piece, monday)
	o.sold(piece, 9_000)
	other := o.takenIn(8, 500) // stays in work
	o.clockedOn(other, monday)
	o.named("Nell Quist")
	o.cleaned(monday.Add(2*time.Hour), time.Hour)
	o.billed(piece, o.sentOut(piece, 7_500), 8_000)
	o.sentOut(other, 9_900)
	o.setAside(monday)
	o.cost(t, piece, func(c *costingv1.PieceCost) bool {
		return cents(c.Sums.Labour) == 2_000 && cents(c.Sums.Acquisition) == 1_000 && cents(c.Sums.Revenue) == 9_000 && cents(c.Sums.Outside) == 8_000
	})
	o.cost(t, other, func(c *costingv1.PieceCost) bool {
		return cents(c.Sums.Acquisition) == 500 && len(c.ProvisionalReasons) == 2
	})
	o.clean(t)
	harms := map[string]string{
		"ACentTooMuch":      `UPDATE posting SET amount = amount + 1 WHERE account = 'work_in_process' AND bucket = 'labour'`,
		"ACentTooLittle":    `UPDATE piece SET labour = labour - 1 WHERE tag = 7`,
		"ACentOnBothSides":  `UPDATE posting SET amount = amount + 1 WHERE tx_id = (SELECT tx_id FROM posting WHERE bucket = 'acquisition' LIMIT 1) AND amount > 0; UPDATE posting SET amount = amount - 1 WHERE tx_id = (SELECT tx_id FROM posting WHERE bucket = 'acquisition' LIMIT 1) AND amount < 0`,
		"ALineGone":         `DELETE FROM posting WHERE ctid = (SELECT ctid FROM posting LIMIT 1)`,
		"ALineTwice":        `INSERT INTO posting SELECT gen_random_uuid(), line, event_id, account, bucket, piece_id, person_id, stage_id, stage_kind, amount, occurred_at, recorded_at FROM posting WHERE tx_id = (SELECT tx_id FROM posting LIMIT 1)`,
		"AnotherDay":        `UPDATE posting SET occurred_at = occurred_at - interval '1 day'`,
		"StandsElsewhere":   `UPDATE posting SET account = 'scrap_loss' WHERE account = 'cost_of_goods_sold'`,
		"MovedAnotherDay":   `UPDATE posting SET occurred_at = occurred_at - interval '1 day' WHERE group_kind = 'place'`,
		"NeverMoved":        `DELETE FROM posting WHERE group_kind = 'place'`,
		"OfAnotherGroup":    `UPDATE posting SET group_id = gen_random_uuid() WHERE group_kind = 'place'`,
		"OfTwoSteps":        `UPDATE posting SET tx_id = gen_random_uuid() WHERE group_kind = 'place' AND account = 'work_in_process'`,
		"OfNoGroup":         `UPDATE posting SET group_kind = '', group_id = NULL WHERE group_kind = 'place'`,
		"WorkGone":          `DELETE FROM stretch`,
		"WorkElsewhere":     `UPDATE stretch SET stage_id = gen_random_uuid() WHERE piece_id IS NOT NULL`,
		"StageCalledOther":  `UPDATE stretch SET stage_key = 'sand-coarse'`,
		"PartCalledOther":   `UPDATE stretch SET part_label = 'back'`,
		"CostElsewhere":     `UPDATE posting SET stage_id = gen_random_uuid() WHERE stage_id IS NOT NULL`,
		"CleaningElsewhere": `UPDATE stretch SET indirect = 'training' WHERE piece_id IS NULL`,
		"ABillTooLow":       `UPDATE piece SET outside = outside - 1 WHERE tag = 7`,
		"ClockForgotten":    `DELETE FROM clock`,
		"ClockOfAnother":    `UPDATE clock SET person_id = gen_random_uuid()`,
		"ClockElsewhere":    `UPDATE clock SET piece_id = gen_random_uuid()`,
		"CaningNotOut":      `DELETE FROM outside_work`,
		"NoBillYet":         `UPDATE outside_work SET unbilled = NOT unbilled`,
		"AnotherQuote":      `UPDATE outside_work SET quoted = quoted - 1`,
		"NobodyWaits":       `DELETE FROM review`,
		"WaitsSinceLater":   `UPDATE review SET since = since + interval '1 week'`,
		"AWeekTangled":      `INSERT INTO tangled_week (person_id, week, since) SELECT person_id, '2026-03-02', started_at FROM stretch LIMIT 1`,
		"AnotherName":       `UPDATE person SET name = 'Nell'`,
		"ANameGone":         `DELETE FROM person`,
		"NobodyOnTheClock":  `UPDATE piece SET running = 0`,
		"SaleGone":          `DELETE FROM mark`,
		"ASheetGone":        `DELETE FROM piece WHERE tag = 8`,
		"AnotherTitle":      `UPDATE piece SET title = 'Bench' WHERE tag = 8`,
		"NotSold":           `UPDATE piece SET sales_state = 'listed' WHERE tag = 7`,
		"AVersionTooEarly":  `UPDATE applied SET version = version - 1 WHERE producer = 'workflow'`,
		"AVersionTooLate":   `UPDATE applied SET version = version + 1 WHERE producer = 'workflow'`,
		"AnAggregateTooFew": `DELETE FROM applied WHERE producer = 'sales'`,
	}
	o.exec(t, "SET search_path = costing; "+keptBooks)
	for name, harm := range harms {
		t.Run(name, func(t *testing.T) {
			o.exec(t, harm)
			r, err := o.books.Verify(t.Context(), &costingv1.VerifyRequest{})
			if err != nil {
				t.Fatal(err)
			}
			if r.Clean || r.DifferenceCount == 0 || len(r.Differences) == 0 {
				t.Error("the books verify")
			}
			o.exec(t, mendedBooks+"; "+sameBooks)
		})
	}
	for some := range slices.Chunk(slices.Sorted(maps.Keys(harms)), 10) { // a rebuild costs as much of one harm as of many
		for _, name := range some {
			o.exec(t, harms[name])
		}
		if _, err := o.books.Rebuild(t.Context(), &costingv1.RebuildRequest{}); err != nil {
			t.Fatal(err)
		}
		o.exec(t, sameBooks)
	}
	o.clean(t)
}

// keptBooks copies what the books say of a shop, mendedBooks puts the copies back, and sameBooks fails where the books
// say something else than the copies do: in which order the books took things in, how often a sheet changed, and by
// which steps a group came to what it comes to, is left out.
var keptBooks, mendedBooks, sameBooks = func() (kept, mended, same string) {
	for _, table := range []string{"posting", "piece", "stretch", "clock", "outside_work", "review", "tangled_week", "person", "mark", "applied"} {
		kept += "CREATE TABLE kept_" + table + " AS TABLE " + table + "; "
		mended += "DELETE FROM " + table + "; INSERT INTO " + table + " TABLE kept_" + table + "; "
	}
	apart := "false"
	for _, says := range []string{
		`SELECT to_jsonb(p) - '{position}'::text[] FROM %sposting p WHERE group_kind = ''`,
		`SELECT account, bucket, piece_id, group_kind, group_id, occurred_at, sum(amount) FROM %sposting WHERE group_kind <> '' GROUP BY 1, 2, 3, 4, 5, 6 HAVING sum(amount) <> 0`,
		`SELECT to_jsonb(p) - '{revision,updated_at}'::text[] FROM %spiece p`, `SELECT producer, aggregate_id, version FROM %sapplied WHERE version > 0`,
		`TABLE %sstretch`, `TABLE %sclock`, `TABLE %soutside_work`, `TABLE %sreview`, `TABLE %stangled_week`, `TABLE %sperson`, `TABLE %smark`,
	} {
		now, then := fmt.Sprintf(says, ""), fmt.Sprintf(says, "kept_")
		apart += " OR EXISTS (" + now + " EXCEPT ALL " + then + ") OR EXISTS (" + then + " EXCEPT ALL " + now + ")"
	}
	return kept, strings.TrimSuffix(mended, "; "), "SELECT 1 / (1 - (" + apart + ")::integer)"
}()

// Of a ledger line, a difference says which it is, on which account and how much, and on which side.
func TestServer_Verify_TellsLedgerLinesInWords(t *testing.T) {
	t.Parallel()
	o := setup(t)
	piece := o.takenIn(7, 1_000)
	o.cost(t, piece, func(c *costingv1.PieceCost) bool { return cents(c.Sums.Cost) == 1_000 })
	lines, err := o.answers.ListCostLines(t.Context(), &costingv1.ListCostLinesRequest{Piece: id.Name("pieces", piece), All: true})
	if err != nil || len(lines.Lines) != 2 {
		t.Fatalf("lines = %v, %v", lines, err)
	}
	tx := lines.Lines[0].Transaction
	o.exec(t, `UPDATE costing.posting SET amount = -1050 WHERE account = 'cash_clearing'; UPDATE costing.posting SET occurred_at = occurred_at - interval '1 day' WHERE account = 'work_in_process'`)
	r, err := o.books.Verify(t.Context(), &costingv1.VerifyRequest{})
	if err != nil {
		t.Fatal(err)
	}
	want := []string{
		"transaction " + tx + ", line 1, Work in process, 10.00: in the books only; the events give it another occurred at",
		"transaction " + tx + ", line 2, Cash clearing, -10.50: in the books only; the events give it another amount",
		"transaction " + tx + ", line 1, Work in process, 10.00: by the events only; the books have another occurred at",
		"transaction " + tx + ", line 2, Cash clearing, -10.00: by the events only; the books have another amount",
	}
	differ(t, "differences", want, r.Differences[:min(len(r.Differences), len(want))])

	o.exec(t, `DELETE FROM costing.posting WHERE account = 'cash_clearing'`)
	if r, err = o.books.Verify(t.Context(), &costingv1.VerifyRequest{}); err != nil || !slices.Contains(r.Differences, "transaction "+tx+", line 2, Cash clearing, -10.00: by the events only") {
		t.Errorf("of a line that is gone: %v, %v", r, err)
	}
}

// Of any other row a difference says of which piece it is, and in what the two sides differ, amounts as people write them;
// one that only one side has is told of that side.
func TestServer_Verify_TellsRowsInWords(t *testing.T) {
	t.Parallel()
	o := setup(t)
	piece, other := o.takenIn(7, 1_000), o.takenIn(8, 500)
	o.setRate(t, 2_000, dayOf(3, 1))
	entry := o.tell(piece, o.span(monday, time.Hour))
	o.cleaned(monday.Add(2*time.Hour), time.Hour)
	o.cost(t, piece, func(c *costingv1.PieceCost) bool { return cents(c.Sums.Labour) == 2_000 })
	o.cost(t, other, func(c *costingv1.PieceCost) bool { return cents(c.Sums.Cost) == 500 })
	o.clean(t)
	o.exec(t, `SET search_path = costing;
		UPDATE piece SET labour = labour + 30, labour_ms = 0 WHERE tag = 7; DELETE FROM piece WHERE tag = 8;
		UPDATE stretch SET part_label = 'back' WHERE piece_id IS NOT NULL; DELETE FROM stretch WHERE piece_id IS NULL`)
	r, err := o.books.Verify(t.Context(), &costingv1.VerifyRequest{})
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{
		"piece 7, labour: 20.30 in the books, 20.00 by the events; labour time: 0s in the books, 1h0m0s by the events",
		"piece 8: by the events only",
		"clock entry " + entry.EntryId + " of Nell, of piece 7, told by event * part label: back in the books, nothing by the events",
		"clock entry * of Nell, on no piece, told by event *: by the events only",
		"piece 7: 30.00 in process or finished, of a cost of 30.30",
		"piece 7, labour: 20.30 on its cost sheet, 20.00 by its ledger lines",
	} {
		if !slices.ContainsFunc(r.Differences, like(want)) {
			t.Errorf("no difference says %q: %q", want, r.Differences)
		}
	}
	if r.DifferenceCount != int64(len(r.Differences)) {
		t.Errorf("%d differences, and it tells %q", r.DifferenceCount, r.Differences)
	}
}

// like reports texts that have the parts between asterisks in their order, the first at the beginning and the last at
// the end.
func like(want string) func(string) bool {
	var parts []string
	for _, part := range strings.Split(want, "*") {
		parts = append(parts, regexp.QuoteMeta(part))
	}
	return regexp.MustCompile("^" + strings.Join(parts, ".*") + "$").MatchString
}

// What several events decide together is told by its account and amount too.
func TestServer_Verify_TellsGroupsInWords(t *testing.T) {
	t.Parallel()
	o := setup(t)
	piece := o.takenIn(7, 1_000)
	o.sold(piece, 9_000)
	o.cost(t, piece, func(c *costingv1.PieceCost) bool { return cents(c.Sums.Revenue) == 9_000 })
	o.exec(t, `UPDATE costing.posting SET account = 'scrap_loss' WHERE account = 'cost_of_goods_sold'`)
	r, err := o.books.Verify(t.Context(), &costingv1.VerifyRequest{})
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"Cost of goods sold, 10.00: by the events only", "10.00: in the books only"} {
		if !slices.ContainsFunc(r.Differences, func(d string) bool {
			return strings.HasPrefix(d, "decided together as place "+piece.String()+", as of ") && strings.HasSuffix(d, want)
		}) {
			t.Errorf("no difference says %q: %q", want, r.Differences)
		}
	}
}

// People work while the books are verified and rebuilt; neither sees a difference that is
// none, and nothing is lost or booked twice.
func TestServer_VerifyAndRebuildWhileWorkGoesOn(t *testing.T) {
	t.Parallel()
	o := setup(t)
	piece := o.takenIn(7, 1_000)
	o.setRate(t, 2_000, dayOf(3, 1))
	const hours = 400
	var working sync.WaitGroup
	working.Go(func() {
		for n := range hours {
			o.worked(piece, monday.Add(time.Duration(n)*time.Hour))
			<-time.After(5 * time.Millisecond)
		}
	})
	for range 4 {
		o.clean(t)
		r, err := o.books.Rebuild(t.Context(), &costingv1.RebuildRequest{})
		if err != nil {
			t.Fatal(err)
		}
		if r.DifferenceCount != 0 {
			t.Logf("the rebuild was ahead in %d rows", r.DifferenceCount) // the live books were behind, not wrong
		}
	}
	working.Wait()
	c := o.cost(t, piece, func(c *costingv1.PieceCost) bool { return c.Sums.LabourTime.AsDuration() == hours*time.Hour })
	if cents(c.Sums.Labour) != hours*2_000 {
		t.Errorf("labour = %d, want %d", cents(c.Sums.Labour), hours*2_000)
	}
	o.clean(t)
}

// Books that cannot be compared with every record are not called right, or touched.
func TestServer_VerifyAndRebuildNeedTheProducers(t *testing.T) {
	t.Parallel()
	o := setup(t)
	piece := o.takenIn(7, 1_000)
	o.cost(t, piece, func(c *costingv1.PieceCost) bool { return cents(c.Sums.Acquisition) == 1_000 })
	o.from["sales"].setAway(true)
	if _, err := o.books.Verify(t.Context(), &costingv1.VerifyRequest{}); !fault.Is(err, "AWAY") {
		t.Errorf("Verify = %v, want AWAY", err)
	}
	if _, err := o.books.Rebuild(t.Context(), &costingv1.RebuildRequest{}); !fault.Is(err, "AWAY") {
		t.Errorf("Rebuild = %v, want AWAY", err)
	}
	o.cost(t, piece, func(c *costingv1.PieceCost) bool { return cents(c.Sums.Acquisition) == 1_000 })
	eventually := time.Now().Add(10 * time.Second)
	for {
		p, err := o.books.GetProgress(t.Context(), &costingv1.GetProgressRequest{})
		if err == nil && p.Trouble == "sales: It is away for the moment." {
			break
		}
		if time.Now().After(eventually) {
			t.Fatalf("progress = %v, %v; want it to tell of sales", p, err)
		}
		<-time.After(20 * time.Millisecond)
	}
	o.from["sales"].setAway(false)
	o.clean(t)
}

// A producer that comes back from a backup may have issued versions again with other
// content: the books follow what it holds now.
func TestServer_ProducerRestored(t *testing.T) {
	t.Parallel()
	o := setup(t)
	piece := o.takenIn(7, 1_000)
	o.cost(t, piece, func(c *costingv1.PieceCost) bool { return cents(c.Sums.Acquisition) == 1_000 })
	intake := o.from["intake"]
	intake.mu.Lock()
	intake.epoch = "two"
	intake.events[0].Epoch = "two"
	intake.events[0].EventId = id.New().String()
	intake.events[0].GetPieceTakenIn().GetPurchase().Price = usd(1_500)
	intake.mu.Unlock()
	o.cost(t, piece, func(c *costingv1.PieceCost) bool { return cents(c.Sums.Acquisition) == 1_500 })
	o.clean(t)
}
