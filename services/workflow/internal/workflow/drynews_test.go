package workflow_test

import (
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"tackfree/pkg/drying"
	"tackfree/pkg/finish"
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
	if c.WarnsBy(later(21.9)) || !c.WarnsBy(later(22)) {
		t.Error("the window is to be spoken of at another time than two hours before its end")
	}
	news := tells(t, "two hours before its end", p, later(22), workflow.WindowCloses)
	about(t, "it came about", news[0].At, later(22))
	tells(t, "again", p, later(23))
	about(t, "it is noted to have ended", c.Due(), later(73))
	if c.Ended(later(72.9)) || !c.Ended(later(73)) || c.Over {
		t.Error("it ends when it has cured, and readings that come a little late have come")
	}
	if tells(t, "it has cured", p, later(73)); !c.Over || !c.Due().IsZero() {
		t.Errorf("it has ended, and is due at %v", c.Due())
	}

	p, first, _ := topcoats()
	first.Coating.Dries.Stated[drying.RecoatCloses] = 6 * time.Hour // four hours wide
	c = finished(t, p, first, id.Nil, workflow.NewAirs(nil))
	c.First(nine)
	tells(t, "ready", p, later(2), workflow.PartIsReady)
	about(t, "due in a short window", c.Due(), later(5))
	overtaken := map[id.ID]bool{first.ID: true}
	if news := p.Tell(later(5), overtaken); len(news) > 0 || c.CloseSaid {
		t.Errorf("work has gone on over it, and it tells %v", kinds(news))
	}
	about(t, "looks again", c.Due(), later(5).Add(time.Minute))
	tells(t, "that was clocked by mistake, and taken back", p, later(5.5), workflow.WindowCloses)

	p, first, _ = topcoats()
	c = finished(t, p, first, id.Nil, workflow.NewAirs(nil))
	c.First(nine)
	tells(t, "ready", p, later(2), workflow.PartIsReady)
	if news := p.Tell(later(24), map[id.ID]bool{first.ID: true}); len(news) > 0 || !c.CloseSaid || !c.Due().Equal(later(73)) {
		t.Errorf("its window has closed below another coat, and it tells %v and is due at %v", kinds(news), c.Due())
	}
}

// The window moves though the time to recoat was felt and stands: that is told, and so is its
// end if it now lies ahead.
func TestPlan_Tell_TheWindowMovedAlone(t *testing.T) {
	p, c := wetTop(t)
	tells(t, "ready", p, later(2), workflow.PartIsReady)
	closes := func(by time.Duration) {
		at := c.Closes().Add(by)
		c.Windows[drying.RecoatCloses] = drying.Window{Early: at, Likely: at, Late: at}
	}
	closes(-4 * time.Minute)
	tells(t, "it closes 4 minutes sooner", p, later(3))
	closes(-2 * time.Minute)
	tells(t, "it closes 6 minutes sooner", p, later(3), workflow.ForecastMoved)
	tells(t, "its end is near", p, later(22), workflow.WindowCloses)
	closes(4 * time.Hour)
	tells(t, "a cold night kept it open", p, later(22), workflow.ForecastMoved)
	about(t, "its end is due again", c.Due(), later(26).Add(-6*time.Minute))
	tells(t, "its end is near again", p, later(26), workflow.WindowCloses)
}

// Exactly five minutes are not worth telling.
func TestPlan_Tell_FiveMinutesAreNothing(t *testing.T) {
	p, c := wetTop(t)
	shift(c, 5*time.Minute)
	tells(t, "moved by 5 minutes", p, later(0.1))
	shift(c, time.Millisecond)
	tells(t, "and a little", p, later(0.1), workflow.ForecastMoved)
}

// Nobody hurries to coat a film over which no coat is to come; if the plan gets another one,
// somebody does.
func TestPlan_Tell_NoWindowOfTheLastCoat(t *testing.T) {
	p, _, second := topcoats()
	c := finished(t, p, second, id.Nil, workflow.NewAirs(nil))
	c.First(nine)
	tells(t, "ready, and its window closes", p, later(23), workflow.PartIsReady)
	about(t, "nothing is due but its end", c.Due(), later(73))
	third := *second
	third.ID, third.Position, third.After = id.New(), 3, []id.ID{second.ID}
	p.Stages = append(p.Stages, third)
	p.Renew()
	tells(t, "a third coat was planned", p, later(23), workflow.WindowCloses)
	p.Stages[2].Part = id.New()
	p.Renew()
	c.CloseSaid = false
	tells(t, "which is on another part", p, later(23))
}

// The plan changes while it dries: hands need a cured film where a coat was to come, and what
// was said to be ready for the coat is said again when it has cured.
func TestPlan_Renew_WhatComesNextNeedsMore(t *testing.T) {
	p, c := wetTop(t)
	tells(t, "ready to recoat", p, later(2), workflow.PartIsReady)
	p.Stages[1].Kind, p.Stages[1].Needs = "hardware_on", finish.NeedsCured
	p.Renew()
	tells(t, "it is waited for longer", p, later(3), workflow.ForecastMoved)
	about(t, "due", c.Due(), later(72))
	news := tells(t, "it has cured", p, later(72), workflow.PartIsReady)
	if news[0].Clock.Needs != finish.NeedsCured {
		t.Errorf("told for %q, want cured", news[0].Clock.Needs)
	}
	p, _ = wetTop(t)
	tells(t, "ready to recoat, and its window closes", p, later(24), workflow.PartIsReady, workflow.WindowCloses)
	p.Stages[1].Kind, p.Stages[1].Needs = "hardware_on", finish.NeedsCured
	p.Renew()
	tells(t, "it is waited for longer, and that is over too", p, later(72), workflow.ForecastMoved, workflow.PartIsReady)
	p.Stages[1].Kind, p.Stages[1].Needs = "topcoat_coat", finish.NeedsRecoat
	p.Renew()
	tells(t, "a coat after all, for which it long is", p, later(72), workflow.ForecastMoved)
}

// Each stage waits for what it needs of the films on its part, and for wet wood always.
func TestPlan_Wait(t *testing.T) {
	p, c := wetTop(t)
	_, second := p.Stages[0], &p.Stages[1]
	until := func(part id.ID, needs ...string) time.Time {
		s := *second
		s.Part = part
		if len(needs) == 0 {
			s.Kind, s.Needs = "photograph", ""
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
	blank := *second
	blank.Part, blank.Needs = c.Part, ""
	about(t, "a coat of which nobody said so", p.Wait(blank).Until.Likely, later(2))
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

// Sent back, a coat is as wet as before: the stage waits for what it needs of its own film,
// until that is done again or taken off.
func TestPlan_SendBack_TheFilmIsStillThere(t *testing.T) {
	p, c := wetTop(t)
	first := &p.Stages[0]
	p.Stages[1].Needs = finish.NeedsCured
	if _, err := p.SendBack(first.ID, later(0.5)); err != nil || len(p.Clocks) != 1 {
		t.Fatalf("SendBack = %v with %d clocks left", err, len(p.Clocks))
	}
	p.Renew()
	if state, wait := p.State(*first, later(1)); state != workflow.Drying || !wait.Until.Likely.Equal(c.Ready().Likely) || c.Needs != first.Needs || !c.Recoats {
		t.Errorf("over its own wet film it is %s until %v, for %s", state, wait.Until.Likely, c.Needs)
	}
	p.Kept = []workflow.DryClock{*c}
	if _, err := p.Finish(first.ID, later(3), workflow.Entry{}); err != nil || len(p.Clocks) != 0 || len(p.Gone()) != 1 {
		t.Errorf("Finish = %v, and of its pass before there are %v", err, p.Clocks)
	}
	if again := p.Begin(*first, 0, id.Nil); again.Pass != 2 {
		t.Errorf("the new film is of pass %d", again.Pass)
	}
}

// A film is gone when the part is stripped, and when it is sanded again below it; wet wood is
// not, nor what is on another part.
func TestPlan_Finish_TakesTheFilmOff(t *testing.T) {
	for kind, want := range map[string]int{"strip": 0, "scrape": 0, "sand": 0, "scuff_sand": 1, "dust_off": 1} {
		p, first, _ := topcoats()
		p.Stages = append([]workflow.Stage{{ID: id.New(), Piece: p.Piece.ID, Part: first.Part, Kind: kind}}, p.Stages...)
		below, first := &p.Stages[0], &p.Stages[1]
		first.After, below.FinishedAt = []id.ID{below.ID}, nine
		finished(t, p, first, id.Nil, workflow.NewAirs(nil))
		if _, err := p.SendBack(below.ID, later(1)); err != nil {
			t.Fatal(err)
		}
		other := *below
		other.ID, other.Part = id.New(), id.New()
		p.Stages = append(p.Stages, other)
		if _, err := p.Finish(other.ID, later(2), workflow.Entry{}); err != nil || len(p.Clocks) != 1 {
			t.Errorf("%s on another part = %v, and %d films", kind, err, len(p.Clocks))
		}
		if _, err := p.Finish(below.ID, later(2), workflow.Entry{}); err != nil || len(p.Clocks) != want {
			t.Errorf("%s = %v, and %d films, want %d", kind, err, len(p.Clocks), want)
		}
	}
}

// What was not changed is not written again.
func TestPlan_Unsaved(t *testing.T) {
	bench := workflow.Zone{ID: id.New()}
	p, c := wetTop(t)
	p.Clocks = append(p.Clocks, *c)
	p.Clocks[1].Stage = id.New()
	p.Kept = append(p.Kept, p.Clocks...)
	if got := p.Unsaved(); len(got) != 0 {
		t.Errorf("nothing was done, and %d are to be saved", len(got))
	}
	c = &p.Clocks[1]
	if err := c.Move(bench, nine); err != nil {
		t.Fatal(err)
	}
	if got := p.Unsaved(); len(got) != 1 || got[0].Stage != c.Stage {
		t.Errorf("one was carried away at once, and %d are to be saved", len(got))
	}
	observe(t, &p.Clocks[0], drying.Outcome{Milestone: drying.TackFree, NotYet: later(1)}, workflow.NewAirs(nil))
	if got := p.Unsaved(); len(got) != 2 {
		t.Errorf("the other was felt, and %d are to be saved", len(got))
	}
}
