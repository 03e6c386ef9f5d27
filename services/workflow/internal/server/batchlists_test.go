package server_test

import (
	"fmt"
	"slices"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// Newest first, page by page; what has ended only when it is asked for.
func TestServer_ListBatches(t *testing.T) {
	t.Parallel()
	f := setup(t)
	var names []string
	for n := range int32(5) {
		_, of := f.drawers(t, 11+n)
		names = append(names, f.formedAs(t, fmt.Sprint("fronts ", n), of["dewax left"], of["dewax right"]).Name)
	}
	if _, err := f.batches().FinishBatch(svctest.Ctx(t), finishingBatch(names[2], 60)); err != nil {
		t.Fatal(err)
	}
	slices.Reverse(names)
	list := func(ended bool, want ...string) {
		t.Helper()
		var got []string
		for token := ""; ; {
			r, err := f.batches().ListBatches(t.Context(), &workflowv1.ListBatchesRequest{IncludeEnded: ended, PageSize: 2, PageToken: token})
			if err != nil {
				t.Fatal(err)
			}
			for _, b := range r.Batches {
				if got = append(got, b.Name); len(b.Shares) != 2 {
					t.Errorf("listed without its stages: %v", b)
				}
			}
			if token = r.NextPageToken; token == "" {
				break
			}
		}
		if !slices.Equal(got, want) {
			t.Errorf("ListBatches(ended: %v) = %v, want %v", ended, got, want)
		}
	}
	list(true, names...)
	list(false, names[0], names[1], names[3], names[4])
	svctest.Refused(t, f.Service, f.batches().ListBatches, &workflowv1.ListBatchesRequest{PageToken: "x"}, fault.Invalid, "INVALID_PAGE_TOKEN")
	svctest.Refused(t, f.Service, f.batches().GetBatch, &workflowv1.GetBatchRequest{Name: id.Name("batches", id.New())}, fault.NotFound, "BATCH_NOT_FOUND")
}

// What could be run as one now: not what waits, is in a batch or in somebody's hands, or all of
// one piece.
func TestServer_ListBatchable(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell := f.person(t, "Nell")
	var one, other map[string]string
	groups := func(want ...[]string) {
		t.Helper()
		r, err := f.batches().ListBatchable(t.Context(), &workflowv1.ListBatchableRequest{})
		if err != nil {
			t.Fatal(err)
		}
		var got [][]string
		for _, g := range r.Groups {
			var names []string
			for i, s := range g.Stages {
				if tag := map[string]int32{tail(one["dewax left"][:43]): 11, tail(other["dewax left"][:43]): 12}[s.Name[7:43]]; len(g.PieceTags) != len(g.Stages) || g.PieceTags[i] != tag {
					t.Errorf("tags of %d stages = %v, want %d for the stage at %d", len(g.Stages), g.PieceTags, tag, i)
				}
			}
			for _, s := range g.Stages {
				if names = append(names, s.Name); s.Kind != g.StageKind || s.State != workflowv1.Stage_STATE_READY {
					t.Errorf("in the group of %s: %v", g.StageKind, s)
				}
			}
			got = append(got, names)
		}
		if diff := cmp.Diff(want, got); diff != "" {
			t.Errorf("ListBatchable (-want +got):\n%s", diff)
		}
	}
	_, one = f.drawers(t, 11)
	groups() // all of one piece
	_, other = f.drawers(t, 12)
	groups([]string{one["dewax left"], one["dewax right"], other["dewax left"], other["dewax right"]})
	for _, of := range []map[string]string{one, other} {
		f.finishAt(t, of["dewax left"], 10)
	}
	groups([]string{one["dewax right"], other["dewax right"]}, []string{one["polish left"], other["polish left"]})
	f.clockedOn(t, nell, one["dewax right"], 20)
	groups([]string{one["polish left"], other["polish left"]})
	f.formed(t, one["polish left"], other["polish left"])
	groups()
}

// A plan that is amended keeps what is in an open batch, as it keeps what was begun; once the
// batch is dissolved it may drop it.
func TestServer_AmendFinishPlan_KeepsABatch(t *testing.T) {
	t.Parallel()
	f := setup(t)
	d, other := f.dresser(), f.dresser()
	plan, stages := f.approved(t, d)
	_, others := f.approved(t, other)
	b := f.formed(t, stages["hardware-off"].Name, others["hardware-off"].Name)
	dropped := without(plan.Stages, "hardware-off")
	says(t, svctest.Refused(t, f.Service, f.plans.AmendFinishPlan, amending(d.Name, dropped), fault.Precondition, "STAGE_BEGUN"), "hardware-off is in a batch", "dissolve the batch first")
	changed := cloned(plan.Stages)
	stageOf(changed, "hardware-off").AttendedMinutes = 90
	says(t, svctest.Refused(t, f.Service, f.plans.AmendFinishPlan, amending(d.Name, changed), fault.Precondition, "STAGE_BEGUN"), "hardware-off is in a batch")
	kept, err := f.plans.AmendFinishPlan(svctest.Ctx(t), amending(d.Name, anotherTopcoat(plan.Stages)))
	if err != nil || byTitle(kept.Stages)["hardware-off"].Batch != b.Name {
		t.Fatalf("AmendFinishPlan of other stages = %v, %v", kept, err)
	}
	if _, err := f.batches().DissolveBatch(svctest.Ctx(t), &workflowv1.DissolveBatchRequest{RequestId: svctest.NewID(), Batch: b.Name}); err != nil {
		t.Fatal(err)
	}
	if _, err := f.plans.AmendFinishPlan(svctest.Ctx(t), amending(d.Name, dropped)); err != nil {
		t.Error(err)
	}
}

// A stain that is wiped on two tops as one dries on both from one instant on.
func TestServer_FinishBatch_Dries(t *testing.T) {
	t.Parallel()
	f := setupWith(t, svctest.Options{Now: func() time.Time { return at(40000).AsTime() }}) // or it were dry at once
	d, other := f.dresser(), f.dresser()
	other.draft.Products[0].Product = d.stain
	_, stages := f.approved(t, d)
	_, others := f.approved(t, other)
	before := slices.Concat(f.upTo(t, stages, "stain (top)"), f.upTo(t, others, "stain (top)"))
	for i, name := range before {
		f.finishAt(t, name, 1500*i)
	}
	b := f.formed(t, stages["stain (top)"].Name, others["stain (top)"].Name)
	r, err := f.batches().FinishBatch(svctest.Ctx(t), finishingBatch(b.Name, 40000))
	if err != nil {
		t.Fatal(err)
	}
	clocks, err := f.air.ListDryClocks(t.Context(), &workflowv1.ListDryClocksRequest{})
	if err != nil {
		t.Fatal(err)
	}
	laid := map[string]bool{}
	for _, c := range clocks.DryClocks {
		if c.LaidTime.AsTime().Equal(at(40000).AsTime()) && c.ProductName == "walnut stain" {
			laid[c.Stage] = true
		}
	}
	if len(laid) != 2 || !laid[r.Stages[0].Name] || !laid[r.Stages[1].Name] {
		t.Errorf("what dries = %v", clocks.DryClocks)
	}
}

// upTo are the stages that come before one, in the order of the work.
func (f *floor) upTo(t testing.TB, stages map[string]*workflowv1.Stage, title string) (names []string) {
	t.Helper()
	r, err := f.stages.ListStages(t.Context(), &workflowv1.ListStagesRequest{Piece: stages[title].Name[:43]})
	if err != nil {
		t.Fatal(err)
	}
	needed := map[string]bool{stages[title].Name: true}
	for _, s := range slices.Backward(r.Stages) {
		if needed[s.Name] {
			for _, before := range s.After {
				needed[before] = true
			}
			names = append(names, s.Name)
		}
	}
	slices.Reverse(names)
	return names[:len(names)-1]
}
