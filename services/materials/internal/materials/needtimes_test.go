package materials_test

import (
	"testing"
	"time"

	"github.com/shopspring/decimal"

	"tackfree/pkg/id"
	"tackfree/services/materials/internal/materials"
)

// approvedAt is when the work was laid out: a Monday.
var approvedAt = time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)

// table is a table top that is sanded, stained and varnished twice; its legs are painted beside
// it, and all is put together at last.
type table struct {
	*materials.PieceNeeds
	sand, stain, coat, second, legs, together id.ID
	dye, varnish, paint                       id.ID
}

func planned(amount string) decimal.Decimal { return decimal.RequireFromString(amount) }

func layTable() table {
	t := table{PieceNeeds: &materials.PieceNeeds{Piece: id.New()}, dye: id.New(), varnish: id.New(), paint: id.New(),
		sand: id.New(), stain: id.New(), coat: id.New(), second: id.New(), legs: id.New(), together: id.New()}
	stage := func(i id.ID, title string, product id.ID, amount string, hands, dries time.Duration, after ...id.ID) materials.PlannedStage {
		s := materials.PlannedStage{ID: i, Title: title, Kind: title, Product: product, Attended: hands, Unattended: dries, After: after}
		if product != id.Nil {
			s.Unit, s.Method, s.Planned = "L", "brush", planned(amount)
		}
		return s
	}
	t.Plan([]materials.PlannedStage{
		stage(t.sand, "sand (top)", id.Nil, "", 4*time.Hour, 0),
		stage(t.stain, "stain (top)", t.dye, "0.1", time.Hour, 12*time.Hour, t.sand),
		stage(t.coat, "topcoat-1 (top)", t.varnish, "0.2", time.Hour, 24*time.Hour, t.stain),
		stage(t.second, "topcoat-2 (top)", t.varnish, "0.15", time.Hour, 24*time.Hour, t.coat),
		stage(t.legs, "paint (legs)", t.paint, "0.3", 2*time.Hour, 4*time.Hour),
		stage(t.together, "hardware-on", id.Nil, "", time.Hour, 0, t.second, t.legs),
	}, approvedAt)
	t.Reckon()
	return t
}

func (t table) need(stage, product id.ID, pass int32) materials.Need {
	return t.Needs[materials.NeedKey{Stage: stage, Product: product, Pass: pass}]
}

func hoursAfter(h int) time.Time { return approvedAt.Add(time.Duration(h) * time.Hour) }

// By hand, eight hours of work to the day: four hours of sanding are half a day, 12 h; the stain
// takes 3 h and dries for 12 h; the first coat 3 h and 24 h.
func TestPieceNeeds_Reckon_LongestWay(t *testing.T) {
	top := layTable()
	for name, c := range map[string]struct {
		stage, product id.ID
		want           int
	}{
		"stain":       {top.stain, top.dye, 12},
		"first coat":  {top.coat, top.varnish, 12 + 15},
		"second coat": {top.second, top.varnish, 12 + 15 + 27},
		"legs":        {top.legs, top.paint, 0},
	} {
		n := top.need(c.stage, c.product, 1)
		if !n.Soonest.Equal(hoursAfter(c.want)) || n.Work != time.Duration(c.want)*time.Hour || !n.Latest.IsZero() {
			t.Errorf("%s: soonest %s after %s of work, until %s; want %s after %d h and no latest", name, n.Soonest, n.Work, n.Latest, hoursAfter(c.want), c.want)
		}
	}
}

// A week later nobody has begun: what is to be sanded first puts the stain off, from then on.
func TestDue_Wanted_NeverBeforeNow(t *testing.T) {
	top := layTable()
	week := approvedAt.AddDate(0, 0, 7)
	if got := top.need(top.stain, top.dye, 1).Wanted(week); !got.Equal(week.Add(12 * time.Hour)) {
		t.Errorf("stain is wanted %s, want 12 h from then", got)
	}
	if got := top.need(top.legs, top.paint, 1).Wanted(week); !got.Equal(week) {
		t.Errorf("paint is wanted %s, want then", got)
	}
	if got := top.need(top.stain, top.dye, 1).Wanted(approvedAt.Add(-time.Hour)); !got.Equal(hoursAfter(12)) {
		t.Errorf("before the beginning stain is wanted %s, want %s", got, hoursAfter(12))
	}
}

// The stain was on after 40 h, and has to dry: the coat waits for that and for no work any more.
func TestPieceNeeds_Reckon_FromWhatIsFinished(t *testing.T) {
	top := layTable()
	if _, took := top.Finish(top.sand, 1, hoursAfter(30)); took {
		t.Error("sanding took something")
	}
	if method, took := top.Finish(top.stain, 1, hoursAfter(40)); method != "brush" || !took {
		t.Errorf("Finish = %q, %v, want that it took something by brush", method, took)
	}
	top.Reckon()
	if n := top.need(top.coat, top.varnish, 1); !n.Soonest.Equal(hoursAfter(52)) || n.Work != 0 {
		t.Errorf("first coat: %s after %s, want %s after none", n.Soonest, n.Work, hoursAfter(52))
	}
	if n := top.need(top.second, top.varnish, 1); !n.Soonest.Equal(hoursAfter(52+27)) || n.Work != 27*time.Hour {
		t.Errorf("second coat: %s after %s", n.Soonest, n.Work)
	}
	if n := top.need(top.stain, top.dye, 1); n.State != materials.NeedDone || !n.DoneAt.Equal(hoursAfter(40)) {
		t.Errorf("stain = %+v, want done", n)
	}
}

// Promised for Friday week: the second coat, its drying and the hardware take 3 + 24 + 3 h, the
// first coat 27 h more, and the legs 6 + 4 + 3 h. Once the hardware is on, the legs have until
// their own end alone.
func TestPieceNeeds_Reckon_LatestForThePromise(t *testing.T) {
	top := layTable()
	friday := approvedAt.AddDate(0, 0, 11)
	top.Promise(friday)
	top.Reckon()
	for name, c := range map[string]struct {
		need   materials.Need
		before time.Duration
	}{
		"second coat": {top.need(top.second, top.varnish, 1), 30 * time.Hour},
		"first coat":  {top.need(top.coat, top.varnish, 1), 57 * time.Hour},
		"legs":        {top.need(top.legs, top.paint, 1), 13 * time.Hour},
	} {
		if !c.need.Latest.Equal(friday.Add(-c.before)) {
			t.Errorf("%s must begin by %s, want %s before %s", name, c.need.Latest, c.before, friday)
		}
	}
	top.Finish(top.together, 1, hoursAfter(9))
	if top.Reckon(); !top.need(top.legs, top.paint, 1).Latest.Equal(friday.Add(-10 * time.Hour)) {
		t.Errorf("with the hardware on, the legs must begin by %s", top.need(top.legs, top.paint, 1).Latest)
	}
	top.Promise(time.Time{})
	if top.Reckon(); !top.need(top.second, top.varnish, 1).Latest.IsZero() {
		t.Error("promised to nobody any more, it still has to begin by a day")
	}
}

// Stages that went round in a circle, which no plan has, still come to an end.
func TestPieceNeeds_Reckon_EndsInACircle(t *testing.T) {
	p := &materials.PieceNeeds{Piece: id.New(), PromisedAt: approvedAt.AddDate(0, 0, 9)}
	a, b := id.New(), id.New()
	p.Plan([]materials.PlannedStage{{ID: a, Product: id.New(), Attended: time.Hour, After: []id.ID{b}}, {ID: b, Product: id.New(), After: []id.ID{a}}}, approvedAt)
	p.Reckon()
	if len(p.Touched()) != 2 {
		t.Errorf("Touched = %v", p.Touched())
	}
}
