package server_test

import (
	"testing"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// A coat is laid in a zone that nobody read, and is said to be ready by the maker's times.
func TestServer_FinishStage_BeginsToDry(t *testing.T) {
	t.Parallel()
	r := setupDry(t)
	first, second := r.topcoats(t)
	r.lays(t, first, "bench", 0)
	c := r.clock(t, first)
	if likely(c) != 120 || c.Kind != workflowv1.DryClock_KIND_FILM || c.ProductName != "Varnish" || c.Zone != "climateZones/bench" || c.IsReady ||
		c.Needs != workflowv1.DryState_DRY_STATE_RECOAT || c.StageTitle != "topcoat (top)" || c.PieceTag != 7 || c.PartLabel != "top" || c.Part == "" {
		t.Errorf("clock = %v", c)
	}
	if c.StatedTime.AsDuration() != 2*time.Hour || c.FilmSlows != 1 || c.ShopSlows != 1 {
		t.Errorf("why it is ready then: %v stated, ×%v by its film, ×%v by the shop", c.StatedTime.AsDuration(), c.FilmSlows, c.ShopSlows)
	}
	if c.Sand != nil || c.TackFree == nil || c.Cured.LikelyTime.AsTime() != morning.Add(72*time.Hour) || c.RecoatCloses == nil {
		t.Errorf("milestones of %v", c)
	}
	events := r.Events(t)
	e := events[len(events)-1].GetPartDryForecastChanged()
	if events[len(events)-2].GetStageFinished() == nil || e.GetReady().AsTime() != morning.Add(2*time.Hour) || e.Needs != "recoat" || e.PartId == "" ||
		!e.ReadyEarly.AsTime().Before(e.Ready.AsTime()) || !e.ReadyLate.AsTime().After(e.Ready.AsTime()) || e.WindowCloses.AsTime() != morning.Add(24*time.Hour) {
		t.Errorf("the first forecast is told as %v", e)
	}
	r.dense(t, first)
	got, err := r.stages.GetStage(t.Context(), &workflowv1.GetStageRequest{Name: second.Name})
	if err != nil {
		t.Fatal(err)
	}
	if s := got.Stage; s.State != workflowv1.Stage_STATE_DRYING || s.ReadyTime.AsTime() != morning.Add(2*time.Hour) || s.ReadyTimeEarly == nil ||
		s.ReadyTimeLate == nil || s.WindowCloseTime.AsTime() != morning.Add(24*time.Hour) {
		t.Errorf("the second coat is %v", s)
	}
	r.wall.set(121)
	got, _ = r.stages.GetStage(t.Context(), &workflowv1.GetStageRequest{Name: second.Name})
	if s := got.GetStage(); s.GetState() != workflowv1.Stage_STATE_READY || s.ReadyTime != nil || s.WindowCloseTime == nil || !r.clock(t, first).IsReady {
		t.Errorf("after two hours the second coat is %v", s)
	}
}

func TestServer_FinishStage_RefusesZoneFilmAndWetGround(t *testing.T) {
	t.Parallel()
	r := setupDry(t)
	r.wall.set(10)
	first, second := r.topcoats(t)
	req := finishing(first.Name, 0)
	req.Zone = "climateZones/attic"
	svctest.Refused(t, r.Service, r.stages.FinishStage, req, fault.NotFound, "ZONE_NOT_FOUND")
	req.Zone = "attic"
	svctest.Refused(t, r.Service, r.stages.FinishStage, req, fault.Invalid, "INVALID_NAME")
	req.Zone, req.WetFilmUm = "", 9000
	if f := svctest.Refused(t, r.Service, r.stages.FinishStage, req, fault.Invalid, "OUT_OF_RANGE"); f.Fields[0].Path != "wet_film_um" {
		t.Errorf("refused at %v", f.Fields)
	}
	r.lays(t, first, "", 0)
	req = finishing(second.Name, 10)
	svctest.Refused(t, r.Service, r.stages.FinishStage, req, fault.Precondition, "PART_NOT_READY")
	req.OverrideReason = "it was dry to the finger"
	if _, err := r.stages.FinishStage(svctest.Ctx(t), req); err != nil {
		t.Fatal(err)
	}
	for _, e := range r.Events(t) {
		if f := e.GetStageFinished(); f.GetStageId() == second.Name[len(second.Name)-36:] && f.OverrideReason != req.OverrideReason {
			t.Errorf("finished although wet, for the reason %q", f.OverrideReason)
		}
	}
}

// A thick film, by the request, is slower than what the maker's times are for.
func TestServer_FinishStage_WetFilm(t *testing.T) {
	t.Parallel()
	r := setupDry(t)
	first, _ := r.topcoats(t)
	req := finishing(first.Name, 0)
	req.WetFilmUm = 200
	if _, err := r.stages.FinishStage(svctest.Ctx(t), req); err != nil {
		t.Fatal(err)
	}
	if c := r.clock(t, first); likely(c) < 300 || c.Zone != "" {
		t.Errorf("twice as thick, nowhere in particular: ready after %v minutes in %q", likely(c), c.Zone)
	}
}

// A reading is there, and within a second so are the forecast and its event; the same again
// changes nothing, a late one does.
func TestServer_AReadingMovesTheForecast(t *testing.T) {
	t.Parallel()
	r := setupDry(t)
	first, _ := r.topcoats(t)
	r.lays(t, first, "bench", 0)
	r.wall.set(60)
	moves := func(what string, readings ...*workflowv1.Reading) float64 {
		t.Helper()
		before := likely(r.clock(t, first))
		said, _, _ := r.told(t, first)
		for _, reading := range readings {
			r.reads(t, reading)
		}
		took := until(t, what, func() bool { return likely(r.clock(t, first)) != before })
		took += until(t, "the event of "+what, func() bool { now, _, _ := r.told(t, first); return len(now) == len(said)+1 })
		t.Logf("%s: the forecast and its event after %v", what, took)
		if took > time.Second {
			t.Errorf("%s: the forecast took %v", what, took)
		}
		now, _, _ := r.told(t, first)
		if got := now[len(now)-1].Ready.AsTime().Sub(morning).Minutes(); got != likely(r.clock(t, first)) {
			t.Errorf("%s: told %v, and is %v", what, got, likely(r.clock(t, first)))
		}
		return likely(r.clock(t, first))
	}
	cold := moves("a cold hour", reading("bench", 60, 10, 70))
	if cold < 200 {
		t.Errorf("in the cold it is ready after %v minutes", cold)
	}
	if !r.reads(t, reading("bench", 60, 10, 70)) {
		t.Error("the same reading is not a duplicate")
	}
	if late := moves("a late reading of a warm start", reading("bench", 0, 25, 50)); late >= cold {
		t.Errorf("it was warm at first, and it is ready after %v minutes, as late as %v", late, cold)
	}
	if r.reads(t, reading("bench", 60, 20, 50)) {
		t.Error("another value at the same time is a duplicate")
	}
	until(t, "the corrected reading", func() bool { return likely(r.clock(t, first)) < 180 })
	r.dense(t, first)
}

// Less than five minutes are computed, and not told.
func TestServer_AMoveOfAFewMinutesIsNotTold(t *testing.T) {
	t.Parallel()
	r := setupDry(t)
	first, _ := r.topcoats(t)
	r.lays(t, first, "bench", 0)
	r.wall.set(10)
	r.reads(t, reading("bench", 10, 24.96, 50)) // by which it closes four minutes later, and is ready half a minute later
	until(t, "a forecast a little later", func() bool { return likely(r.clock(t, first)) > 120 })
	if moved, _, _ := r.told(t, first); len(moved) != 1 || likely(r.clock(t, first)) > 125 {
		t.Errorf("moved to %v minutes, and told %d times", likely(r.clock(t, first)), len(moved))
	}
}

// Sent back, the coat is as wet as before: nobody begins on it, and it can be carried, until
// it is laid again.
func TestServer_SendBack_TheFilmIsStillWet(t *testing.T) {
	t.Parallel()
	r := setupDry(t)
	nell := r.person(t, "Nell")
	first, second := r.topcoats(t)
	r.lays(t, first, "bench", 0)
	r.wall.set(20)
	r.sendBackAt(t, first.Name, 5)
	if f := svctest.Refused(t, r.Service, r.clocks.ClockOn, r.clockOn(nell, first.Name, 6), fault.Precondition, "PART_NOT_READY"); f == nil {
		t.Fatal("somebody began on a wet film")
	}
	if c := r.clock(t, first); likely(c) != 120 {
		t.Errorf("sent back, its film is dry at %v", c)
	}
	r.saveZone(t, "rack")
	if _, err := r.air.MoveDrying(svctest.Ctx(t), moving(first, "rack", 10)); err != nil {
		t.Error(err)
	}
	again := finishing(first.Name, 18)
	again.OverrideReason = "it was wiped off"
	if _, err := r.stages.FinishStage(svctest.Ctx(t), again); err != nil {
		t.Fatal(err)
	}
	if c := r.clock(t, first); likely(c) != 138 || c.LaidTime.AsTime() != morning.Add(18*time.Minute) || c.Zone != "" {
		t.Errorf("laid again at 18 minutes, it is ready at %v in %q", likely(c), c.Zone)
	}
	r.wall.set(200)
	until(t, "it is ready", func() bool { _, ready, _ := r.told(t, first); return len(ready) > 0 })
	if _, ready, _ := r.told(t, first); len(ready) != 1 || ready[0].OccurredAt.AsTime() != morning.Add(138*time.Minute) {
		t.Errorf("told as ready: %v", ready)
	}
	if moved, _, _ := r.told(t, second); len(moved) != 0 {
		t.Errorf("of the second coat, which was not laid: %v", moved)
	}
	r.dense(t, first)
}

func moving(stage *workflowv1.Stage, word string, minute int) *workflowv1.MoveDryingRequest {
	return &workflowv1.MoveDryingRequest{RequestId: svctest.NewID(), Stage: stage.Name, Zone: "climateZones/" + word, MoveTime: at(minute)}
}

func TestServer_MoveDrying(t *testing.T) {
	t.Parallel()
	r := setupDry(t)
	r.saveZone(t, "rack")
	first, second := r.topcoats(t)
	r.wall.set(60)
	r.reads(t, reading("rack", 55, 12, 70))
	r.lays(t, first, "bench", 0)
	svctest.Refused(t, r.Service, r.air.MoveDrying, moving(first, "attic", 60), fault.NotFound, "ZONE_NOT_FOUND")
	svctest.Refused(t, r.Service, r.air.MoveDrying, moving(second, "rack", 60), fault.NotFound, "DRY_CLOCK_NOT_FOUND")
	svctest.Refused(t, r.Service, r.air.MoveDrying, moving(&workflowv1.Stage{Name: id.Name("pieces", id.New(), "stages", id.New())}, "rack", 60), fault.NotFound, "DRY_CLOCK_NOT_FOUND")
	svctest.Refused(t, r.Service, r.air.MoveDrying, moving(first, "rack", -1), fault.Invalid, "MOVE_BEFORE_LAST")
	svctest.Refused(t, r.Service, r.air.MoveDrying, moving(first, "rack", 90), fault.Invalid, "TIME_IN_FUTURE")
	got, err := r.air.MoveDrying(svctest.Ctx(t), moving(first, "rack", 60))
	if err != nil {
		t.Fatal(err)
	}
	if c := got.DryClock; c.Zone != "climateZones/rack" || likely(c) < 200 {
		t.Errorf("in the cold rack it is ready after %v minutes", likely(c))
	}
	if moved, _, _ := r.told(t, first); len(moved) != 2 {
		t.Errorf("told %d times, want its first forecast and the move", len(moved))
	}
	svctest.Refused(t, r.Service, r.air.MoveDrying, moving(first, "bench", 30), fault.Invalid, "MOVE_BEFORE_LAST")
	for word, want := range map[string]int{"rack": 1, "bench": 0} {
		list, err := r.air.ListDryClocks(t.Context(), &workflowv1.ListDryClocksRequest{Zone: "climateZones/" + word})
		if err != nil || len(list.DryClocks) != want {
			t.Errorf("in the %s there are %v, %v", word, list, err)
		}
	}
	r.dense(t, first)
}

// One of two films on a part is carried: the row of the other is not written.
func TestServer_MoveDrying_LeavesTheOthersAlone(t *testing.T) {
	t.Parallel()
	r := setupDry(t)
	first, second := r.topcoats(t)
	r.lays(t, first, "bench", 0)
	r.wall.set(130)
	until(t, "it is told as ready", func() bool { _, ready, _ := r.told(t, first); return len(ready) > 0 })
	r.lays(t, second, "bench", 125)
	before, other := r.written(t, first), r.written(t, second)
	if _, err := r.air.MoveDrying(svctest.Ctx(t), moving(second, "bench", 130)); err != nil {
		t.Fatal(err)
	}
	if r.written(t, first) != before || r.written(t, second) == other {
		t.Error("the clock of the first was written, or that of the second was not")
	}
}

func TestServer_ListDryClocks_SoonestFirst(t *testing.T) {
	t.Parallel()
	r := setupDry(t)
	slow, _ := r.topcoats(t)
	soon, _ := r.topcoats(t)
	r.wall.set(30)
	r.lays(t, slow, "", 25)
	r.lays(t, soon, "bench", 5)
	list, err := r.air.ListDryClocks(t.Context(), &workflowv1.ListDryClocksRequest{})
	if err != nil || len(list.DryClocks) != 2 || list.DryClocks[0].Stage != soon.Name || list.DryClocks[1].Stage != slow.Name {
		t.Errorf("ListDryClocks = %v, %v", list, err)
	}
	svctest.Refused(t, r.Service, r.air.ListDryClocks, &workflowv1.ListDryClocksRequest{Zone: "climateZones/attic"}, fault.NotFound, "ZONE_NOT_FOUND")
}
