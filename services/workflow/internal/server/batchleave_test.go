package server_test

import (
	"fmt"
	"sync"
	"sync/atomic"
	"testing"

	"google.golang.org/protobuf/proto"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	typev1 "tackfree/proto/tackfree/type/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

func leaving(stage string) *workflowv1.LeaveBatchRequest {
	return &workflowv1.LeaveBatchRequest{RequestId: svctest.NewID(), Stage: stage}
}

func (f *floor) left(t testing.TB, stage string) *workflowv1.Batch {
	t.Helper()
	r, err := f.batches().LeaveBatch(svctest.Ctx(t), leaving(stage))
	if err != nil {
		t.Fatal(err)
	}
	return r.Batch
}

// scrap gives a piece up.
func (f *floor) scrap(t *testing.T, stage string) {
	t.Helper()
	f.alter(t, fmt.Sprintf(`UPDATE piece SET scrapped = true WHERE id = '%s'`, stage[7:43]))
}

// One is taken out and goes on by itself; with the last one the batch is dissolved.
func TestServer_LeaveBatch(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell := f.person(t, "Nell")
	_, one := f.drawers(t, 11)
	_, other := f.drawers(t, 12)
	b := f.formed(t, one["dewax left"], other["dewax left"])
	refused := func(stage string, kind fault.Kind, reason string, words ...string) {
		t.Helper()
		says(t, svctest.Refused(t, f.Service, f.batches().LeaveBatch, leaving(stage), kind, reason), words...)
	}
	refused(one["polish left"], fault.Precondition, "STAGE_NOT_IN_BATCH", "polish (left)")
	refused(one["dewax left"][:43]+"/stages/"+id.New().String(), fault.NotFound, "STAGE_NOT_FOUND")
	f.onBatch(t, nell, b.Name, 0)
	refused(one["dewax left"], fault.Precondition, "STAGE_HAS_OPEN_CLOCK", "Nell", "dewax (left)")
	f.clockedOff(t, nell, 10)
	got := f.left(t, one["dewax left"])
	if got.State != workflowv1.Batch_STATE_OPEN || got.Shares[0].LeftTime == nil || got.Shares[1].LeftTime != nil || f.stage(t, one["dewax left"]).Batch != "" || !proto.Equal(got, f.batch(t, b.Name)) {
		t.Errorf("LeaveBatch = %v", got)
	}
	if e := f.Last(t); e.GetStageLeftBatch().GetStageId() != tail(one["dewax left"]) || e.AggregateKind != "batch" || e.Version != 2 {
		t.Errorf("event = %v", e)
	}
	refused(one["dewax left"], fault.Precondition, "STAGE_NOT_IN_BATCH")
	if on := f.onBatch(t, nell, b.Name, 20); len(on) != 1 || on[0].Stage != other["dewax left"] {
		t.Errorf("on the batch that it left: %v", on)
	}
	f.clockedOff(t, nell, 30)
	f.clockedOn(t, nell, one["dewax left"], 30)
	if got := f.left(t, other["dewax left"]); got.State != workflowv1.Batch_STATE_DISSOLVED || f.stage(t, other["dewax left"]).Batch != "" {
		t.Errorf("LeaveBatch of the last one = %v", got)
	}
	if e := f.Last(t); e.GetBatchEnded() == nil || e.GetBatchEnded().Finished || e.Version != 3 {
		t.Errorf("event = %v", e)
	}
}

// A scrapped piece leaves the batch with whoever goes on with it, and holds nobody up.
func TestServer_Batch_GoesOnWithoutTheScrapped(t *testing.T) {
	t.Parallel()
	for name, goOn := range map[string]func(*testing.T, *floor, string, *workflowv1.Batch){
		"ClockOn": func(t *testing.T, f *floor, nell string, b *workflowv1.Batch) {
			if on := f.onBatch(t, nell, b.Name, 30); len(on) != 4 {
				t.Errorf("on the clock: %v", on)
			}
		},
		"Resume": func(t *testing.T, f *floor, nell string, _ *workflowv1.Batch) {
			r, err := f.clocks.ResumeClock(svctest.Ctx(t), &workflowv1.ResumeClockRequest{RequestId: svctest.NewID(), Person: nell, ResumeTime: at(30)})
			if err != nil || len(r.ClockEntries) != 4 {
				t.Errorf("ResumeClock = %v, %v", r, err)
			}
		},
		"Finish": func(t *testing.T, f *floor, _ string, b *workflowv1.Batch) {
			r, err := f.batches().FinishBatch(svctest.Ctx(t), finishingBatch(b.Name, 30))
			if err != nil || len(r.Stages) != 4 || r.Batch.State != workflowv1.Batch_STATE_FINISHED {
				t.Errorf("FinishBatch = %v, %v", r, err)
			}
		},
	} {
		t.Run(name, func(t *testing.T) {
			f := setup(t)
			nell := f.person(t, "Nell")
			fronts := f.dewaxing(t)
			b := f.formed(t, fronts...)
			f.onBatch(t, nell, b.Name, 0)
			if _, err := f.clocks.PauseClock(svctest.Ctx(t), &workflowv1.PauseClockRequest{RequestId: svctest.NewID(), Person: nell, PauseTime: at(20)}); err != nil {
				t.Fatal(err)
			}
			f.scrap(t, fronts[2])
			goOn(t, f, nell, b)
			for i, s := range f.batch(t, b.Name).Shares {
				if gone := i == 2 || i == 3; gone != (s.LeftTime != nil) || gone && (!s.LeftTime.AsTime().Equal(at(30).AsTime()) || f.stage(t, s.Stage).Batch != "") {
					t.Errorf("share %d = %v", i, s)
				}
			}
			var told, version int64
			for _, e := range f.Events(t) {
				if e.AggregateKind == "batch" {
					if version++; e.Version != version {
						t.Errorf("version %d after %d", e.Version, version-1)
					}
					if e.GetStageLeftBatch().GetPieceId() == fronts[2][7:43] {
						told++
					}
				}
			}
			if told != 2 {
				t.Errorf("told of %d stages that left", told)
			}
		})
	}
}

// Of a batch whose pieces were all scrapped nothing is left.
func TestServer_Batch_AllScrapped(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell := f.person(t, "Nell")
	_, one := f.drawers(t, 11)
	b := f.formed(t, one["dewax left"], one["dewax right"])
	f.scrap(t, one["dewax left"])
	says(t, svctest.Refused(t, f.Service, f.clocks.ClockOn, onBatch(nell, b.Name, 0), fault.Precondition, "BATCH_NOT_OPEN"), "scrapped")
	says(t, svctest.Refused(t, f.Service, f.batches().FinishBatch, finishingBatch(b.Name, 0), fault.Precondition, "BATCH_NOT_OPEN"), "scrapped")
	if _, err := f.batches().DissolveBatch(svctest.Ctx(t), &workflowv1.DissolveBatchRequest{RequestId: svctest.NewID(), Batch: b.Name}); err != nil {
		t.Error(err)
	}
}

// Who begins, or writes down, a batch is told which piece holds it up.
func TestServer_BatchClock_NamesThePiece(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell := f.person(t, "Nell")
	_, one := f.drawers(t, 11)
	_, other := f.drawers(t, 12)
	b := f.formed(t, one["polish left"], other["polish left"])
	f.finishAt(t, one["dewax left"], 10)
	says(t, svctest.Refused(t, f.Service, f.clocks.ClockOn, onBatch(nell, b.Name, 20), fault.Precondition, "STAGE_NOT_READY"), "Piece 12: polish (left)")
	record := &workflowv1.RecordClockEntryRequest{RequestId: svctest.NewID(), Person: nell, Batch: b.Name, StartTime: at(-600), EndTime: at(-590), Reason: "forgot"}
	says(t, svctest.Refused(t, f.Service, f.clocks.RecordClockEntry, record, fault.Invalid, "TIME_BEFORE_INTAKE"), "Piece 11 only came in")
	f.clockedOn(t, nell, one["polish left"], 20)
	if busy := svctest.Refused(t, f.Service, f.clocks.ClockOn, onBatch(nell, b.Name, 30), fault.Precondition, "CLOCK_OPEN"); busy.Text[:4] != "Nell" {
		t.Errorf("what is about Nell says %q", busy.Text)
	}
}

// Work written down afterwards is spread over what was in the batch until it ended.
func TestServer_BatchClock_RecordedAfterOneLeft(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell := f.person(t, "Nell")
	fronts := f.dewaxing(t)
	b := f.formed(t, fronts...)
	f.finishAt(t, fronts[0], 30)
	for _, c := range []struct{ from, to, stages int }{{0, 30, 6}, {30, 60, 5}} {
		r, err := f.clocks.RecordClockEntry(svctest.Ctx(t), &workflowv1.RecordClockEntryRequest{RequestId: svctest.NewID(), Person: nell, Batch: b.Name, StartTime: at(c.from), EndTime: at(c.to), Reason: "no tablet"})
		if err != nil || len(r.ClockEntries) != c.stages {
			t.Errorf("from %d to %d: %v, %v", c.from, c.to, r, err)
		}
	}
}

// Stages laid by routes are as large as their parts were measured at intake: of these both faces of all
// alike.
func TestServer_FormBatch_ByMeasuredArea(t *testing.T) {
	t.Parallel()
	f := setup(t)
	f.drawers(t, 11) // which keeps the route
	metres := func(m string) *typev1.Quantity { return &typev1.Quantity{Value: m, Unit: "m"} }
	p := f.intake.add("left", "right")
	p.Tag = 12
	p.Parts[0].Length, p.Parts[0].Width = metres("0.5"), metres("0.2")
	p.Parts[1].Length, p.Parts[1].Width, p.Parts[1].Count = metres("0.5"), metres("0.1"), 3
	r, err := f.stages.PlanStages(svctest.Ctx(t), &workflowv1.PlanStagesRequest{RequestId: svctest.NewID(), Piece: p.Name, Route: "routes/drawers", PlanTime: at(0)})
	if err != nil {
		t.Fatal(err)
	}
	b := f.formed(t, r.Stages[0].Name, r.Stages[1].Name)
	if b.Split != workflowv1.Batch_SPLIT_AREA || b.Shares[0].Weight != 2000 || b.Shares[1].Weight != 3000 {
		t.Errorf("FormBatch = %v", b)
	}
}

// People call an open batch by its name, so that only one has it; of many who form one at once
// one does.
func TestServer_FormBatch_NameTaken(t *testing.T) {
	t.Parallel()
	f := setup(t)
	fronts := f.dewaxing(t)
	var won, lost atomic.Int32
	var all sync.WaitGroup
	for n, name := range []string{"Fronts", "fronts", "FRONTS"} {
		all.Go(func() {
			r := forming(fronts[2*n], fronts[2*n+1])
			r.DisplayName = name
			switch _, err := f.batches().FormBatch(svctest.Ctx(t), r); {
			case err == nil:
				won.Add(1)
			case fault.Is(err, "BATCH_NAME_TAKEN"):
				lost.Add(1)
			default:
				t.Errorf("FormBatch = %v", err)
			}
		})
	}
	all.Wait()
	if won.Load() != 1 || lost.Load() != 2 {
		t.Fatalf("%d formed one and %d were too late", won.Load(), lost.Load())
	}
	open, err := f.batches().ListBatches(t.Context(), &workflowv1.ListBatchesRequest{})
	if err != nil {
		t.Fatal(err)
	}
	_, another := f.drawers(t, 15)
	taken := forming(another["dewax left"], another["dewax right"])
	says(t, svctest.Refused(t, f.Service, f.batches().FormBatch, taken, fault.Exists, "BATCH_NAME_TAKEN"), "finish or dissolve")
	if _, err := f.batches().FinishBatch(svctest.Ctx(t), finishingBatch(open.Batches[0].Name, 60)); err != nil {
		t.Fatal(err)
	}
	f.form(t, taken)
}
