package workflow_test

import (
	"math"
	"testing"
	"time"

	"tackfree/pkg/drying"
	"tackfree/pkg/fault"
	"tackfree/pkg/finish"
	"tackfree/pkg/id"
	"tackfree/services/workflow/internal/workflow"
)

// In air that nobody read a film takes the maker's times.
func TestDryClock_Forecast_AtTheReference(t *testing.T) {
	p, first, _ := topcoats()
	for name, airs := range map[string]*workflow.Airs{
		"no zones": workflow.NewAirs(nil), "a zone without readings": workflow.NewAirs(map[id.ID]workflow.ZoneAir{first.Zone: {}})} {
		c := finished(t, p, first, id.Nil, airs)
		about(t, name, c.Ready().Likely, later(2))
		if w := c.Ready(); !w.Early.Before(w.Likely) || !w.Late.After(w.Likely) {
			t.Errorf("%s: the range is %v to %v", name, w.Early, w.Late)
		}
	}
}

func TestDryClock_Forecast_AColdNightSlowsTheClock(t *testing.T) {
	bench := id.New()
	ready := func(readings ...drying.Reading) time.Time {
		p, first, _ := topcoats()
		return finished(t, p, first, bench, workflow.NewAirs(map[id.ID]workflow.ZoneAir{bench: airOf(t, readings...)})).Ready().Likely
	}
	mild := ready(read(t, 0, 25, 50), read(t, 12, 25, 50))
	cold := ready(read(t, 0, 25, 50), read(t, 1, 8, 80), read(t, 12, 8, 80))
	warm := ready(read(t, 0, 25, 50), read(t, 1, 30, 30), read(t, 12, 30, 30))
	about(t, "ready in mild air", mild, later(2))
	if !cold.After(later(4)) || !warm.Before(mild) {
		t.Errorf("ready at %v in a cold night and at %v in a warm one, of %v in mild air", cold, warm, mild)
	}
	if never := ready(read(t, 0, 20, 100)); !never.IsZero() {
		t.Errorf("ready at %v in air that takes up no water, want never", never)
	}
}

// After the last reading the air goes as days go here: a coat laid on a warm evening, of
// which nothing was read since, is not ready as soon as if the night stayed as warm.
func TestDryClock_Forecast_GoesByWhatDaysAreLike(t *testing.T) {
	bench := id.New()
	var days []drying.Reading
	for hour := -72.0; hour <= 0; hour++ {
		days = append(days, read(t, hour, 20+5*math.Cos(hour*math.Pi/12), 50)) // warmest when it was laid
	}
	p, first, _ := topcoats()
	first.Coating.Dries.Stated[drying.DryToRecoat] = 8 * time.Hour
	asDays := finished(t, p, first, bench, workflow.NewAirs(map[id.ID]workflow.ZoneAir{bench: airOf(t, days...)})).Ready().Likely
	asNow := finished(t, p, first, bench, workflow.NewAirs(map[id.ID]workflow.ZoneAir{bench: airOf(t, days[len(days)-1])})).Ready().Likely
	if asDays.Sub(asNow) < 30*time.Minute {
		t.Errorf("ready at %v by what nights are like, and at %v if it stayed warm", asDays, asNow)
	}
}

// An hour at the reference and the rest in a cool rack: the doses add up.
func TestDryClock_Forecast_DoseAcrossAMove(t *testing.T) {
	bench, rack := id.New(), id.New()
	airs := workflow.NewAirs(map[id.ID]workflow.ZoneAir{
		bench: airOf(t, read(t, -1, 25, 50), read(t, 8, 25, 50)), rack: airOf(t, read(t, -1, 15, 50), read(t, 8, 15, 50))})
	p, first, _ := topcoats()
	c := finished(t, p, first, bench, airs)
	about(t, "on the bench", c.Ready().Likely, later(2))
	if err := c.Move(workflow.Zone{ID: rack}, later(1)); err != nil {
		t.Fatal(err)
	}
	forecast(t, c, airs)
	rate, err := waterVarnish().Rate(read(t, 0, 15, 50).Air)
	if err != nil {
		t.Fatal(err)
	}
	about(t, "carried to the rack after an hour", c.Ready().Likely, later(1+1/rate))
	if err := c.Move(workflow.Zone{ID: bench}, later(1.5)); err != nil {
		t.Fatal(err)
	}
	forecast(t, c, airs)
	about(t, "and back after half an hour there", c.Ready().Likely, later(1.5+1-rate/2))
	if got, want := c.Seen, int64(4); got != want {
		t.Errorf("it has seen %d readings, want %d: those of both zones, once", got, want)
	}
}

func TestDryClock_Forecast_WoodAndMinutes(t *testing.T) {
	rack := id.New()
	damp := workflow.NewAirs(map[id.ID]workflow.ZoneAir{rack: airOf(t, read(t, 0, 25, 75))})
	p, first, _ := topcoats()
	first.Coating, first.Kind, first.Unattended = nil, "wash_off", time.Hour
	wood := finished(t, p, first, rack, damp)
	first.Kind = "glue_and_clamp"
	glue := finished(t, p, first, rack, damp)
	for _, n := range []finish.Needs{finish.NeedsSand, finish.NeedsRecoat, finish.NeedsCured} {
		about(t, "wet wood in air half as dry as the reference", p.Clocks[0].Reaches(n).Likely, later(2))
		about(t, "glue", glue.Reaches(n).Likely, later(1))
	}
	if wood.Kind != workflow.WoodDries || glue.Kind != workflow.MinutesPass {
		t.Errorf("kinds %s and %s", wood.Kind, glue.Kind)
	}
}

func TestDryClock_Forecast_RefusesAFilmThatNobodyLays(t *testing.T) {
	p, first, _ := topcoats()
	for _, um := range []float64{-1, 0.5, 5001, math.NaN(), math.Inf(1)} {
		if err := p.Begin(*first, um, id.Nil).Forecast(workflow.NewAirs(nil)); !fault.Is(err, "OUT_OF_RANGE") {
			t.Errorf("a film of %v µm = %v, want OUT_OF_RANGE", um, err)
		}
	}
	thin, thick := p.Begin(*first, 50, id.Nil), p.Begin(*first, 200, id.Nil)
	forecast(t, thin, workflow.NewAirs(nil))
	forecast(t, thick, workflow.NewAirs(nil))
	if !thin.Ready().Likely.Before(thick.Ready().Likely) {
		t.Error("a thick film is not slower than a thin one")
	}
}

// Clocks of one product in one zone share a curve; ten thousand are quick.
func BenchmarkDryClock_Forecast(b *testing.B) {
	bench := id.New()
	var readings []drying.Reading
	for i := range 6 * 24 * 7 {
		readings = append(readings, read(b, float64(i)/6, 18+6*math.Sin(float64(i)/23), 55))
	}
	air := airOf(b, readings...)
	p, first, _ := topcoats()
	clocks := make([]*workflow.DryClock, 10_000)
	for i := range clocks {
		first.FinishedAt = later(float64(i) / 100)
		clocks[i] = p.Begin(*first, float64(80+i%60), bench)
	}
	for b.Loop() {
		airs := workflow.NewAirs(map[id.ID]workflow.ZoneAir{bench: air})
		for _, c := range clocks {
			if err := c.Forecast(airs); err != nil {
				b.Fatal(err)
			}
		}
	}
}
