package workflow_test

import (
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"tackfree/pkg/drying"
	"tackfree/pkg/id"
	"tackfree/services/workflow/internal/workflow"
)

// wetTop is a first coat that was laid at nine, of which the first forecast was told: ready
// at eleven; its window closes after a day.
func wetTop(t *testing.T) (*workflow.Plan, *workflow.DryClock) {
	t.Helper()
	p, first, _ := topcoats()
	c := finished(t, p, first, id.Nil, workflow.NewAirs(nil))
	if n := c.First(nine); n.What != workflow.ForecastMoved || n.At != nine {
		t.Errorf("the first forecast is told as %s at %v", n.What, n.At)
	}
	return p, c
}

func kinds(news []workflow.News) (out []workflow.NewsKind) {
	for _, n := range news {
		out = append(out, n.What)
	}
	return out
}

func tells(t *testing.T, when string, p *workflow.Plan, now time.Time, want ...workflow.NewsKind) []workflow.News {
	t.Helper()
	news := p.Tell(now, nil)
	if diff := cmp.Diff(want, kinds(news)); diff != "" {
		t.Errorf("%s (-want +got):\n%s", when, diff)
	}
	return news
}

// shift moves the whole forecast.
func shift(c *workflow.DryClock, d time.Duration) {
	for m, w := range c.Windows {
		c.Windows[m] = drying.Window{Early: w.Early.Add(d), Likely: w.Likely.Add(d), Late: w.Late.Add(d)}
	}
}

// Four minutes are nobody's business, six are; four and then two more are six.
func TestPlan_Tell_WhatMoved(t *testing.T) {
	p, c := wetTop(t)
	tells(t, "nothing moved", p, later(0.1))
	shift(c, 4*time.Minute)
	tells(t, "moved by 4 minutes", p, later(0.1))
	shift(c, 2*time.Minute)
	tells(t, "moved by 6 minutes", p, later(0.1), workflow.ForecastMoved)
	shift(c, -4*time.Minute)
	tells(t, "back by 4 minutes", p, later(0.1))
	shift(c, -2*time.Minute)
	tells(t, "back by 6 minutes", p, later(0.1), workflow.ForecastMoved)
	c.Windows[drying.DryToRecoat] = drying.Window{}
	tells(t, "never", p, later(0.1), workflow.ForecastMoved)
	tells(t, "still never", p, later(0.2))
}

func TestPlan_Tell_ReadyOnceAndWhenItCame(t *testing.T) {
	p, c := wetTop(t)
	about(t, "due", c.Due(), later(2))
	tells(t, "a minute before", p, later(2).Add(-time.Minute))
	news := tells(t, "after a night without power", p, later(14), workflow.PartIsReady)
	about(t, "it was ready", news[0].At, later(2))
	tells(t, "again", p, later(14))
	shift(c, -20*time.Minute)
	tells(t, "it was ready sooner", p, later(14), workflow.ForecastMoved)
	shift(c, 16*time.Hour)
	tells(t, "it is not ready after all", p, later(14), workflow.ForecastMoved)
	about(t, "due again", c.Due(), later(2).Add(16*time.Hour-20*time.Minute))
}

// The window is spoken of two hours before its end, or a quarter of it if it is short, once
// and only if nobody has worked on over the film.
func TestPlan_Tell_WindowCloses(t *testing.T) {
	p, c := wetTop(t)
	tells(t, "ready", p, later(2), workflow.PartIsReady)
	about(t, "due", c.Due(), later(22))
	if p.ClosesBy(later(21.9)) || !p.ClosesBy(later(22)) {
		t.Error("the window is to be spoken of at another time than two hours before its end")
	}
	news := tells(t, "two hours before its end", p, later(22), workflow.WindowCloses)
	about(t, "it came about", news[0].At, later(22))
	tells(t, "again", p, later(23))
	if !c.Due().IsZero() || c.Ended(later(71)) || !c.Ended(later(73)) {
		t.Error("it ends when it has cured, and nothing more is due")
	}

	p, first, _ := topcoats()
	first.Coating.Dries.Stated[drying.RecoatCloses] = 6 * time.Hour // four hours wide
	c = finished(t, p, first, id.Nil, workflow.NewAirs(nil))
	c.First(nine)
	tells(t, "ready", p, later(2), workflow.PartIsReady)
	about(t, "due in a short window", c.Due(), later(5))
	if news := p.Tell(later(5), map[id.ID]bool{first.ID: true}); len(news) > 0 || !c.CloseSaid {
		t.Errorf("work has gone on over it, and it tells %v", kinds(news))
	}
}

// Somebody felt it: a milestone is when it was felt, and not before it was felt not yet.
func TestDryClock_Observe(t *testing.T) {
	p, first, _ := topcoats()
	airs := workflow.NewAirs(nil)
	c := finished(t, p, first, id.Nil, airs)
	factor, err := c.Observe(drying.Outcome{Milestone: drying.DryToRecoat, NotYet: later(2.5), Reached: later(3)}, airs)
	if err != nil {
		t.Fatal(err)
	}
	about(t, "dry to recoat", c.Ready().Likely, later(3))
	if low, high := workflow.FactorRange(factor); !(factor.Usual() > 1.05 && low < factor.Usual() && high > factor.Usual()) || factor.Outcomes != 1 || c.Learned != 1 {
		t.Errorf("factor %v between %v and %v from %d outcomes", factor.Usual(), low, high, factor.Outcomes)
	}
	if cured := c.Windows[drying.Cured].Likely; !cured.After(later(75)) {
		t.Errorf("it cures at %v, want later than by the sheet: this product is slow here", cured)
	}
	if _, err := c.Observe(drying.Outcome{Milestone: drying.DryToRecoat, NotYet: later(4)}, airs); err != nil {
		t.Fatal(err)
	}
	if ready := c.Ready().Likely; ready.Before(later(4)) {
		t.Errorf("still tacky at four hours, and ready at %v", ready)
	}
	if _, err := c.Observe(drying.Outcome{Milestone: drying.Cured, Reached: later(70)}, airs); err != nil {
		t.Fatal(err)
	}
	for m, w := range c.Windows {
		if m != drying.RecoatCloses && w.Late.After(later(70)) {
			t.Errorf("it has cured, and is %s as late as %v", m, w.Late)
		}
	}
}

// Each stage waits for what it needs of the films on its part, and for wet wood always.
func TestPlan_Wait(t *testing.T) {
	p, c := wetTop(t)
	_, second := p.Stages[0], &p.Stages[1]
	until := func(part id.ID, needs ...string) time.Time {
		s := *second
		s.Part = part
		s.Needs = ""
		if len(needs) > 0 {
			s.Needs = second.Needs
		}
		return p.Wait(s).Until.Likely
	}
	about(t, "the second coat", until(c.Part, "recoat"), later(2))
	about(t, "something on the whole piece", until(id.Nil, "recoat"), later(2))
	if got := until(id.New(), "recoat"); !got.IsZero() {
		t.Errorf("another part waits until %v", got)
	}
	if got := until(c.Part); !got.IsZero() {
		t.Errorf("a stage that needs nothing of films waits until %v", got)
	}
	glue := workflow.Stage{ID: id.New(), Kind: "glue_and_clamp", Unattended: 5 * time.Hour, FinishedAt: nine}
	g := p.Begin(glue, 0, id.Nil)
	forecast(t, g, workflow.NewAirs(nil))
	p.Clocks = append(p.Clocks, *g)
	about(t, "glue on the whole piece holds all up", until(id.New()), later(5))
	state, wait := p.State(*second, later(4))
	if state != workflow.Drying || !wait.Closes.Equal(c.Closes()) {
		t.Errorf("the second coat is %s, and its window closes at %v", state, wait.Closes)
	}
	p.Stages = append(p.Stages, workflow.Stage{ID: id.New(), Part: c.Part, Kind: "scuff_sand", FinishedAt: later(1)})
	if state, wait := p.State(*second, later(6)); state != workflow.Ready || !wait.Closes.IsZero() {
		t.Errorf("over a scuffed film it is %s, and a window closes at %v", state, wait.Closes)
	}
}

// What never dries in this air holds its stage up for good.
func TestPlan_Wait_Never(t *testing.T) {
	bench := id.New()
	p, first, second := topcoats()
	finished(t, p, first, bench, workflow.NewAirs(map[id.ID]workflow.ZoneAir{bench: airOf(t, read(t, 0, 20, 100))}))
	if state, wait := p.State(*second, later(1000)); state != workflow.Drying || !wait.Until.Likely.IsZero() {
		t.Errorf("in air that takes up no water it is %s until %v", state, wait.Until.Likely)
	}
}

func TestPlan_SendBackEndsTheClock(t *testing.T) {
	p, c := wetTop(t)
	if _, err := p.SendBack(c.Stage, later(1)); err != nil || len(p.Clocks) != 0 {
		t.Errorf("SendBack = %v with %d clocks left", err, len(p.Clocks))
	}
}
