package workflow_test

import (
	"math"
	"testing"
	"time"

	"tackfree/pkg/drying"
	"tackfree/pkg/finish"
	"tackfree/services/workflow/internal/workflow"
)

// What dries says how long it would take as it is stated, and what of its being late is the film's
// and what the shop's.
func TestDryClock_Pace(t *testing.T) {
	thick := waterVarnish()
	learned := waterVarnish()
	learned.Factor = drying.Factor{LogMean: math.Log(1.25), LogStdDev: 0.1, Outcomes: 5}
	both := map[drying.Milestone]drying.Window{drying.DryToRecoat: {}, drying.Cured: {}}
	tests := map[string]struct {
		clock workflow.DryClock
		want  workflow.Pace
	}{
		"AsStated": {workflow.DryClock{Kind: workflow.FilmDries, Dries: waterVarnish(), Needs: finish.NeedsRecoat, Windows: both},
			workflow.Pace{Stated: waterVarnish().Stated[drying.DryToRecoat], Film: 1, Shop: 1}},
		"FourTimesAsThick": {workflow.DryClock{Kind: workflow.FilmDries, Dries: thick, FilmUm: 4 * thick.FilmUm, Needs: finish.NeedsRecoat, Windows: both},
			workflow.Pace{Stated: thick.Stated[drying.DryToRecoat], Film: 8, Shop: 1}}, // 4 to the power of 1.5
		"SlowHere": {workflow.DryClock{Kind: workflow.FilmDries, Dries: learned, Needs: finish.NeedsCured, Windows: both},
			workflow.Pace{Stated: learned.Stated[drying.Cured], Film: 1, Shop: 1.25}},
		"NoSuchFilm": {workflow.DryClock{Kind: workflow.FilmDries, Dries: thick, FilmUm: 1e9, Needs: finish.NeedsRecoat, Windows: both},
			workflow.Pace{Stated: thick.Stated[drying.DryToRecoat], Film: 1, Shop: 1}},
		"NothingForecast": {workflow.DryClock{Kind: workflow.FilmDries, Dries: thick, Needs: finish.NeedsRecoat}, workflow.Pace{Film: 1, Shop: 1}},
		"Wood":            {workflow.DryClock{Kind: workflow.WoodDries, Planned: 3 * time.Hour, Dries: workflow.Wood(3 * time.Hour)}, workflow.Pace{Stated: 3 * time.Hour, Film: 1, Shop: 1}},
		"Glue":            {workflow.DryClock{Kind: workflow.MinutesPass, Planned: time.Hour}, workflow.Pace{Stated: time.Hour, Film: 1, Shop: 1}},
	}
	for name, test := range tests {
		got := test.clock.Pace()
		if got.Stated != test.want.Stated || math.Abs(got.Film-test.want.Film) > 1e-9 || math.Abs(got.Shop-test.want.Shop) > 1e-9 {
			t.Errorf("%s: Pace() = %v, want %v", name, got, test.want)
		}
	}
}
