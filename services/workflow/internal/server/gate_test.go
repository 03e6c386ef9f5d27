package server_test

import (
	"fmt"
	"slices"
	"sync"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/jackc/pgx/v5"

	"tackfree/pkg/fault"
	"tackfree/pkg/svctest"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// untested plans a piece with a top and a case, which nobody tested for lead, by steps.
func (f *floor) untested(t *testing.T, steps ...*workflowv1.Step) (p *intakev1.Piece, stages map[string]string) {
	t.Helper()
	if _, err := f.routes.SaveRoute(svctest.Ctx(t), saveRoute(steps...)); err != nil {
		t.Fatal(err)
	}
	p = f.intake.add("top", "case")
	r, err := f.stages.PlanStages(svctest.Ctx(t), &workflowv1.PlanStagesRequest{RequestId: svctest.NewID(), Piece: p.Name, Route: "routes/painted", PlanTime: at(0)})
	if err != nil {
		t.Fatal(err)
	}
	f.know(r.Stages)
	stages = map[string]string{}
	for _, s := range r.Stages {
		stages[s.Key+" "+s.PartLabel] = s.Name
	}
	return p, stages
}

// refusedOn checks a refusal of a clock-on, that no row changed, and that it says the words.
func (f *floor) refusedOn(t *testing.T, r *workflowv1.ClockOnRequest, reason string, words ...string) *fault.Fault {
	t.Helper()
	got := svctest.Refused(t, f.Service, f.clocks.ClockOn, r, fault.Precondition, reason)
	says(t, got, words...)
	return got
}

// Nobody makes dust or debris of an old coating before a test for lead, whatever the reason;
// where it is found it may be stripped, and a named person may accept the rest.
func TestServer_ClockOn_Lead(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell := f.person(t, "Nell")
	p, stages := f.untested(t, step("scrape", ""), step("sand", ""), step("strip", ""), step("inspect", ""))
	on := func(key string, minute int) *workflowv1.ClockOnRequest {
		r := f.clockOn(nell, stages[key], minute)
		r.OverrideReason = "the client fetches it today"
		return r
	}
	record := func(part int, result workflowv1.Lead_Result) {
		t.Helper()
		r := leadTest(p.Name, result, 5)
		r.Part, r.Lead.Controls, r.Lead.Person = p.Parts[part].Name, "wet, with a respirator", nell
		if _, err := f.tests.RecordLeadTest(svctest.Ctx(t), r); err != nil {
			t.Fatal(err)
		}
	}
	works := func(key string, from int) {
		t.Helper()
		f.works(t, nell, stages[key], from, from+5)
	}
	for _, key := range []string{"strip top", "scrape top", "sand top"} {
		f.refusedOn(t, on(key, 10), "LEAD_UNTESTED", "presumed", "No dry sanding, no scraping, no heat", "test", "local codes")
	}
	works("inspect top", 10)
	record(1, workflowv1.Lead_RESULT_FREE)
	f.refusedOn(t, on("sand top", 20), "LEAD_UNTESTED", "the part top")
	works("sand case", 20)
	record(0, workflowv1.Lead_RESULT_FOUND)
	works("strip top", 30)
	for _, key := range []string{"scrape top", "sand top"} {
		f.refusedOn(t, on(key, 40), "LEAD_PRESENT", "found lead", "No dry sanding, no scraping, no heat", "A named person", "local codes")
	}
	record(0, workflowv1.Lead_RESULT_ACCEPTED_WITH_CONTROLS)
	works("scrape top", 40)
	record(0, workflowv1.Lead_RESULT_FOUND)
	f.refusedOn(t, on("sand top", 50), "LEAD_PRESENT")
	record(0, workflowv1.Lead_RESULT_FREE)
	works("sand top", 50)
}

// Whoever starts a stage says once in each pass to have read its cautions. That is kept, and
// told.
func TestServer_ClockOn_Cautions(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell, odo := f.person(t, "Nell"), f.person(t, "Odo")
	p, stages := f.untested(t, step("sand", ""))
	sand := stages["sand top"]
	if got := f.cautions[sand]; !slices.Equal(got, []string{"dust", "lead"}) {
		t.Fatalf("the stage has the cautions %v", got)
	}
	accepted := leadTest(p.Name, workflowv1.Lead_RESULT_ACCEPTED_WITH_CONTROLS, 5)
	accepted.Lead.Controls, accepted.Lead.Person = "wet, with a respirator", nell
	if _, err := f.tests.RecordLeadTest(svctest.Ctx(t), accepted); err != nil {
		t.Fatal(err)
	}
	on := func(who string, minute int, read ...string) *workflowv1.ClockOnRequest {
		r := f.clockOn(who, sand, minute)
		r.AcknowledgedCautions = read
		return r
	}
	missing := func(r *workflowv1.ClockOnRequest, ids string) {
		t.Helper()
		if got := f.refusedOn(t, r, "CAUTIONS_NOT_ACKNOWLEDGED", "sand (top)", "Nell", "acknowledge").Meta["cautions"]; got != ids {
			t.Errorf("missing %q, want %q", got, ids)
		}
	}
	starts := func(r *workflowv1.ClockOnRequest, told ...string) {
		t.Helper()
		if _, err := f.clocks.ClockOn(svctest.Ctx(t), r); err != nil {
			t.Fatal(err)
		}
		if got := f.Last(t).GetClockedOn(); !slices.Equal(got.AcknowledgedCautions, told) || got.OverrideReason != "" || got.Overridden != nil {
			t.Errorf("told %v, want %v", got, told)
		}
		if _, err := f.clocks.ClockOff(svctest.Ctx(t), clockOff(r.Person, int(r.StartTime.AsTime().Sub(morning).Minutes())+5)); err != nil {
			t.Fatal(err)
		}
	}
	missing(on(nell, 10), "dust,lead")
	missing(on(nell, 10, "lead"), "dust")
	svctest.Refused(t, f.Service, f.clocks.ClockOn, on(nell, 10, "dust", "lead", "fire"), fault.Invalid, "CAUTION_UNKNOWN")
	starts(on(nell, 10, "lead", "dust"), "dust", "lead")
	starts(on(nell, 20))
	says(t, f.refusedOn(t, on(odo, 20), "CAUTIONS_NOT_ACKNOWLEDGED"), "Odo", "Use extraction and a mask", "presumed to hold lead")
	f.finishAt(t, sand, 30)
	f.sendBackAt(t, sand, 40)
	missing(on(nell, 50), "dust,lead")
	starts(on(nell, 35))
	f.free(t, p.Name) // a test of before, so what was accepted later holds
	missing(on(nell, 50, "dust"), "lead")
	free := leadTest(p.Name, workflowv1.Lead_RESULT_FREE, 45)
	if _, err := f.tests.RecordLeadTest(svctest.Ctx(t), free); err != nil {
		t.Fatal(err)
	}
	starts(on(nell, 50, "dust"), "dust")
	again := leadTest(p.Name, workflowv1.Lead_RESULT_ACCEPTED_WITH_CONTROLS, 55)
	again.Lead.Controls, again.Lead.Person = "wet, with a respirator", nell
	if _, err := f.tests.RecordLeadTest(svctest.Ctx(t), again); err != nil {
		t.Fatal(err)
	}
	missing(on(nell, 60), "lead")
	starts(on(nell, 60, "lead"), "lead")
	starts(on(nell, 70))
}

// washed is a piece free of lead whose top was washed off from minute 0 to 20, and dries for
// ten hours; the shop's clock stands at minute 200.
func washed(t *testing.T) (f *floor, nell, top string, stages map[string]string) {
	t.Helper()
	f = setupWith(t, svctest.Options{Now: func() time.Time { return at(200).AsTime() }})
	nell = f.person(t, "Nell")
	wash := step("wash_off", "")
	wash.UnattendedMinutes = 600
	p, stages := f.untested(t, wash, step("sand", "", "wash_off"), step("inspect", ""))
	f.free(t, p.Name)
	f.works(t, nell, stages["wash_off top"], 0, 20)
	f.finishAt(t, stages["wash_off top"], 20)
	return f, nell, p.Parts[0].Name, stages
}

// A part that was wetted waits until it has dried, and others do not; or somebody starts all
// the same and says why, which is told.
func TestServer_ClockOn_PartNotReady(t *testing.T) {
	t.Parallel()
	f, nell, _, stages := washed(t)
	sand := f.clockOn(nell, stages["sand top"], 60)
	sand.OverrideReason = " "
	got := f.refusedOn(t, sand, "PART_NOT_READY", "sand (top)", "the part top", "Mon 2 Mar 2026 19:20 EST", "say why")
	if got.Meta["ready_time"] != "2026-03-03T00:20:00Z" {
		t.Errorf("meta = %v", got.Meta)
	}
	f.refusedOn(t, f.clockOn(nell, stages["inspect top"], 60), "PART_NOT_READY")
	f.works(t, nell, stages["inspect case"], 60, 65)
	sand = f.clockOn(nell, stages["sand top"], 70)
	sand.OverrideReason = "a heater stands before it"
	if _, err := f.clocks.ClockOn(svctest.Ctx(t), sand); err != nil {
		t.Fatal(err)
	}
	if e := f.Last(t).GetClockedOn(); e.OverrideReason != sand.OverrideReason || !slices.Equal(e.Overridden, []string{"PART_NOT_READY"}) {
		t.Errorf("event = %v", e)
	}
}

// What a meter finds wet is neither sanded nor coated, and what it finds dry need not wait
// for the dry clock, which ends then.
func TestServer_ClockOn_AfterAMeter(t *testing.T) {
	t.Parallel()
	f, nell, top, stages := washed(t)
	read := func(percent float64, minute int) {
		t.Helper()
		if _, err := f.tests.RecordMoisture(svctest.Ctx(t), moisture(top[:43], top, "", percent, minute)); err != nil {
			t.Fatal(err)
		}
	}
	read(16, 80)
	sand := f.clockOn(nell, stages["sand top"], 90)
	f.refusedOn(t, sand, "PART_NOT_READY")
	sand.RequestId, sand.OverrideReason = svctest.NewID(), "it is only the edge"
	if _, err := f.clocks.ClockOn(svctest.Ctx(t), sand); err != nil {
		t.Fatal(err)
	}
	if e := f.Last(t).GetClockedOn(); !slices.Equal(e.Overridden, []string{"PART_NOT_READY", "WOOD_TOO_WET"}) {
		t.Errorf("event = %v", e)
	}
	if _, err := f.clocks.ClockOff(svctest.Ctx(t), clockOff(nell, 95)); err != nil {
		t.Fatal(err)
	}
	read(10, 110)
	f.works(t, nell, stages["sand top"], 110, 120)
	f.untilReady(t, stages["wash_off top"], 110)
	read(16, 130)
	f.refusedOn(t, f.clockOn(nell, stages["sand top"], 140), "WOOD_TOO_WET", "sand (top)", "16 %", "12.0 %", "Measure again")
}

// untilReady waits until it is told that what a stage left wet was ready at a minute.
func (f *floor) untilReady(t *testing.T, stage string, minute int) {
	t.Helper()
	for deadline := time.Now().Add(10 * time.Second); time.Now().Before(deadline); {
		for _, e := range f.Events(t) {
			if ready := e.GetPartReady(); ready.GetStageId() == tail(stage) {
				if !ready.Ready.AsTime().Equal(at(minute).AsTime()) {
					t.Errorf("ready at %v, want %v", ready.Ready.AsTime(), at(minute).AsTime())
				}
				return
			}
		}
	}
	t.Error("it is not told that the part is ready")
}

// A reason where nothing has to be overridden is none.
func TestServer_ClockOn_NothingToOverride(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell := f.person(t, "Nell", "strip")
	_, stages := f.planned(t)
	r := f.clockOn(nell, stages["strip top"].Name, 0)
	r.OverrideReason = "just so"
	if _, err := f.clocks.ClockOn(svctest.Ctx(t), r); err != nil {
		t.Fatal(err)
	}
	if e := f.Last(t).GetClockedOn(); e.OverrideReason != "" || e.Overridden != nil {
		t.Errorf("event = %v", e)
	}
}

// alter changes rows past the service, for what only finish plans bring about.
func (f *floor) alter(t testing.TB, sql string) {
	t.Helper()
	conn, err := pgx.Connect(t.Context(), f.URL)
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = conn.Close(t.Context()) }()
	if _, err := conn.Exec(t.Context(), `SET search_path = workflow`); err != nil {
		t.Fatal(err)
	}
	if _, err := conn.Exec(t.Context(), sql); err != nil {
		t.Fatal(err)
	}
}

// A coat is not laid in air that it cannot stand, as it was read where it is done.
func TestServer_ClockOn_UnfitForCoating(t *testing.T) {
	t.Parallel()
	f := setup(t)
	nell := f.person(t, "Nell")
	_, stages := f.untested(t, step("topcoat_coat", ""))
	f.zone(t, "booth", 8, 60, 0)
	coat := stages["topcoat_coat top"]
	f.alter(t, fmt.Sprintf(`UPDATE stage SET coating = '{}', zone_id = (SELECT id FROM zone) WHERE id = '%s'`, tail(coat)))
	on := func(minute int) *workflowv1.ClockOnRequest { return f.clockOn(nell, coat, minute) }
	f.refusedOn(t, on(10), "UNFIT_FOR_COATING", "topcoat_coat (top)", "Mon 2 Mar 2026 09:00 EST", "8.0 °C", "at least 10.0 °C", "say why")
	r := on(10)
	r.OverrideReason = "the heater is on"
	if _, err := f.clocks.ClockOn(svctest.Ctx(t), r); err != nil {
		t.Fatal(err)
	}
	if e := f.Last(t).GetClockedOn(); !slices.Equal(e.Overridden, []string{"UNFIT_FOR_COATING"}) {
		t.Errorf("event = %v", e)
	}
	if _, err := f.clocks.ClockOff(svctest.Ctx(t), clockOff(nell, 15)); err != nil {
		t.Fatal(err)
	}
	f.refusedOn(t, on(240), "UNFIT_FOR_COATING")
	f.works(t, nell, coat, 241, 242) // the reading is too old to say anything
	f.zone(t, "other", 20, 50, 250)
	f.alter(t, fmt.Sprintf(`UPDATE stage SET zone_id = (SELECT id FROM zone WHERE word = 'other') WHERE id = '%s'`, tail(coat)))
	f.works(t, nell, coat, 250, 260)
}

// A test that finds lead and clock-ons at the same moment: nobody is on the clock at a stage
// that makes dust of it after the test.
func TestServer_ClockOn_WhileLeadIsFound(t *testing.T) {
	t.Parallel()
	f := setup(t)
	p, stages := f.untested(t, step("sand", ""))
	f.free(t, p.Name)
	var people []string
	for i := range 16 {
		people = append(people, f.person(t, fmt.Sprintf("Helper %d", i)))
	}
	var all sync.WaitGroup
	begin := make(chan struct{})
	for i, who := range people {
		all.Go(func() {
			<-begin
			if i == len(people)/2 {
				if _, err := f.tests.RecordLeadTest(svctest.Ctx(t), leadTest(p.Name, workflowv1.Lead_RESULT_FOUND, 5)); err != nil {
					t.Errorf("RecordLeadTest: %v", err)
				}
			}
			if _, err := f.clocks.ClockOn(svctest.Ctx(t), f.clockOn(who, stages["sand top"], 10)); err != nil && !fault.Is(err, "LEAD_PRESENT") {
				t.Errorf("ClockOn = %v", err)
			}
		})
	}
	close(begin)
	all.Wait()
	found, versions := false, []int64{}
	for _, e := range f.Events(t) {
		if "pieces/"+e.PieceId != p.Name {
			continue
		}
		versions = append(versions, e.Version)
		if e.GetClockedOn() != nil && found {
			t.Errorf("somebody began after the test, in version %d", e.Version)
		}
		found = found || e.GetPartTested().GetResult() == "found"
	}
	want := make([]int64, len(versions))
	for i := range want {
		want[i] = int64(i + 1)
	}
	if diff := cmp.Diff(want, versions); diff != "" {
		t.Errorf("versions (-want +got):\n%s", diff)
	}
}
