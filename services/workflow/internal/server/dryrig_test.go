package server_test

import (
	"encoding/json"
	"sync/atomic"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"tackfree/pkg/drying"
	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/workflow/internal/workflow"
)

// wall is the clock on the shop's wall, in minutes of the tests' day.
type wall struct{ minutes atomic.Int64 }

func (w *wall) Now() time.Time {
	return morning.Add(time.Duration(w.minutes.Load()) * time.Minute)
}

func (w *wall) set(minutes int) { w.minutes.Store(int64(minutes)) }

// dryRoom is a floor whose clock the test sets, with a zone for its bench.
type dryRoom struct {
	*floor
	wall *wall
}

func setupDry(t testing.TB) *dryRoom {
	t.Helper()
	w := &wall{}
	r := &dryRoom{setupWith(t, svctest.Options{Now: w.Now}), w}
	r.saveZone(t, "bench")
	return r
}

// again starts the service once more over the same database.
func (r *dryRoom) again(t testing.TB) *dryRoom {
	t.Helper()
	f := setupWith(t, svctest.Options{Now: r.wall.Now, URL: r.URL})
	f.intake.pieces = r.intake.pieces
	return &dryRoom{f, r.wall}
}

func (f *floor) saveZone(t testing.TB, word string) {
	t.Helper()
	_, err := f.air.SaveZone(svctest.Ctx(t), saveZone(word))
	if err != nil {
		t.Fatal(err)
	}
}

func saveZone(word string) *workflowv1.SaveZoneRequest {
	return &workflowv1.SaveZoneRequest{RequestId: svctest.NewID(), Zone: &workflowv1.ClimateZone{
		Name: "climateZones/" + word, DisplayName: "The " + word, Kind: workflowv1.ClimateZone_KIND_BENCH_ROOM}}
}

func reading(word string, minute int, celsius, humidity float64) *workflowv1.Reading {
	return &workflowv1.Reading{Zone: "climateZones/" + word, ReadTime: at(minute), Celsius: celsius, HumidityPercent: humidity, Source: "sensor"}
}

func recording(r *workflowv1.Reading) *workflowv1.RecordReadingRequest {
	return &workflowv1.RecordReadingRequest{RequestId: svctest.NewID(), Reading: r}
}

// reads records a reading and tells whether it was there.
func (f *floor) reads(t testing.TB, r *workflowv1.Reading) (duplicate bool) {
	t.Helper()
	resp, err := f.air.RecordReading(svctest.Ctx(t), recording(r))
	if err != nil {
		t.Fatal(err)
	}
	return resp.Duplicate
}

// product is one for all coats of a test.
var varnishID = id.New()

// topcoats plans a piece with two coats of a water-borne varnish on its top, which is
// recoated after two hours and, without scuffing, within a day.
func (f *floor) topcoats(t testing.TB) (first, second *workflowv1.Stage) {
	t.Helper()
	stages := f.coats(t, step("topcoat", ""), step("topcoat-2", "", "topcoat"))
	return stages[0], stages[1]
}

// coats plans such a piece by a route of its own, of which each step is a coat.
func (f *floor) coats(t testing.TB, steps ...*workflowv1.Step) []*workflowv1.Stage {
	t.Helper()
	route := saveRoute(steps...)
	for _, s := range route.Route.Steps {
		s.Kind = "topcoat_coat"
	}
	if _, err := f.routes.SaveRoute(svctest.Ctx(t), route); err != nil {
		t.Fatal(err)
	}
	p := f.intake.add("top")
	r, err := f.stages.PlanStages(svctest.Ctx(t), &workflowv1.PlanStagesRequest{RequestId: svctest.NewID(), Piece: p.Name, Route: "routes/painted", PlanTime: at(0)})
	if err != nil {
		t.Fatal(err)
	}
	f.know(r.Stages)
	for _, s := range r.Stages {
		f.varnish(t, s.Name)
	}
	return r.Stages
}

// varnish makes a stage one of a finish plan that lays varnish.
func (f *floor) varnish(t testing.TB, stage string) {
	t.Helper()
	p := drying.Product{Kinetics: drying.Kinetics{Carrier: drying.Water}, FilmUm: 100}
	p.Stated[drying.TackFree], p.Stated[drying.DryToRecoat] = time.Hour, 2*time.Hour
	p.Stated[drying.RecoatCloses], p.Stated[drying.Cured] = 24*time.Hour, 72*time.Hour
	coating, err := json.Marshal(workflow.Coating{Dries: p})
	if err != nil {
		t.Fatal(err)
	}
	conn, err := pgx.Connect(t.Context(), f.URL)
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close(t.Context())
	stageID := stage[len(stage)-36:]
	if _, err := conn.Exec(t.Context(), `UPDATE workflow.stage SET coating = $2, product_id = $3, product_name = 'Varnish' WHERE id = $1`, stageID, coating, varnishID); err != nil {
		t.Fatal(err)
	}
}

// lays finishes a coat, which then dries in a zone.
func (f *floor) lays(t testing.TB, stage *workflowv1.Stage, word string, minute int) {
	t.Helper()
	r := finishing(stage.Name, minute)
	if word != "" {
		r.Zone = "climateZones/" + word
	}
	if _, err := f.stages.FinishStage(svctest.Ctx(t), r); err != nil {
		t.Fatal(err)
	}
}

// clock is the clock of a stage; nil when it has none.
func (f *floor) clock(t testing.TB, stage *workflowv1.Stage) *workflowv1.DryClock {
	t.Helper()
	r, err := f.air.ListDryClocks(t.Context(), &workflowv1.ListDryClocksRequest{Piece: stage.Name[:43]})
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range r.DryClocks {
		if c.Stage == stage.Name {
			return c
		}
	}
	return nil
}

// written tells one writing of a stage's clock from another.
func (f *floor) written(t testing.TB, stage *workflowv1.Stage) (version string) {
	t.Helper()
	conn, err := pgx.Connect(t.Context(), f.URL)
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close(t.Context())
	if err := conn.QueryRow(t.Context(), `SELECT xmin::text FROM workflow.dry_clock WHERE stage_id = $1`, stage.Name[len(stage.Name)-36:]).Scan(&version); err != nil {
		t.Fatal(err)
	}
	return version
}

// likely is in how many minutes of the tests' day the clock is likely ready.
func likely(c *workflowv1.DryClock) float64 {
	return c.GetReady().GetLikelyTime().AsTime().Sub(morning).Minutes()
}

// until polls until what is waited for is there, and tells how long that took.
func until(t testing.TB, what string, there func() bool) time.Duration {
	t.Helper()
	began := time.Now()
	for deadline := began.Add(15 * time.Second); time.Now().Before(deadline); {
		if there() {
			return time.Since(began)
		}
	}
	t.Fatalf("in the end there is still not: %s", what)
	return 0
}

// told are the events about what a stage left wet, oldest first.
func (f *floor) told(t testing.TB, stage *workflowv1.Stage) (moved []*eventsv1.PartDryForecastChanged, ready []*eventsv1.Envelope, closing []*eventsv1.Envelope) {
	t.Helper()
	of := stage.Name[len(stage.Name)-36:]
	for _, e := range f.Events(t) {
		switch {
		case e.GetPartDryForecastChanged().GetStageId() == of:
			moved = append(moved, e.GetPartDryForecastChanged())
		case e.GetPartReady().GetStageId() == of:
			ready = append(ready, e)
		case e.GetRecoatWindowClosing().GetStageId() == of:
			closing = append(closing, e)
		}
	}
	return moved, ready, closing
}

// dense checks that the events about a stage's piece have all versions from 1 on.
func (f *floor) dense(t testing.TB, stage *workflowv1.Stage) {
	t.Helper()
	next := int64(1)
	for _, e := range f.Events(t) {
		if e.PieceId != stage.Name[7:43] {
			continue
		}
		if e.Version != next {
			t.Errorf("event of version %d, want %d", e.Version, next)
		}
		next = e.Version + 1
	}
}
