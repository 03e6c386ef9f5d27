package server_test

import (
	"slices"
	"sync"
	"testing"
	"time"

	"google.golang.org/protobuf/types/known/durationpb"

	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	eventsv1 "tackfree/proto/tackfree/events/v1"
)

const (
	notOver   = "the workweek of 2026-03-02 is not over: overtime may still change this"
	notBooked = "not all hours of Nell in the week of 2026-03-02 are booked yet, or some wait for the lead: overtime may still change this"
	tangled   = "the hours of Nell in the week of 2026-03-02 contradict each other (2026-03-02 10:00 is there twice, or was taken away and never there); until they are corrected overtime counts each minute once"
)

// open waits until that is what keeps a sheet from being final, here and in the list.
func (o *office) open(t *testing.T, piece id.ID, reasons ...string) *costingv1.PieceCost {
	t.Helper()
	got := o.cost(t, piece, func(c *costingv1.PieceCost) bool { return slices.Equal(c.ProvisionalReasons, reasons) })
	if got.Provisional != (len(reasons) > 0) {
		t.Errorf("provisional: %v, for %q", got.Provisional, reasons)
	}
	list, err := o.costing.ListPieceCosts(t.Context(), &costingv1.ListPieceCostsRequest{})
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range list.PieceCosts {
		if c.Piece == id.Name("pieces", piece) && !slices.Equal(c.ProvisionalReasons, reasons) {
			t.Errorf("in the list not final for %q, want %q", c.ProvisionalReasons, reasons)
		}
	}
	return got
}

// notFinal is how many pieces of the shop are not.
func (o *office) notFinal(t *testing.T) int32 {
	t.Helper()
	stream, err := o.answers.WatchShop(t.Context(), &costingv1.WatchShopRequest{})
	if err != nil {
		t.Fatal(err)
	}
	r, err := stream.Recv()
	if err != nil {
		t.Fatal(err)
	}
	return r.Provisional
}

// clock is a shop's clock that is put on by hand.
type clock struct {
	mu sync.Mutex
	at time.Time
}

func (c *clock) now() time.Time {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.at
}

func (c *clock) set(at time.Time) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.at = at
}

// A minute that is down twice changes a minute, not the premium of the week: whoever has hours in that week is not
// final until it is corrected, and then all is as before. A rebuild says the same.
func TestServer_TangledWeek(t *testing.T) {
	t.Parallel()
	o := paying(t)
	stool, chair := o.takenIn(7, 1_000), o.takenIn(8, 1_000)
	o.setRate(t, 2_000, dayOf(3, 1))
	o.setRule(t, timeAndAHalf(dayOf(3, 2)))
	o.longWeek(stool, stool)
	o.clean(t)
	if got := cents(o.open(t, stool).Sums.Premium); got != 80_00 {
		t.Fatalf("the premium is %d, want 80.00", got)
	}
	stream := o.watch(t, stool, soon)
	if _, err := stream.Recv(); err != nil {
		t.Fatal(err)
	}
	minute := o.tell(chair, o.span(monday.Add(time.Hour), time.Minute))
	for range 2 {
		o.clean(t)
		sheet := o.open(t, stool, tangled)
		if o.open(t, chair, tangled); cents(sheet.Sums.Premium) != 80_00 || o.notFinal(t) != 2 {
			t.Errorf("with a minute twice the premium is %v, and %d are not final", sheet.Sums.Premium, o.notFinal(t))
		}
		if _, err := o.books.Rebuild(t.Context(), &costingv1.RebuildRequest{}); err != nil {
			t.Fatal(err)
		}
	}
	if r, err := stream.Recv(); err != nil || !r.PieceCost.Provisional {
		t.Errorf("who watches the stool sees %v, %v", r, err)
	}
	o.from["workflow"].add(chair, chair, &eventsv1.Envelope{Payload: &eventsv1.Envelope_ClockEntryCorrected{ClockEntryCorrected: &eventsv1.ClockEntryCorrected{Before: minute, Reason: "twice"}}})
	o.clean(t)
	o.open(t, chair)
	if got := cents(o.open(t, stool).Sums.Premium); got != 80_00 || o.notFinal(t) != 0 {
		t.Errorf("put right the premium is %d, and %d are not final", got, o.notFinal(t))
	}
	o.clean(t)
}

// What becomes known twice of a week that is locked counts late by its minute alone.
func TestServer_TangledWeek_AfterItsLock(t *testing.T) {
	t.Parallel()
	o := paying(t)
	stool := o.takenIn(7, 1_000)
	o.setRate(t, 2_000, dayOf(3, 1))
	o.setRule(t, timeAndAHalf(dayOf(3, 2)))
	o.longWeek(stool, stool)
	o.clean(t)
	o.lock(t, dayOf(3, 2))
	o.tell(stool, o.span(monday.Add(time.Hour), time.Minute))
	o.clean(t)
	if l := o.week(t, dayOf(3, 9)).Lines[0]; cents(l.LatePay) != 33 || l.LateTime.AsDuration() != time.Minute || len(l.Notes) != 1 {
		t.Errorf("late is %v, want a minute", l)
	}
	if got := o.balances(t)["wages_payable"]; got != 1040_33 {
		t.Errorf("the ledger owes %d, want 48 hours, their premium and a minute", got)
	}
}

// Until a week is over its overtime is open, where pieces bear it; also for those who watch.
func TestServer_WeekNotOver(t *testing.T) {
	t.Parallel()
	c := &clock{at: monday.AddDate(0, 0, 2)}
	o := setupAt(t, c.now)
	stool, chair := o.takenIn(7, 1_000), o.takenIn(8, 1_000)
	o.setRate(t, 2_000, dayOf(2, 1))
	o.tell(stool, o.span(monday, 12*time.Hour))
	o.tell(chair, o.span(monday.AddDate(0, 0, -7), 12*time.Hour))
	o.clean(t)
	o.open(t, stool) // there is no rule
	rule := timeAndAHalf(dayOf(2, 23))
	o.setRule(t, rule)
	o.open(t, stool, notOver)
	if o.open(t, chair); o.notFinal(t) != 1 {
		t.Errorf("%d are not final, want the stool", o.notFinal(t))
	}
	stream := o.watch(t, stool, soon)
	if r, err := stream.Recv(); err != nil || !r.PieceCost.Provisional {
		t.Fatalf("who watches the stool sees %v, %v", r, err)
	}
	c.set(time.Date(2026, 3, 9, 3, 59, 59, 0, time.UTC)) // Sunday, a second before midnight in New York
	o.open(t, stool, notOver)
	c.set(time.Date(2026, 3, 9, 4, 0, 0, 0, time.UTC))
	if o.open(t, stool); o.notFinal(t) != 0 {
		t.Errorf("%d are not final after the week", o.notFinal(t))
	}
	if r, err := stream.Recv(); err != nil || r.PieceCost.Provisional {
		t.Errorf("who watches the stool sees %v, %v", r, err)
	}
}

// A rule by which pieces bear no premium leaves nothing open.
func TestServer_WeekNotOver_NoPremium(t *testing.T) {
	t.Parallel()
	for name, change := range map[string]func(*costingv1.PayRule){
		"ToOverhead": func(r *costingv1.PayRule) { r.PremiumToOverhead = true },
		"NoOvertime": func(r *costingv1.PayRule) { r.WeeklyOvertimeAfter, r.OvertimePercent = nil, 0 },
	} {
		t.Run(name, func(t *testing.T) {
			o := setupAt(t, func() time.Time { return monday.AddDate(0, 0, 2) })
			stool := o.takenIn(7, 1_000)
			o.setRate(t, 2_000, dayOf(2, 1))
			o.tell(stool, o.span(monday, 12*time.Hour))
			r := timeAndAHalf(dayOf(3, 2))
			r.PayRule.RoundTo = durationpb.New(15 * time.Minute)
			change(r.PayRule)
			o.setRule(t, r)
			o.clean(t)
			o.open(t, stool)
		})
	}
}

// While hours of a person are refused, wait, are set aside or run on, the overtime of their week is open for all pieces
// that they worked on in it, and for no other.
func TestServer_HoursNotBooked(t *testing.T) {
	t.Parallel()
	for name, happens := range map[string]func(o *office, chair id.ID){
		"SetAside":  func(o *office, _ id.ID) { o.setAside(monday.AddDate(0, 0, 1)) },
		"ClockRuns": func(o *office, chair id.ID) { o.clockedOn(chair, monday.AddDate(0, 0, 4)) },
		"Refused":   func(o *office, chair id.ID) { o.tell(chair, o.span(monday.AddDate(0, 0, 1), -time.Hour)) },
		"Waits": func(o *office, chair id.ID) {
			o.tell(chair, &eventsv1.ClockSpan{PersonId: "nobody"})
			o.tell(chair, o.span(monday.AddDate(0, 0, 1), time.Hour))
		},
	} {
		t.Run(name, func(t *testing.T) {
			o := paying(t)
			stool, chair, bench := o.takenIn(7, 1_000), o.takenIn(8, 1_000), o.takenIn(9, 1_000)
			o.setRate(t, 2_000, dayOf(3, 1))
			o.setRule(t, timeAndAHalf(dayOf(3, 2)))
			o.tell(stool, o.span(monday, time.Hour))
			o.tell(bench, o.span(monday.AddDate(0, 0, 7), time.Hour))
			o.cost(t, stool, func(c *costingv1.PieceCost) bool {
				return cents(c.Sums.Labour) == 20_00 && cents(c.Sums.Acquisition) == 10_00
			})
			o.cost(t, bench, func(c *costingv1.PieceCost) bool {
				return cents(c.Sums.Labour) == 20_00 && cents(c.Sums.Acquisition) == 10_00
			})
			o.open(t, stool)
			stream := o.watch(t, stool, soon)
			if _, err := stream.Recv(); err != nil {
				t.Fatal(err)
			}
			happens(o, chair)
			o.open(t, stool, notBooked)
			if r, err := stream.Recv(); err != nil || !r.PieceCost.Provisional {
				t.Errorf("who watches the stool sees %v, %v", r, err)
			}
			if name != "ClockRuns" { // until now
				o.open(t, bench)
			}
		})
	}
}

// A review that is settled leaves the week as it was.
func TestServer_HoursNotBooked_Settled(t *testing.T) {
	t.Parallel()
	o := paying(t)
	stool := o.takenIn(7, 1_000)
	o.setRate(t, 2_000, dayOf(3, 1))
	o.setRule(t, timeAndAHalf(dayOf(3, 2)))
	o.tell(stool, o.span(monday, time.Hour))
	review := o.setAside(monday.AddDate(0, 0, 1))
	o.open(t, stool, notBooked)
	o.reviewSettled(review)
	o.open(t, stool)
}

// A piece that is sold and scrapped at once is sold, in each answer.
func TestServer_SoldAndScrapped_EachAnswer(t *testing.T) {
	t.Parallel()
	b := setupBench(t)
	b.told("intake", b.stool, march(10, 15, 0), &eventsv1.Envelope{Payload: &eventsv1.Envelope_PieceScrapped{PieceScrapped: &eventsv1.PieceScrapped{}}})
	c := b.open(t, b.stool, "it was sold and scrapped at once: if it never went out, refund the sale with the piece returned")
	if c.State != costingv1.PieceCost_STATE_SOLD {
		t.Errorf("its sheet says %v", c.State)
	}
	e, err := b.answers.ListEarnings(t.Context(), &costingv1.ListEarningsRequest{By: costingv1.ListEarningsRequest_BY_MONTH})
	if err != nil || e.Total.Pieces != 3 || e.Total.GivenUp != 1 {
		t.Errorf("earnings are of %v, %v", e.GetTotal(), err)
	}
	stream, err := b.answers.WatchShop(t.Context(), &costingv1.WatchShopRequest{})
	if err != nil {
		t.Fatal(err)
	}
	if r, err := stream.Recv(); err != nil || r.Sold != 3 || r.Scrapped != 1 {
		t.Errorf("the shop has sold %d and scrapped %d, %v; want 3 and the box", r.GetSold(), r.GetScrapped(), err)
	}
}

// What is amended after a stage is done leaves its variance alone; once it is sent back, and done again, it is held
// against the plan of then.
func TestServer_PlanAmendedAfterwards(t *testing.T) {
	t.Parallel()
	b := setupBench(t)
	if _, err := b.answers.SetStandardRate(svctest.Ctx(t), &costingv1.SetStandardRateRequest{RequestId: svctest.NewID(), PerHour: usd(20_00), EffectiveDate: dayOf(1, 1)}); err != nil {
		t.Fatal(err)
	}
	planned := func() time.Duration {
		t.Helper()
		b.clean(t)
		r, err := b.answers.ListPlanActuals(t.Context(), &costingv1.ListPlanActualsRequest{By: costingv1.ListPlanActualsRequest_BY_STAGE, Piece: id.Name("pieces", b.shelf)})
		if err != nil || len(r.Lines) != 1 {
			t.Fatalf("plan and actual: %v, %v", r, err)
		}
		return r.Lines[0].PlannedTime.AsDuration()
	}
	if got := planned(); got != 45*time.Minute {
		t.Fatalf("planned are %v, want 45m", got)
	}
	amended, _ := stagesOf([]any{90, b.off})
	b.told("workflow", b.shelf, march(7, 9, 0), &eventsv1.Envelope{Payload: &eventsv1.Envelope_FinishPlanAmended{FinishPlanAmended: &eventsv1.FinishPlanAmended{Changed: amended}}})
	if got := planned(); got != 45*time.Minute {
		t.Errorf("amended when it was done, planned are %v, want the 45m of then", got)
	}
	b.sentBack(b.off, march(8, 14, 0))
	if got := planned(); got != 90*time.Minute {
		t.Errorf("open again, planned are %v, want 90m", got)
	}
	b.finished(b.off, 2, march(9, 16, 0))
	if got := planned(); got != 90*time.Minute {
		t.Errorf("done again, planned are %v, want 90m", got)
	}
	if _, err := b.books.Rebuild(t.Context(), &costingv1.RebuildRequest{}); err != nil {
		t.Fatal(err)
	}
	if got := planned(); got != 90*time.Minute {
		t.Errorf("after a rebuild planned are %v, want 90m", got)
	}
}
