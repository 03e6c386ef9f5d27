package server_test

import (
	"slices"
	"sync"
	"sync/atomic"
	"testing"

	"github.com/google/go-cmp/cmp"
	"google.golang.org/protobuf/testing/protocmp"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

func (f *floor) batches() workflowv1.BatchServiceClient {
	return workflowv1.NewBatchServiceClient(f.Conn)
}

// drawers is a piece with this tag of which both drawer fronts are to be dewaxed and then
// polished; it gives the stages by title.
func (f *floor) drawers(t testing.TB, tag int32) (piece string, stages map[string]string) {
	t.Helper()
	route := saveRoute(step("dewax", ""), step("polish", "", "dewax"))
	route.Route.Name = "routes/drawers"
	if _, err := f.routes.SaveRoute(svctest.Ctx(t), route); err != nil {
		t.Fatal(err)
	}
	p := f.intake.add("left", "right")
	p.Tag = tag
	r, err := f.stages.PlanStages(svctest.Ctx(t), &workflowv1.PlanStagesRequest{RequestId: svctest.NewID(), Piece: p.Name, Route: "routes/drawers", PlanTime: at(0)})
	if err != nil {
		t.Fatal(err)
	}
	f.know(r.Stages)
	stages = map[string]string{}
	for _, s := range r.Stages {
		stages[s.Key+" "+s.PartLabel] = s.Name
	}
	return p.Name, stages
}

// dewaxing are the six drawer fronts of three pieces.
func (f *floor) dewaxing(t testing.TB) (stages []string) {
	t.Helper()
	for tag := range int32(3) {
		_, of := f.drawers(t, 11+tag)
		stages = append(stages, of["dewax left"], of["dewax right"])
	}
	return stages
}

func forming(stages ...string) *workflowv1.FormBatchRequest {
	return &workflowv1.FormBatchRequest{RequestId: svctest.NewID(), DisplayName: "fronts", Stages: stages}
}

func (f *floor) formed(t testing.TB, stages ...string) *workflowv1.Batch {
	t.Helper()
	return f.formedAs(t, "fronts", stages...)
}

func (f *floor) formedAs(t testing.TB, name string, stages ...string) *workflowv1.Batch {
	t.Helper()
	r := forming(stages...)
	r.DisplayName = name
	return f.form(t, r)
}

func (f *floor) form(t testing.TB, asked *workflowv1.FormBatchRequest) *workflowv1.Batch {
	t.Helper()
	r, err := f.batches().FormBatch(svctest.Ctx(t), asked)
	if err != nil {
		t.Fatal(err)
	}
	return r.Batch
}

func (f *floor) stage(t testing.TB, name string) *workflowv1.Stage {
	t.Helper()
	r, err := f.stages.GetStage(t.Context(), &workflowv1.GetStageRequest{Name: name})
	if err != nil {
		t.Fatal(err)
	}
	return r.Stage
}

func (f *floor) batch(t testing.TB, name string) *workflowv1.Batch {
	t.Helper()
	r, err := f.batches().GetBatch(t.Context(), &workflowv1.GetBatchRequest{Name: name})
	if err != nil {
		t.Fatal(err)
	}
	return r.Batch
}

func TestServer_FormBatch(t *testing.T) {
	t.Parallel()
	f := setup(t)
	fronts := f.dewaxing(t)
	b := f.formed(t, fronts...)
	if b.State != workflowv1.Batch_STATE_OPEN || b.Split != workflowv1.Batch_SPLIT_EQUAL || b.StageKind != "dewax" || len(b.Shares) != 6 || b.Shares[2].PieceTag != 12 || b.Shares[3].StageTitle != "dewax (right)" {
		t.Errorf("FormBatch = %v", b)
	}
	want := &eventsv1.BatchFormed{BatchId: b.Name[len("batches/"):], DisplayName: "fronts"}
	for _, name := range fronts {
		if s := f.stage(t, name); s.Batch != b.Name {
			t.Errorf("%s is in %q", name, s.Batch)
		}
		want.Shares = append(want.Shares, &eventsv1.BatchFormed_Share{PieceId: name[len("pieces/"):][:36], StageId: name[len(name)-36:], Weight: 1})
	}
	e := f.Last(t)
	if diff := cmp.Diff(want, e.GetBatchFormed(), protocmp.Transform()); diff != "" || e.AggregateKind != "batch" || e.Version != 1 || e.PieceId != "" {
		t.Errorf("event of %s %d (-want +got):\n%s", e.AggregateKind, e.Version, diff)
	}
	if diff := cmp.Diff(b, f.batch(t, b.Name), protocmp.Transform()); diff != "" {
		t.Errorf("GetBatch (-want +got):\n%s", diff)
	}
}

func TestServer_FormBatch_Refuses(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell := f.person(t, "Nell")
	_, one := f.drawers(t, 11)
	_, other := f.drawers(t, 12)
	refused := func(r *workflowv1.FormBatchRequest, kind fault.Kind, reason string, words ...string) {
		t.Helper()
		says(t, svctest.Refused(t, f.Service, f.batches().FormBatch, r, kind, reason), words...)
	}
	refused(forming(one["dewax left"], other["polish left"]), fault.Precondition, "BATCH_MIXED", "dewax (left) of piece 11", "polish (left) of piece 12")
	refused(forming(one["dewax left"]), fault.Invalid, "INVALID_FIELD")
	refused(forming(one["dewax left"], one["dewax left"]), fault.Invalid, "INVALID_FIELD")
	refused(forming(one["dewax left"], one["dewax left"][:43]+"/stages/"+id.New().String()), fault.NotFound, "STAGE_NOT_FOUND")
	refused(forming(one["dewax left"], id.Name("pieces", id.New(), "stages", id.New())), fault.NotFound, "STAGE_NOT_FOUND")
	byArea := forming(one["dewax left"], other["dewax left"])
	byArea.Split = workflowv1.Batch_SPLIT_AREA
	refused(byArea, fault.Precondition, "AREA_UNKNOWN", "dewax (left) of piece 11 and dewax (left) of piece 12 are", "Split equally")
	f.clockedOn(t, nell, one["dewax left"], 0)
	refused(forming(one["dewax left"], other["dewax left"]), fault.Precondition, "STAGE_HAS_OPEN_CLOCK", "Piece 11", "Nell")
	f.clockedOff(t, nell, 10)
	f.finishAt(t, one["dewax left"], 20)
	refused(forming(one["dewax left"], other["dewax left"]), fault.Precondition, "STAGE_FINISHED", "Piece 11", "dewax (left)")
	f.formed(t, one["dewax right"], other["dewax right"])
	refused(forming(other["dewax left"], other["dewax right"]), fault.Precondition, "STAGE_IN_BATCH", "dewax (right) of piece 12", `in the batch "fronts"`)
}

// Of many who put the same stages into a batch at once one does, and nobody waits for another
// in a circle.
func TestServer_FormBatch_Racing(t *testing.T) {
	t.Parallel()
	f := setup(t)
	fronts := f.dewaxing(t)
	var won, lost atomic.Int32
	var all sync.WaitGroup
	for n := range 12 {
		mine := slices.Concat(fronts[n%6:], fronts[:n%6]) // each in another order
		all.Go(func() {
			switch _, err := f.batches().FormBatch(svctest.Ctx(t), forming(mine...)); {
			case err == nil:
				won.Add(1)
			case fault.Is(err, "STAGE_IN_BATCH"):
				lost.Add(1)
			default:
				t.Errorf("FormBatch = %v", err)
			}
		})
	}
	all.Wait()
	if won.Load() != 1 || lost.Load() != 11 {
		t.Errorf("%d formed it and %d were too late", won.Load(), lost.Load())
	}
}

func finishingBatch(batch string, minute int) *workflowv1.FinishBatchRequest {
	return &workflowv1.FinishBatchRequest{RequestId: svctest.NewID(), Batch: batch, FinishTime: at(minute)}
}

// All six are done at one instant, and what comes after each can begin.
func TestServer_FinishBatch(t *testing.T) {
	t.Parallel()
	f := setup(t)
	fronts := f.dewaxing(t)
	b := f.formed(t, fronts...)
	before := len(f.Events(t))
	r, err := f.batches().FinishBatch(svctest.Ctx(t), finishingBatch(b.Name, 60))
	if err != nil {
		t.Fatal(err)
	}
	if r.Batch.State != workflowv1.Batch_STATE_FINISHED || !r.Batch.EndTime.AsTime().Equal(b.CreateTime.AsTime()) || len(r.Stages) != 6 {
		t.Errorf("FinishBatch = %v", r)
	}
	for i, s := range r.Stages {
		if s.Name != fronts[i] || !s.FinishTime.AsTime().Equal(at(60).AsTime()) || s.Batch != "" {
			t.Errorf("stage %d = %v", i, s)
		}
		if diff := cmp.Diff(f.stage(t, s.Name), s, protocmp.Transform()); diff != "" {
			t.Errorf("GetStage of it (-want +got):\n%s", diff)
		}
	}
	if diff := cmp.Diff(r.Batch, f.batch(t, b.Name), protocmp.Transform()); diff != "" {
		t.Errorf("GetBatch (-want +got):\n%s", diff)
	}
	told := f.Events(t)[before:]
	versions := map[string]int64{}
	for _, e := range told[:6] {
		if e.GetStageFinished() == nil || e.Version <= versions[e.AggregateId] {
			t.Errorf("event = %v after version %d", e, versions[e.AggregateId])
		}
		versions[e.AggregateId] = e.Version
	}
	if e := told[6]; len(told) != 7 || !e.GetBatchEnded().GetFinished() || e.AggregateKind != "batch" || e.Version != 2 {
		t.Errorf("last of %d events = %v", len(told), e)
	}
	svctest.Refused(t, f.Service, f.batches().FinishBatch, finishingBatch(b.Name, 70), fault.Precondition, "BATCH_NOT_OPEN")
	f.sendBackAt(t, fronts[0], 80) // by itself
	if again := f.formed(t, fronts[0], f.another(t)); again.Shares[0].Pass != 2 {
		t.Errorf("in its second pass: %v", again.Shares[0])
	}
}

// another is the left drawer front of one more piece.
func (f *floor) another(t testing.TB) string {
	t.Helper()
	_, of := f.drawers(t, 19)
	return of["dewax left"]
}

// All or none: one that cannot be finished keeps all of them open, and is named.
func TestServer_FinishBatch_AllOrNone(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell := f.person(t, "Nell")
	_, one := f.drawers(t, 11)
	_, other := f.drawers(t, 12)
	b := f.formed(t, one["polish left"], other["polish left"])
	refused := func(r *workflowv1.FinishBatchRequest, kind fault.Kind, reason string, words ...string) {
		t.Helper()
		says(t, svctest.Refused(t, f.Service, f.batches().FinishBatch, r, kind, reason), words...)
	}
	f.finishAt(t, one["dewax left"], 10)
	refused(finishingBatch(b.Name, 60), fault.Precondition, "STAGE_NOT_READY", "Piece 12", "polish (left)", "dewax (left)")
	f.finishAt(t, other["dewax left"], 10)
	f.clockedOn(t, nell, other["polish left"], 20)
	refused(finishingBatch(b.Name, 60), fault.Precondition, "STAGE_HAS_OPEN_CLOCK", "Piece 12", "Nell")
	f.clockedOff(t, nell, 30)
	refused(finishingBatch(b.Name, 29), fault.Invalid, "FINISH_BEFORE_WORK", "Piece 12", "Nell worked on polish (left)")
	refused(finishingBatch(b.Name, -61), fault.Invalid, "TIME_BEFORE_INTAKE", "Piece 11 only came in")
	film := finishingBatch(b.Name, 60)
	film.WetFilmUm = 90
	refused(film, fault.Invalid, "OUT_OF_RANGE", "leaves no film")
	zone := finishingBatch(b.Name, 60)
	zone.Zone = "climateZones/nowhere"
	refused(zone, fault.NotFound, "ZONE_NOT_FOUND")
	refused(finishingBatch(id.Name("batches", id.New()), 60), fault.NotFound, "BATCH_NOT_FOUND")
}

// One that is finished by itself leaves the batch, in which the others keep their weights; the
// last one ends it.
func TestServer_FinishStage_LeavesItsBatch(t *testing.T) {
	t.Parallel()
	f := setup(t)
	_, one := f.drawers(t, 11)
	_, other := f.drawers(t, 12)
	b := f.formed(t, one["dewax left"], other["dewax left"])
	f.finishAt(t, one["dewax left"], 30)
	if s := f.stage(t, one["dewax left"]); s.Batch != "" || s.FinishTime == nil {
		t.Errorf("the one that was finished = %v", s)
	}
	left := f.batch(t, b.Name)
	if left.State != workflowv1.Batch_STATE_OPEN || len(left.Shares) != 2 || !left.Shares[0].LeftTime.AsTime().Equal(at(30).AsTime()) || left.Shares[1].LeftTime != nil {
		t.Errorf("the batch that it left = %v", left)
	}
	f.finishAt(t, other["dewax left"], 40)
	if ended := f.batch(t, b.Name); ended.State != workflowv1.Batch_STATE_FINISHED || !ended.EndTime.AsTime().Equal(ended.CreateTime.AsTime()) {
		t.Errorf("after the last one: %v", ended)
	}
	events := f.Events(t)
	if e := events[len(events)-2]; !e.GetBatchEnded().GetFinished() && !events[len(events)-1].GetBatchEnded().GetFinished() {
		t.Errorf("nobody was told that the batch has ended: %v", e)
	}
}

func TestServer_DissolveBatch(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell := f.person(t, "Nell")
	_, one := f.drawers(t, 11)
	_, other := f.drawers(t, 12)
	b := f.formed(t, one["dewax left"], other["dewax left"])
	dissolving := func(batch string) *workflowv1.DissolveBatchRequest {
		return &workflowv1.DissolveBatchRequest{RequestId: svctest.NewID(), Batch: batch}
	}
	refused := func(r *workflowv1.DissolveBatchRequest, kind fault.Kind, reason string, words ...string) {
		t.Helper()
		says(t, svctest.Refused(t, f.Service, f.batches().DissolveBatch, r, kind, reason), words...)
	}
	f.onBatch(t, nell, b.Name, 0)
	refused(dissolving(b.Name), fault.Precondition, "STAGE_HAS_OPEN_CLOCK", "Nell", "fronts")
	f.clockedOff(t, nell, 10)
	r, err := f.batches().DissolveBatch(svctest.Ctx(t), dissolving(b.Name))
	if err != nil || r.Batch.State != workflowv1.Batch_STATE_DISSOLVED || len(r.Batch.Shares) != 2 || f.stage(t, one["dewax left"]).Batch != "" {
		t.Errorf("DissolveBatch = %v, %v", r, err)
	}
	if e := f.Last(t); e.GetBatchEnded() == nil || e.GetBatchEnded().Finished || e.Version != 2 {
		t.Errorf("event = %v", e)
	}
	refused(dissolving(b.Name), fault.Precondition, "BATCH_NOT_OPEN", "dissolved")
	refused(dissolving(id.Name("batches", id.New())), fault.NotFound, "BATCH_NOT_FOUND")
	svctest.Refused(t, f.Service, f.clocks.ClockOn, onBatch(nell, b.Name, 20), fault.Precondition, "BATCH_NOT_OPEN")
	f.finishAt(t, one["dewax left"], 30)
	f.formed(t, one["dewax right"], other["dewax left"])
}
