package workflow

import (
	"time"

	"tackfree/pkg/finish"
	"tackfree/pkg/id"
)

// News is something of a dry clock that is worth telling.
type News struct {
	What  NewsKind
	Clock DryClock  // as it was then
	At    time.Time // when it came about
}

// NewsKind is what is told of a dry clock.
type NewsKind string

// The kinds of news.
const (
	ForecastMoved NewsKind = "forecast moved"
	PartIsReady   NewsKind = "part is ready"
	WindowCloses  NewsKind = "recoat window closes"
)

// worth is by how much a forecast must have moved to be told. Common practice: nobody plans
// a day to less.
const worth = 5 * time.Minute

// First tells the first forecast of a clock.
func (c *DryClock) First(now time.Time) News {
	c.Said, c.SaidCloses = c.Ready().Likely, c.Closes()
	return News{ForecastMoved, *c, now}
}

// Tell takes down, as told, what is worth telling of a piece's clocks, and gives it in the
// order in which it is to be told. overtaken are the clocks, by their stages, over which
// work has gone on: nobody must hurry to coat them. Renew comes before it.
func (p *Plan) Tell(now time.Time, overtaken map[id.ID]bool) (news []News) {
	for i := range p.Clocks {
		c := &p.Clocks[i]
		if c.moved() {
			c.Said, c.SaidCloses = c.Ready().Likely, c.Closes()
			c.ReadySaid = c.ReadySaid && c.IsReady(now)         // what was said too soon comes again
			c.CloseSaid = c.CloseSaid && !c.warnAt().After(now) // and so does this
			news = append(news, News{ForecastMoved, *c, now})
		}
		news = append(news, c.readyNews(now)...)
		news = append(news, c.closeNews(now, overtaken[c.Stage])...)
		c.Over = c.Ended(now)
	}
	return news
}

// readyNews tells that it is ready for what comes next, once, and again if it was only told
// for something that comes sooner.
func (c *DryClock) readyNews(now time.Time) []News {
	c.ReadySaid = c.ReadySaid && !later(c.Ready().Likely, c.Reaches(c.SaidNeeds).Likely)
	if c.ReadySaid || !c.IsReady(now) {
		return nil
	}
	c.ReadySaid, c.SaidNeeds = true, c.Needs
	return []News{{PartIsReady, *c, c.Ready().Likely}}
}

// patience is how long it takes to look again whether work goes on over a film: somebody may
// have clocked on at the wrong stage.
const patience = time.Minute

// closeNews tells that its window closes, unless work has gone on over it until then.
func (c *DryClock) closeNews(now time.Time, overtaken bool) []News {
	if !c.WarnsBy(now) {
		return nil
	}
	if overtaken && now.Before(c.Closes()) {
		c.Look = now.Add(patience)
		return nil
	}
	c.CloseSaid = true
	if overtaken {
		return nil
	}
	return []News{{WindowCloses, *c, c.warnAt()}}
}

// WarnsBy reports whether its window is to be spoken of by now.
func (c DryClock) WarnsBy(now time.Time) bool {
	warn := c.warnAt()
	return !c.CloseSaid && !warn.IsZero() && !warn.After(now)
}

// moved reports whether the forecast differs enough from what was said.
func (c DryClock) moved() bool {
	return differs(c.Ready().Likely, c.Said) || differs(c.Closes(), c.SaidCloses)
}

// differs reports whether two instants, of which zero is never, are worth telling apart.
func differs(a, b time.Time) bool {
	if a.IsZero() || b.IsZero() {
		return a.IsZero() != b.IsZero()
	}
	return a.Sub(b).Abs() > worth
}

// lead is how long ahead of its end a recoat window is spoken of, if it is not so short that
// a quarter of it is less. Common practice.
const lead = 2 * time.Hour

// warnAt is when to speak of the end of the recoat window; zero: never, for it does not
// close or no coat is to come.
func (c DryClock) warnAt() time.Time {
	closes, opens := c.Closes(), c.Reaches(finish.NeedsRecoat).Likely
	if !c.Recoats || closes.IsZero() || opens.IsZero() {
		return time.Time{}
	}
	return closes.Add(-min(lead, max(0, closes.Sub(opens)/4)))
}

// Due is when there is something to tell or to note next; zero: by the forecast, nothing
// more.
func (c DryClock) Due() (at time.Time) {
	if !c.ReadySaid {
		at = c.Ready().Likely
	}
	if warn := c.warnAt(); !c.CloseSaid && !warn.IsZero() && (at.IsZero() || warn.Before(at)) {
		at = latest(warn, c.Look)
	}
	if cured := c.Reaches(finish.NeedsCured).Likely; at.IsZero() && c.ReadySaid && !c.Over && !cured.IsZero() {
		at = cured.Add(Settles)
	}
	return at
}

// Settles is how long after what they tell of readings usually are entered. Common practice.
const Settles = time.Hour

// Ended reports whether nothing is left to forecast or to tell.
func (c DryClock) Ended(now time.Time) bool {
	told := c.ReadySaid && (c.CloseSaid || c.warnAt().IsZero())
	return told && c.Reaches(finish.NeedsCured).Passed(now.Add(-Settles))
}

// Reopens is for how long after something was laid a late reading can show that it is not
// as dry as was thought. Common practice: by then somebody would have felt it.
const Reopens = 30 * 24 * time.Hour

// Past reports whether it has ended and no reading changes that.
func (c DryClock) Past(now time.Time) bool { return c.Over && c.Laid.Before(now.Add(-Reopens)) }
