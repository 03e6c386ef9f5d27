package cli

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"testing"

	"github.com/google/go-cmp/cmp"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/testing/protocmp"

	"tackfree/pkg/id"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// The same plan asked for again under the same request id is the same request, however its
// parts are typed.
func TestPlan_OneOrder(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	again := " --request-id " + id.New().String()
	for range 10 {
		f.says(t, line("stage plan 1 --part drawers=oiled --part case=painted"+again))
		f.says(t, line("stage plan 1 --part case=painted --part drawers=routes/oiled"+again))
	}
	want := []*workflowv1.PlanStagesRequest_PartRoute{{Part: "pieces/a/parts/c", Route: "routes/painted"}, {Part: "pieces/a/parts/d", Route: "routes/oiled"}}
	for _, got := range f.commands() {
		if diff := cmp.Diff(f.commands()[0], got, protocmp.Transform()); diff != "" {
			t.Fatalf("asked again it is another request:\n%s", diff)
		}
	}
	if diff := cmp.Diff(want, f.commands()[0].(*workflowv1.PlanStagesRequest).Parts, protocmp.Transform()); diff != "" {
		t.Errorf("the parts (-want +got):\n%s", diff)
	}
	f.refuses(t, line("stage plan 1 --part top=painted"), `piece 1 has no part "top"; it has: case, drawers`)
	f.refuses(t, line("stage plan 1 --part case"), `"case" is not of the form 'drawers=painted'`)
	f.refuses(t, line("stage plan 1 --part case=painted --part CASE=oiled"), "is given two routes")
}

// What steps are done with is said of all parts, or of one of them alone.
func TestPlan_With(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	f.gives(t, line("stage plan 1 --route painted --with 'topcoat=clear COAT' --with drawers/paint=products/k --part case=painted"), &workflowv1.PlanStagesRequest{
		Piece: "pieces/a", Route: "routes/painted", Products: []*workflowv1.PlanStagesRequest_StepProduct{{Step: "topcoat", Product: "products/k"}},
		Parts: []*workflowv1.PlanStagesRequest_PartRoute{{Part: "pieces/a/parts/c", Route: "routes/painted"},
			{Part: "pieces/a/parts/d", Products: []*workflowv1.PlanStagesRequest_StepProduct{{Step: "paint", Product: "products/k"}}}}})
	f.gives(t, line("stage plan 1 --part case=painted --with case/paint=products/k"), &workflowv1.PlanStagesRequest{
		Piece: "pieces/a", Parts: []*workflowv1.PlanStagesRequest_PartRoute{{Part: "pieces/a/parts/c", Route: "routes/painted", Products: []*workflowv1.PlanStagesRequest_StepProduct{{Step: "paint", Product: "products/k"}}}}})
	again := " --request-id " + id.New().String()
	f.says(t, line("stage plan 1 --route painted --with a=products/k --with b=products/k"+again))
	f.says(t, line("stage plan 1 --route painted --with b=products/k --with a=products/k"+again))
	if all := f.commands(); !proto.Equal(all[len(all)-1], all[len(all)-2]) {
		t.Errorf("asked again it is another request: %v and %v", all[len(all)-2], all[len(all)-1])
	}
	f.refuses(t, line("stage plan 1 --route painted --with paint=Tar"), `no product is called "Tar"`)
	f.refuses(t, line("stage plan 1 --route painted --with top/paint=products/k"), `has no part "top"`)
	f.refuses(t, line("stage plan 1 --route painted --with paint"), `"paint" is not of the form 'paint=Cream'`)
}

func TestAssign_SomebodyOrNobody(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	f.gives(t, line("stage assign 1 hardware-off nell"), &workflowv1.AssignStageRequest{Stage: "pieces/a/stages/1", Person: "people/n"})
	f.gives(t, line("stage assign 1 'sand (case)' --nobody"), &workflowv1.AssignStageRequest{Stage: "pieces/a/stages/2"})
	f.says(t, line("stage assign 1 hardware-off Nell"), "Nell is away today.\n")
	f.refuses(t, line("stage assign 1 hardware-off"), "name who gets it, or --nobody")
	f.refuses(t, line("stage assign 1 hardware-off Nell --nobody"), "not both")
}

// A stage says that its part is away, and until when it dries, there or here.
func TestStage_List_Away(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	f.stages[0].State = workflowv1.Stage_STATE_AWAY
	f.stages[1].State, f.stages[1].ReadyTime = workflowv1.Stage_STATE_AWAY, middayPlus(60)
	f.stages[2].State, f.stages[2].ReadyTime = workflowv1.Stage_STATE_DRYING, middayPlus(30)
	f.says(t, line("stage list 1"), "hardware-off hardware off away 1", "sand (case) sand away, drying until 2026-03-02 13:00:00 CST 1", "sand (drawers) sand drying until 2026-03-02 12:30:00 CST 1")
}

func TestCorrect_WhatGoesTogether(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	replace := func(r *workflowv1.CorrectClockEntryRequest_Replacement) *workflowv1.CorrectClockEntryRequest {
		return &workflowv1.CorrectClockEntryRequest{ClockEntry: "clockEntries/7", Reason: "x", Replacement: r}
	}
	f.gives(t, line("clock correct 7 --take-away --reason x"), replace(nil))
	f.gives(t, line("clock correct clockEntries/7 --piece 1 --stage hardware-off --reason x"),
		replace(&workflowv1.CorrectClockEntryRequest_Replacement{Stage: "pieces/a/stages/1"}))
	f.refuses(t, line("clock correct 7 --stage hardware-off --reason x"), "--piece")
	f.refuses(t, line("clock correct 7 --piece 1 --reason x"), "--stage")
	for _, other := range []string{"--start 08:00", "--end 08:00", "--piece 1 --stage sand", "--stage sand --piece 1"} {
		f.refuses(t, line("clock correct 7 --take-away --reason x "+other), "--take-away")
	}
}

// A route that the list shows can be saved again.
func TestRoute_ListIsAFile(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	f.routes = []*workflowv1.Route{
		{Name: "routes/oiled", Etag: `"1"`, Steps: []*workflowv1.Step{{Key: "oil-1", Kind: "topcoat_coat", Scope: workflowv1.Step_SCOPE_PART, UnattendedMinutes: 720}}},
		{Name: "routes/waxed", Etag: `"4"`, Steps: []*workflowv1.Step{{Key: "wax", Kind: "rub_out", Scope: workflowv1.Step_SCOPE_PIECE, After: []string{}}}}}
	file := filepath.Join(t.TempDir(), "all.json")
	if err := os.WriteFile(file, []byte(f.says(t, line("route list --json"))), 0o600); err != nil {
		t.Fatal(err)
	}
	f.says(t, []string{"route", "save", file}, "The route oiled has 1 steps.", "The route waxed has 1 steps.")
	for i, want := range f.routes {
		want.Etag = ""
		if diff := cmp.Diff(want, f.commands()[i].(*workflowv1.SaveRouteRequest).Route, protocmp.Transform()); diff != "" {
			t.Errorf("saved (-want +got):\n%s", diff)
		}
	}
	f.refuses(t, []string{"route", "save", file, "--request-id", "one"}, `"one" is not a request id`)
}

func TestExplain_Broken(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	f.fails = errors.New("the disk is on fire")
	if code, _, errs := f.run(t, line("stage assign 1 hardware-off --nobody")...); code != 1 || errs == "" {
		t.Errorf("a broken service exits %d: %s", code, errs)
	}
}

// Who stops a command wants to hear of nothing else.
func TestRun_Stopped(t *testing.T) {
	t.Parallel()
	ctx, stop := context.WithCancel(t.Context())
	stop()
	for _, args := range [][]string{{"up", "--data", t.TempDir()}, {"demo", "--quiet"}, {"bench", "lag"}, {"health", "unix:/nowhere"}} {
		var out, errs testWriter
		if code := Run(ctx, args, &out, &errs); code != 1 || out != "" || errs != "shop: stopped.\n" {
			t.Errorf("shop %v, stopped, exits %d and prints %q and %q", args, code, out, errs)
		}
	}
}

// testWriter keeps what is written.
type testWriter string

func (w *testWriter) Write(b []byte) (int, error) {
	*w += testWriter(b)
	return len(b), nil
}
