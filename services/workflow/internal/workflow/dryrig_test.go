package workflow_test

import (
	"testing"
	"time"

	"tackfree/pkg/climate"
	"tackfree/pkg/drying"
	"tackfree/pkg/finish"
	"tackfree/pkg/id"
	"tackfree/services/workflow/internal/workflow"
)

// waterVarnish is a water-borne one with times as data sheets have them.
func waterVarnish() drying.Product {
	p := drying.Product{Kinetics: drying.Kinetics{Carrier: drying.Water}, FilmUm: 100}
	p.Stated[drying.TackFree], p.Stated[drying.DryToRecoat] = time.Hour, 2*time.Hour
	p.Stated[drying.RecoatCloses], p.Stated[drying.Cured] = 24*time.Hour, 72*time.Hour
	return p
}

func coated(p drying.Product) *workflow.Coating { return &workflow.Coating{Dries: p} }

// topcoats is a piece with two coats of varnish on its top, the second after the first.
func topcoats() (p *workflow.Plan, first, second *workflow.Stage) {
	piece, top := id.New(), id.New()
	p = &workflow.Plan{Piece: workflow.Piece{ID: piece, Tag: 7, Planned: true, Version: 1}, OnIt: map[id.ID][]string{}}
	p.Stages = []workflow.Stage{
		{ID: id.New(), Piece: piece, Part: top, PartLabel: "top", Key: "topcoat-1", Kind: "topcoat_coat", Position: 1},
		{ID: id.New(), Piece: piece, Part: top, PartLabel: "top", Key: "topcoat-2", Kind: "topcoat_coat", Position: 2},
	}
	first, second = &p.Stages[0], &p.Stages[1]
	second.After = []id.ID{first.ID}
	for i := range p.Stages {
		p.Stages[i].Finish = workflow.Finish{Needs: finish.NeedsRecoat, Product: id.New(), ProductName: "Varnish", Coating: coated(waterVarnish())}
	}
	return p, first, second
}

// read is a reading, hours after nine.
func read(t testing.TB, hours, celsius, humidity float64) drying.Reading {
	t.Helper()
	air, err := climate.NewAir(celsius, humidity)
	if err != nil {
		t.Fatal(err)
	}
	return drying.Reading{At: later(hours), Air: air}
}

func later(hours float64) time.Time { return nine.Add(time.Duration(hours * float64(time.Hour))) }

// airOf is the air of a zone, in which days are as it was read.
func airOf(t testing.TB, readings ...drying.Reading) workflow.ZoneAir {
	t.Helper()
	usual, err := drying.CycleOf(readings, time.UTC)
	if err != nil {
		t.Fatal(err)
	}
	return workflow.ZoneAir{Readings: readings, Usual: usual, Count: int64(len(readings))}
}

// finished finishes a stage at nine and forecasts what it left wet.
func finished(t testing.TB, p *workflow.Plan, s *workflow.Stage, zone id.ID, airs *workflow.Airs) *workflow.DryClock {
	t.Helper()
	s.FinishedAt = nine
	c := p.Begin(*s, 0, zone)
	if c == nil {
		t.Fatalf("%s left nothing wet", s.Title())
	}
	forecast(t, c, airs)
	p.Clocks = append(p.Clocks, *c)
	return &p.Clocks[len(p.Clocks)-1]
}

func forecast(t testing.TB, c *workflow.DryClock, airs *workflow.Airs) {
	t.Helper()
	if err := c.Forecast(airs); err != nil {
		t.Fatal(err)
	}
}

// about checks an instant to the second.
func about(t testing.TB, what string, got, want time.Time) {
	t.Helper()
	if got.Sub(want).Abs() > time.Second {
		t.Errorf("%s = %v, want %v", what, got, want)
	}
}
