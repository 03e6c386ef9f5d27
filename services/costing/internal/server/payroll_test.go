package server_test

import (
	"fmt"
	"sync"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"google.golang.org/genproto/googleapis/type/date"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/testing/protocmp"
	"google.golang.org/protobuf/types/known/durationpb"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	eventsv1 "tackfree/proto/tackfree/events/v1"
)

// april is when the payroll of March is kept.
var april = time.Date(2026, 4, 8, 16, 0, 0, 0, time.UTC)

func paying(t *testing.T) *office { return setupAt(t, func() time.Time { return april }) }

// span is a stretch of Nell's at sanding.
func (o *office) span(start time.Time, length time.Duration) *eventsv1.ClockSpan {
	return &eventsv1.ClockSpan{EntryId: id.New().String(), PersonId: o.nell.String(), PersonName: "Nell", StageId: sanding.String(), StageKind: "sand", Pass: 1,
		Start: timestamppb.New(start), End: timestamppb.New(start.Add(length))}
}

// tell tells of a stretch that ended, at a piece or, with id.Nil, at none.
func (o *office) tell(piece id.ID, s *eventsv1.ClockSpan) *eventsv1.ClockSpan {
	e := &eventsv1.Envelope{Payload: &eventsv1.Envelope_ClockedOff{ClockedOff: &eventsv1.ClockedOff{Span: s}}}
	if piece == id.Nil {
		o.from["workflow"].add(o.nell, id.Nil, e)
	} else {
		o.from["workflow"].add(piece, piece, e)
	}
	return s
}

// cleaned tells of cleaning, which belongs to no piece.
func (o *office) cleaned(start time.Time, length time.Duration) {
	s := o.span(start, length)
	s.StageId, s.StageKind, s.Indirect = "", "", "cleaning"
	o.tell(id.Nil, s)
}

// corrected tells that a stretch was so long in truth.
func (o *office) corrected(piece id.ID, before *eventsv1.ClockSpan, length time.Duration) *eventsv1.ClockSpan {
	after := proto.CloneOf(before)
	after.EntryId, after.End = id.New().String(), timestamppb.New(before.Start.AsTime().Add(length))
	o.from["workflow"].add(piece, piece, &eventsv1.Envelope{Payload: &eventsv1.Envelope_ClockEntryCorrected{ClockEntryCorrected: &eventsv1.ClockEntryCorrected{
		Before: before, After: after, Reason: "she forgot"}}})
	return after
}

// sentOut tells that a part went to others.
func (o *office) sentOut(piece id.ID, quoted int64) (work id.ID) {
	work = id.New()
	o.from["workflow"].add(piece, piece, &eventsv1.Envelope{Payload: &eventsv1.Envelope_SentOut{SentOut: &eventsv1.SentOut{
		OutsideWorkId: work.String(), Kind: "caning", Firm: "Reedmere Caning", Quoted: usd(quoted)}}})
	return work
}

// billed tells what others billed for their work on a piece.
func (o *office) billed(piece, work id.ID, amount int64) {
	o.from["workflow"].add(piece, piece, &eventsv1.Envelope{Payload: &eventsv1.Envelope_OutsideWorkReceived{OutsideWorkReceived: &eventsv1.OutsideWorkReceived{
		OutsideWorkId: work.String(), Kind: "caning", Firm: "Reedmere Caning", Billed: usd(amount), Pass: 1}}})
}

// setAside tells of an entry of Nell's that waits for the lead.
func (o *office) setAside(start time.Time) (review id.ID) {
	review = id.New()
	o.from["workflow"].add(o.nell, id.Nil, &eventsv1.Envelope{Payload: &eventsv1.Envelope_ClockEntrySetAside{ClockEntrySetAside: &eventsv1.ClockEntrySetAside{
		ReviewId: review.String(), Sent: o.span(start, time.Hour), Kind: "overlap", Reason: "two at once"}}})
	return review
}

func (o *office) reviewSettled(review id.ID) {
	o.from["workflow"].add(o.nell, id.Nil, &eventsv1.Envelope{Payload: &eventsv1.Envelope_ClockReviewSettled{ClockReviewSettled: &eventsv1.ClockReviewSettled{
		ReviewId: review.String(), Settlement: "dismissed", Reason: "she was not there"}}})
}

func (o *office) week(t *testing.T, day *date.Date) *costingv1.PayrollWeek {
	t.Helper()
	r, err := o.payroll.GetPayrollWeek(t.Context(), &costingv1.GetPayrollWeekRequest{Date: day})
	if err != nil {
		t.Fatal(err)
	}
	return r.PayrollWeek
}

func lockOf(day *date.Date) *costingv1.LockPayrollWeekRequest {
	return &costingv1.LockPayrollWeekRequest{RequestId: svctest.NewID(), Date: day}
}

func (o *office) lock(t *testing.T, day *date.Date) *costingv1.PayrollWeek {
	t.Helper()
	r, err := o.payroll.LockPayrollWeek(svctest.Ctx(t), lockOf(day))
	if err != nil {
		t.Fatal(err)
	}
	return r.PayrollWeek
}

// nells is Nell's line in a shop without a pay rule: hours three ways and late, and her pay, what is late
// at 20.00 an hour.
func (o *office) nells(labour, rework, indirect, late time.Duration, pay int64) *costingv1.PayrollWeek_Line {
	none := durationpb.New(0)
	out := &costingv1.PayrollWeek_Line{Person: id.Name("people", o.nell), PersonName: "Nell", LabourTime: durationpb.New(labour), ReworkTime: durationpb.New(rework),
		IndirectTime: durationpb.New(indirect), LateTime: durationpb.New(late), Time: durationpb.New(labour + rework + indirect + late), Pay: usd(pay),
		Overtime: none, PaidBreakTime: none, RoundingTime: none, PaidBreakPay: usd(0), RoundingPay: usd(0), Premium: usd(0),
		LatePay: usd(int64(late/time.Minute) * 20_00 / 60), Burden: usd(0)}
	if week := labour + rework + indirect; week > 0 {
		rate := (pay - cents(out.LatePay)) * int64(time.Hour) / int64(week)
		out.RegularRate, out.RegularRateFraction = usd(rate), fmt.Sprint(rate)
	}
	return out
}

func says(t *testing.T, w *costingv1.PayrollWeek, lines ...*costingv1.PayrollWeek_Line) {
	t.Helper()
	if diff := cmp.Diff(lines, w.Lines, protocmp.Transform()); diff != "" {
		t.Errorf("week of %v (-want +got):\n%s", w.Week, diff)
	}
}

// A small week: what was clocked is what the pieces took and what belongs to none, and it is
// what is paid.
func TestServer_PayrollWeek_ThreeWays(t *testing.T) {
	t.Parallel()
	o := paying(t)
	stool, chair := o.takenIn(7, 1_000), o.takenIn(8, 1_000)
	o.setRate(t, 2_000, dayOf(3, 1))
	o.tell(stool, o.span(monday, 2*time.Hour))
	again := o.span(monday.Add(3*time.Hour), 30*time.Minute)
	again.Pass = 2
	o.tell(chair, again)
	o.cleaned(monday.Add(24*time.Hour), 15*time.Minute)
	o.clean(t)
	w := o.week(t, dayOf(3, 5))
	says(t, w, o.nells(2*time.Hour, 30*time.Minute, 15*time.Minute, 0, 5_500))
	if w.Week.Day != 2 || w.LockTime != nil || w.LockedBy != "" {
		t.Errorf("week = %v, want that of 2 March, not locked", w)
	}
	var onPieces time.Duration
	for _, piece := range []id.ID{stool, chair} {
		s := o.cost(t, piece, func(*costingv1.PieceCost) bool { return true }).Sums
		onPieces += s.LabourTime.AsDuration() + s.ReworkTime.AsDuration()
	}
	if got := w.Lines[0].LabourTime.AsDuration() + w.Lines[0].ReworkTime.AsDuration(); got != onPieces {
		t.Errorf("on pieces the payroll has %v, the sheets %v", got, onPieces)
	}
	shop, err := o.costing.GetShopCost(t.Context(), &costingv1.GetShopCostRequest{})
	if err != nil {
		t.Fatal(err)
	}
	for _, a := range shop.Accounts {
		if want, is := map[string]int64{"wages_payable": -5_500, "indirect_labour": 500}[a.Account]; is && cents(a.Balance) != want {
			t.Errorf("%s = %d, want %d", a.Account, cents(a.Balance), want)
		}
	}
}

// A locked week keeps its line: a correction of it counts in the next, and a second one after
// that was locked too in the one after it. A rebuild changes nothing of it.
func TestServer_LockPayrollWeek(t *testing.T) {
	t.Parallel()
	o := paying(t)
	piece := o.takenIn(7, 1_000)
	o.setRate(t, 2_000, dayOf(3, 1))
	wrong := o.tell(piece, o.span(monday, 9*time.Hour))
	o.tell(piece, o.span(monday.AddDate(0, 0, 7), time.Hour))
	o.clean(t)
	locked := o.lock(t, dayOf(3, 8))
	says(t, locked, o.nells(9*time.Hour, 0, 0, 0, 18_000))
	if locked.LockedBy != svctest.Actor || !locked.LockTime.AsTime().Equal(april) || locked.Week.Day != 2 {
		t.Errorf("LockPayrollWeek = %v, want 2 March locked by %s at %v", locked, svctest.Actor, april)
	}
	right := o.corrected(piece, wrong, 7*time.Hour)
	o.clean(t)
	same := func(day *date.Date, want *costingv1.PayrollWeek) {
		t.Helper()
		if diff := cmp.Diff(want, o.week(t, day), protocmp.Transform()); diff != "" {
			t.Errorf("locked week (-then +now):\n%s", diff)
		}
	}
	same(dayOf(3, 2), locked)
	says(t, o.week(t, dayOf(3, 9)), o.nells(time.Hour, 0, 0, -2*time.Hour, -2_000))
	second := o.lock(t, dayOf(3, 9))
	o.corrected(piece, right, 8*time.Hour)
	o.clean(t)
	for range 2 {
		same(dayOf(3, 2), locked)
		same(dayOf(3, 9), second)
		says(t, o.week(t, dayOf(3, 16)), o.nells(0, 0, 0, time.Hour, 2_000))
		if _, err := o.books.Rebuild(t.Context(), &costingv1.RebuildRequest{}); err != nil {
			t.Fatal(err)
		}
	}
	o.clean(t)
}

// Asking again gives the answer that was given, also when workflow is away by then.
func TestServer_LockPayrollWeek_AskedAgain(t *testing.T) {
	t.Parallel()
	o := paying(t)
	piece := o.takenIn(7, 1_000)
	o.setRate(t, 2_000, dayOf(3, 1))
	o.tell(piece, o.span(monday, time.Hour))
	o.clean(t)
	r := lockOf(dayOf(3, 2))
	first, err := o.payroll.LockPayrollWeek(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	o.from["workflow"].setAway(true)
	again, err := o.payroll.LockPayrollWeek(svctest.Ctx(t), r)
	if err != nil || !proto.Equal(first, again) {
		t.Errorf("asked again = %v, %v, want %v", again, err, first)
	}
}

func TestServer_LockPayrollWeek_Refuses(t *testing.T) {
	t.Parallel()
	o := paying(t)
	piece := o.takenIn(7, 1_000)
	o.setRate(t, 2_000, dayOf(3, 1))
	o.settle(t)
	refused := func(day *date.Date, kind fault.Kind, reason string) *fault.Fault {
		t.Helper()
		return svctest.Refused(t, o.Service, o.payroll.LockPayrollWeek, lockOf(day), kind, reason)
	}
	svctest.Refused(t, o.Service, o.payroll.GetPayrollWeek, &costingv1.GetPayrollWeekRequest{Date: &date.Date{Year: 1999, Month: 12, Day: 31}}, fault.Invalid, "DATE_ABSURD")
	refused(&date.Date{Year: 2028, Month: 4, Day: 9}, fault.Invalid, "DATE_ABSURD")
	refused(dayOf(2, 30), fault.Invalid, "DATE_MALFORMED")
	refused(nil, fault.Invalid, "INVALID_FIELD")
	refused(dayOf(4, 6), fault.Precondition, "WEEK_NOT_OVER")

	o.tell(piece, o.span(monday, time.Hour))
	clock := o.clockedOn(piece, monday.Add(8*24*time.Hour))
	o.clean(t)
	if f := refused(dayOf(3, 9), fault.Precondition, "EARLIER_WEEK_OPEN"); f.Meta["week"] != "2026-03-02" {
		t.Errorf("EARLIER_WEEK_OPEN names %v, want the week of 2 March", f.Meta)
	}
	o.lock(t, dayOf(3, 2)) // a clock that began later keeps no week from being locked
	refused(dayOf(3, 4), fault.Precondition, "WEEK_LOCKED")
	if f := refused(dayOf(3, 9), fault.Precondition, "CLOCKS_RUNNING"); f.Meta["people"] != "Nell" {
		t.Errorf("CLOCKS_RUNNING names %v, want Nell", f.Meta)
	}
	refused(dayOf(3, 30), fault.Precondition, "CLOCKS_RUNNING")

	workflow := o.from["workflow"]
	workflow.mu.Lock()
	workflow.silent = true
	workflow.mu.Unlock()
	o.clockedOff(piece, clock)
	refused(dayOf(3, 9), fault.Precondition, "BOOKS_BEHIND")
	workflow.setAway(true)
	refused(dayOf(3, 9), fault.Unavailable, "AWAY")
	workflow.setAway(false)
	workflow.mu.Lock()
	workflow.silent = false
	workflow.mu.Unlock()
	o.clean(t)
	o.lock(t, dayOf(3, 9))
}

// Hours for which nobody said what they are paid are told in the week, and it is not locked
// over them: on pieces, and on what belongs to none.
func TestServer_LockPayrollWeek_NoPayRate(t *testing.T) {
	t.Parallel()
	o := paying(t)
	piece := o.takenIn(7, 1_000)
	o.settle(t)
	refused := func(people string) {
		t.Helper()
		f := svctest.Refused(t, o.Service, o.payroll.LockPayrollWeek, lockOf(dayOf(3, 2)), fault.Precondition, "PAY_RATE_MISSING")
		if f.Meta["people"] != people {
			t.Errorf("PAY_RATE_MISSING names %v, want %s", f.Meta, people)
		}
	}
	o.cleaned(monday.AddDate(0, 0, 1), time.Hour)
	o.clean(t)
	refused("Nell (2026-03-03)")
	o.tell(piece, o.span(monday, 2*time.Hour))
	o.clean(t)
	refused("Nell (2026-03-02)")
	bare := o.nells(2*time.Hour, 0, time.Hour, 0, 0)
	bare.Notes = []string{"no pay rate yet for work on 2026-03-02"}
	says(t, o.week(t, dayOf(3, 2)), bare)
	o.setRate(t, 2_000, dayOf(3, 3))
	refused("Nell (2026-03-02)")
	o.setRate(t, 2_000, dayOf(3, 2))
	says(t, o.lock(t, dayOf(3, 2)), o.nells(2*time.Hour, 0, time.Hour, 0, 6_000))
	o.clean(t)
}

// A week is not locked while an entry of it, or of one before, waits for the lead, nor while a
// forgotten clock does that was ended late; what is of a later week keeps it from nothing.
func TestServer_LockPayrollWeek_EntriesThatWait(t *testing.T) {
	t.Parallel()
	o := paying(t)
	o.settle(t)
	first := o.setAside(monday.AddDate(0, 0, 6))
	second := o.setAside(monday.AddDate(0, 0, 14))
	o.clean(t)
	refused := func(day int32) {
		t.Helper()
		f := svctest.Refused(t, o.Service, o.payroll.LockPayrollWeek, lockOf(dayOf(3, day)), fault.Precondition, "REVIEWS_OPEN")
		if f.Meta["people"] != "Nell" {
			t.Errorf("REVIEWS_OPEN names %v, want Nell", f.Meta)
		}
	}
	refused(2)
	refused(9)
	o.reviewSettled(first)
	o.clean(t)
	o.lock(t, dayOf(3, 2))
	o.lock(t, dayOf(3, 9))
	refused(16)
	if _, err := o.books.Rebuild(t.Context(), &costingv1.RebuildRequest{}); err != nil {
		t.Fatal(err)
	}
	refused(16)
	o.reviewSettled(second)
	o.clean(t)
	o.lock(t, dayOf(3, 16))

	bus := id.New() // that she ran for
	late := o.span(monday.AddDate(0, 0, 21), 15*time.Hour)
	o.from["workflow"].add(o.nell, id.Nil, &eventsv1.Envelope{Payload: &eventsv1.Envelope_ClockForgotten{ClockForgotten: &eventsv1.ClockForgotten{ReviewId: bus.String(), Span: late}}})
	o.setRate(t, 2_000, dayOf(3, 1))
	o.tell(o.takenIn(7, 1_000), late)
	o.clean(t)
	refused(23)
	o.reviewSettled(bus)
	o.clean(t)
	o.lock(t, dayOf(3, 23))
}

// An event that could not be booked may be labour: no week is locked over it.
func TestServer_LockPayrollWeek_DeadLetter(t *testing.T) {
	t.Parallel()
	o := paying(t)
	piece := o.takenIn(7, 1_000)
	bad := o.span(monday, time.Hour)
	bad.StageId = "the sanding"
	o.tell(piece, bad)
	o.cost(t, piece, func(c *costingv1.PieceCost) bool { return c.Provisional })
	o.settle(t)
	o.refusedOver(t, "1")
}

// A message that could not be read may have been labour too, though nothing else is missing.
func TestServer_LockPayrollWeek_DamagedMessage(t *testing.T) {
	t.Parallel()
	o := paying(t)
	o.settle(t)
	o.exec(t, `INSERT INTO costing.dead (id, cause, producer, version, event_id, subject, body, error, tries, first_at)
		VALUES (gen_random_uuid(), 'damaged', 'workflow', 0, 'stream:7', '', '', 'not an envelope', 1, now())`)
	o.refusedOver(t, "1")
	o.exec(t, `UPDATE costing.dead SET resolved_at = now()`)
	o.lock(t, dayOf(3, 2))
}

// refusedOver checks that a week is not locked over that many dead letters.
func (o *office) refusedOver(t *testing.T, letters string) {
	t.Helper()
	f := svctest.Refused(t, o.Service, o.payroll.LockPayrollWeek, lockOf(dayOf(3, 2)), fault.Precondition, "BOOKS_BEHIND")
	if f.Meta["refused"] != letters {
		t.Errorf("BOOKS_BEHIND tells of %v, want %s dead letters", f.Meta, letters)
	}
}

// Two who lock one week at once lock it once.
func TestServer_LockPayrollWeek_Twice(t *testing.T) {
	t.Parallel()
	o := paying(t)
	piece := o.takenIn(7, 1_000)
	o.setRate(t, 2_000, dayOf(3, 1))
	o.tell(piece, o.span(monday, time.Hour))
	o.clean(t)
	const lockers = 4
	errs := make(chan error, lockers)
	for range lockers {
		go func() {
			_, err := o.payroll.LockPayrollWeek(svctest.Ctx(t), lockOf(dayOf(3, 2)))
			errs <- err
		}()
	}
	locked := 0
	for range lockers {
		switch err := <-errs; {
		case err == nil:
			locked++
		case !fault.Is(err, "WEEK_LOCKED"):
			t.Errorf("LockPayrollWeek = %v, want WEEK_LOCKED", err)
		}
	}
	if locked != 1 {
		t.Errorf("locked %d times", locked)
	}
}

// Weeks are locked while their hours are corrected: whichever is first, no hour is lost or
// paid twice.
func TestServer_LockPayrollWeek_RacesWithCorrections(t *testing.T) {
	t.Parallel()
	o := paying(t)
	piece := o.takenIn(7, 1_000)
	o.setRate(t, 2_000, dayOf(3, 1))
	const weeks = 4
	var worked time.Duration
	for n := range weeks {
		span := o.tell(piece, o.span(monday.AddDate(0, 0, 7*n), 8*time.Hour))
		o.clean(t)
		length := time.Duration(5+n) * time.Hour
		var both sync.WaitGroup
		both.Go(func() {
			o.corrected(piece, span, length)
			if _, err := o.books.Verify(t.Context(), &costingv1.VerifyRequest{}); err != nil { // which catches up
				t.Error(err)
			}
		})
		both.Go(func() { o.lockOnce(t, dayOf(3, int32(2+7*n))) })
		both.Wait()
		worked += length
	}
	o.clean(t)
	var paid time.Duration
	var pay int64
	for n := range weeks + 1 {
		for _, l := range o.week(t, dayOf(3, int32(2+7*n))).Lines {
			paid += l.Time.AsDuration()
			pay += cents(l.Pay)
		}
	}
	if paid != worked || pay != int64(worked/time.Hour)*2_000 {
		t.Errorf("paid are %v for %d, worked were %v", paid, pay, worked)
	}
}

// lockOnce locks a week as soon as the books are not behind.
func (o *office) lockOnce(t *testing.T, day *date.Date) {
	t.Helper()
	for deadline := time.Now().Add(10 * time.Second); ; {
		_, err := o.payroll.LockPayrollWeek(svctest.Ctx(t), lockOf(day))
		if err == nil {
			return
		}
		if !fault.Is(err, "BOOKS_BEHIND") || time.Now().After(deadline) {
			t.Errorf("LockPayrollWeek = %v", err)
			return
		}
		<-time.After(time.Millisecond)
	}
}
