package server_test

import (
	"slices"
	"testing"
	"time"

	"tackfree/pkg/svctest"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// The plan of a busy shop, 200 pieces with twelve stages left on average, whenever something has happened on
// the floor; and when nothing has.
func BenchmarkFloorPlan200(b *testing.B) {
	f := setup(b)
	conn := fillBusy(b, f)
	hours := `[{"weekday":1,"start":480,"end":990,"breaks":[{"start":720,"end":750}]},{"weekday":2,"start":480,"end":990},{"weekday":3,"start":480,"end":990},{"weekday":4,"start":480,"end":990},{"weekday":5,"start":480,"end":990}]`
	for _, sql := range []string{`UPDATE dry_clock SET windows = jsonb_build_object('dry to recoat', jsonb_build_object('Early', recoat_at, 'Likely', recoat_at, 'Late', recoat_at),
		 'dry to sand', jsonb_build_object('Early', sand_at, 'Likely', sand_at, 'Late', sand_at))`,
		`UPDATE person SET working_days = '` + hours + `'`,
		`UPDATE stage SET assignee_id = NULL WHERE position % 4 > 0`,
		`INSERT INTO station (id, word, display_name, kind, capacity, unit, open_hours, stage_kinds, changeover_minutes, retired, version)
		 SELECT gen_random_uuid(), 'bench-' || n, 'Bench', 'bench', 4, 'pieces', '[]', '{}', 0, false, 1 FROM generate_series(1, 6) n`, `ANALYZE`} {
		if _, err := conn.Exec(b.Context(), sql); err != nil {
			b.Fatal(err)
		}
	}
	planning := workflowv1.NewPlanningServiceClient(f.Conn)
	var anew, again []time.Duration
	for b.Loop() {
		f.person(b, "Person "+svctest.NewID())
		for _, took := range []*[]time.Duration{&anew, &again} {
			began := time.Now()
			r, err := planning.GetFloorPlan(b.Context(), &workflowv1.GetFloorPlanRequest{})
			if err != nil || len(r.Plan.Stages) < 2000 || len(r.Plan.Unplaced) > 0 {
				b.Fatalf("%d stages, %d without a place, %v", len(r.GetPlan().GetStages()), len(r.GetPlan().GetUnplaced()), err)
			}
			*took = append(*took, time.Since(began))
		}
	}
	for name, all := range map[string][]time.Duration{"anew": anew, "again": again} {
		slices.Sort(all)
		b.ReportMetric(all[len(all)/2].Seconds()*1000, "ms/"+name)
		b.ReportMetric(all[len(all)*99/100].Seconds()*1000, "ms/"+name+"-p99")
	}
}
