package e2e_test

import (
	"bytes"
	"context"
	"slices"
	"testing"
	"time"

	"google.golang.org/genproto/googleapis/type/date"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/caller"
	"tackfree/pkg/id"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/scenario"
	"tackfree/services/shop/internal/suite"
	"tackfree/testdata/week"
	"tackfree/testdata/week/sim"
)

// The week of twelve people, told command by command: nothing in it is refused, and what
// everybody worked comes to the same by their clock entries, by the cost sheets of the pieces
// with what belongs to none, and by the payroll; to the second.
func TestWeek_HoursAgreeThreeWays(t *testing.T) {
	s := open(t, func(o *suite.Options) { o.ShiftEnd = time.Second })
	playWeek(t, s.Shop)
	verified(t, s.Shop)
	worked, err := s.Shop.Worked(t.Context(), theWeek)
	if err != nil {
		t.Fatal(err)
	}
	var all client.Worked
	for _, w := range worked {
		if !w.Agrees() || w.Pieces == 0 || w.Indirect == 0 {
			t.Errorf("%s: by clock entries %s, on pieces %s, on none %s, by the payroll %s", w.Person, w.Clocked, w.Pieces, w.Indirect, w.Payroll)
		}
		all.Pieces += w.Pieces
	}
	if len(worked) != 12 {
		t.Errorf("%d people worked, want 12", len(worked))
	}
	pieces := costs(t, s.Shop)
	if len(pieces) != 60 {
		t.Errorf("%d pieces have a cost sheet, want 60", len(pieces))
	}
	var sheets, rework time.Duration
	for _, p := range pieces {
		sheets += p.Sums.LabourTime.AsDuration() + p.Sums.ReworkTime.AsDuration()
		rework += p.Sums.ReworkTime.AsDuration()
	}
	if sheets != all.Pieces || rework == 0 {
		t.Errorf("the cost sheets have %s in sum, %s of them rework, and %s line by line", sheets, rework, all.Pieces)
	}
	asTold(t, s.Shop)
	batchesToTheSecond(t, s.Shop)
	correctedAfterTheLock(t, s.Shop)
}

// theWeek and theNext are days of the week that is told, which is closed, and of the one after.
var (
	theWeek = &date.Date{Year: 2026, Month: 3, Day: 16}
	theNext = &date.Date{Year: 2026, Month: 3, Day: 23}
)

// clocked reads all entries that count.
func clocked(t *testing.T, shop *client.Shop) (counting []*workflowv1.ClockEntry) {
	t.Helper()
	all, err := client.All(t.Context(), func(ctx context.Context, token string) ([]*workflowv1.ClockEntry, string, error) {
		r, err := shop.Clocks.ListClockEntries(ctx, &workflowv1.ListClockEntriesRequest{PageSize: 1000, PageToken: token})
		return r.GetClockEntries(), r.GetNextPageToken(), err
	})
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range all {
		if !e.Superseded {
			counting = append(counting, e)
		}
	}
	return counting
}

func long(e *workflowv1.ClockEntry) time.Duration {
	return e.EndTime.AsTime().Sub(e.StartTime.AsTime())
}

// batchesToTheSecond checks that what a batch's stretch is for its pieces is the stretch.
func batchesToTheSecond(t *testing.T, shop *client.Shop) {
	t.Helper()
	type stretch struct {
		batch, person string
		from, to      time.Time
	}
	parts, entries := map[stretch]time.Duration{}, map[stretch]int{}
	for _, e := range clocked(t, shop) {
		if e.Batch != "" {
			s := stretch{e.Batch, e.PersonName, e.StretchStartTime.AsTime(), e.StretchEndTime.AsTime()}
			parts[s] += long(e)
			entries[s]++
		}
	}
	if len(parts) < 3 {
		t.Errorf("%d stretches on batches, want some", len(parts))
	}
	for s, sum := range parts {
		if whole := s.to.Sub(s.from); entries[s] < 2 || whole <= 0 || sum != whole {
			t.Errorf("%s was on a batch for %s, and its %d entries come to %s", s.person, whole, entries[s], sum)
		}
	}
}

// payWeek reads a week's lines by who they are of.
func payWeek(t *testing.T, shop *client.Shop, day *date.Date) (*costingv1.PayrollWeek, map[string]*costingv1.PayrollWeek_Line) {
	t.Helper()
	r, err := shop.Payroll.GetPayrollWeek(t.Context(), &costingv1.GetPayrollWeekRequest{Date: day})
	if err != nil {
		t.Fatal(err)
	}
	lines := map[string]*costingv1.PayrollWeek_Line{}
	for _, l := range r.PayrollWeek.Lines {
		lines[l.Person] = l
	}
	return r.PayrollWeek, lines
}

// correctedAfterTheLock corrects an hour of the closed week: it stays as it was, and the next
// one has what it is less.
func correctedAfterTheLock(t *testing.T, shop *client.Shop) {
	t.Helper()
	locked, _ := payWeek(t, shop, theWeek)
	if next, _ := payWeek(t, shop, theNext); locked.LockTime == nil || len(next.Lines) != 0 {
		t.Fatalf("the week was locked at %v and the next has %d lines; want it locked, and none", locked.LockTime, len(next.Lines))
	}
	entries := clocked(t, shop)
	e := entries[slices.IndexFunc(entries, func(e *workflowv1.ClockEntry) bool { return e.Batch == "" && long(e) > time.Hour })]
	const less = 17*time.Minute + 3*time.Second
	_, err := shop.Clocks.CorrectClockEntry(caller.With(t.Context(), caller.Caller{Actor: "Hedda"}), &workflowv1.CorrectClockEntryRequest{RequestId: id.New().String(), ClockEntry: e.Name, Reason: "the clock ran through a chat",
		Replacement: &workflowv1.CorrectClockEntryRequest_Replacement{EndTime: timestamppb.New(e.EndTime.AsTime().Add(-less))}})
	if err != nil {
		t.Fatal(err)
	}
	verified(t, shop)
	if again, _ := payWeek(t, shop, theWeek); !proto.Equal(again, locked) {
		t.Errorf("the locked week became %v, it was %v", again, locked)
	}
	_, lines := payWeek(t, shop, theNext)
	l := lines[e.Person]
	if len(lines) != 1 || l.GetLateTime().AsDuration() != -less || l.GetTime().AsDuration() != -less || l.GetPay().GetUnits() >= 0 {
		t.Errorf("the next week has %v, want %s of %s late", lines, -less, e.PersonName)
	}
}

func playWeek(t *testing.T, shop *client.Shop) {
	t.Helper()
	told, err := scenario.Read(week.Files, "shop.json")
	if err != nil {
		t.Fatal(err)
	}
	commands := 0
	if err := scenario.Play(t.Context(), shop, told, func(_, all int, _ string) { commands = all }); err != nil {
		t.Fatal(err)
	}
	if commands < 1500 || commands > 3000 {
		t.Errorf("the week has %d commands", commands)
	}
}

// passes is how many inspections of the week find nothing.
const passes = 48

// asTold checks that what is particular about the week came about.
func asTold(t *testing.T, shop *client.Shop) {
	t.Helper()
	looked, err := shop.Inspections.ListInspections(t.Context(), &workflowv1.ListInspectionsRequest{PageSize: 1000})
	found := map[bool]int{}
	for _, i := range looked.GetInspections() {
		found[i.Passed]++
	}
	if err != nil || found[false] != 2 || found[true] != passes {
		t.Errorf("%d inspections passed and %d failed, %v, want %d and 2", found[true], found[false], err, passes)
	}
	outside, err := shop.AllOutside(t.Context(), &workflowv1.ListOutsideWorkRequest{IncludeBack: true})
	if err != nil || len(outside) != 3 {
		t.Errorf("%d parts were sent out, %v, want 3", len(outside), err)
	}
	batches, err := shop.AllBatches(t.Context(), true)
	if err != nil || len(batches) < 3 {
		t.Errorf("%d batches, %v, want some", len(batches), err)
	}
	because := map[string]workflowv1.ClockReview_Kind{} // clocks that only ran when they were looked for are settled otherwise
	reviews, err := client.All(t.Context(), func(ctx context.Context, token string) ([]*workflowv1.ClockReview, string, error) {
		r, err := shop.Reviews.ListClockReviews(ctx, &workflowv1.ListClockReviewsRequest{IncludeSettled: true, PageSize: 1000, PageToken: token})
		return r.GetClockReviews(), r.GetNextPageToken(), err
	})
	for _, r := range reviews {
		if r.SettleTime == nil {
			t.Errorf("nobody settled this: %s", r.Reason)
		}
		because[r.SettleReason] = r.Kind
	}
	forgotten, overlap := because["he ran for the bus and forgot the clock"], because["she fetched the solvent and forgot to say so"]
	if err != nil || forgotten != workflowv1.ClockReview_KIND_FORGOTTEN || overlap != workflowv1.ClockReview_KIND_OVERLAP {
		t.Errorf("what the lead settled is a %s and a %s, %v; want a forgotten clock and an overlap", forgotten, overlap, err)
	}
}

// The story that is kept is the one that is made up, the same each time.
func TestWeek_IsMadeUpTheSameEachTime(t *testing.T) {
	kept, err := week.Files.ReadFile("shop.json")
	if err != nil {
		t.Fatal(err)
	}
	for range 2 {
		if !bytes.Equal(sim.Story(), kept) {
			t.Fatal("testdata/week/shop.json is another story than package sim makes up; go generate ./testdata/week writes it anew")
		}
	}
}
