package e2e_test

import (
	"bytes"
	"context"
	"testing"
	"time"

	"google.golang.org/genproto/googleapis/type/date"

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
	worked, err := s.Shop.Worked(t.Context(), &date.Date{Year: 2026, Month: 3, Day: 16})
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
	var sheets, rework time.Duration
	for _, p := range costs(t, s.Shop) {
		sheets += p.Sums.LabourTime.AsDuration() + p.Sums.ReworkTime.AsDuration()
		rework += p.Sums.ReworkTime.AsDuration()
	}
	if sheets != all.Pieces || rework == 0 {
		t.Errorf("the cost sheets have %s in sum, %s of them rework, and %s line by line", sheets, rework, all.Pieces)
	}
	asTold(t, s.Shop)
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

// asTold checks that what is particular about the week came about.
func asTold(t *testing.T, shop *client.Shop) {
	t.Helper()
	failed, err := shop.Inspections.ListInspections(t.Context(), &workflowv1.ListInspectionsRequest{FailedOnly: true})
	if err != nil || len(failed.Inspections) != 2 {
		t.Errorf("%d inspections failed, %v, want 2", len(failed.GetInspections()), err)
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
