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
	c.Said = c.Ready().Likely
	return News{ForecastMoved, *c, now}
}

// Tell takes down, as told, what is worth telling of a piece's clocks, and gives it in the
// order in which it is to be told. overtaken are the clocks, by their stages, over which
// work has gone on: nobody must hurry to coat them.
func (p *Plan) Tell(now time.Time, overtaken map[id.ID]bool) (news []News) {
	for i := range p.Clocks {
		c := &p.Clocks[i]
		if c.moved() {
			c.Said = c.Ready().Likely
			c.ReadySaid = c.ReadySaid && c.IsReady(now) // what was said too soon comes again
			news = append(news, News{ForecastMoved, *c, now})
		}
		if !c.ReadySaid && c.IsReady(now) {
			c.ReadySaid = true
			news = append(news, News{PartIsReady, *c, c.Ready().Likely})
		}
		if warn := c.warnAt(); !c.CloseSaid && !warn.IsZero() && !warn.After(now) {
			c.CloseSaid = true
			if !overtaken[c.Stage] {
				news = append(news, News{WindowCloses, *c, warn})
			}
		}
	}
	return news
}

// ClosesBy reports whether a recoat window is to be spoken of by now.
func (p *Plan) ClosesBy(now time.Time) bool {
	for _, c := range p.Clocks {
		if warn := c.warnAt(); !c.CloseSaid && !warn.IsZero() && !warn.After(now) {
			return true
		}
	}
	return false
}

// moved reports whether the forecast differs enough from what was said.
func (c DryClock) moved() bool {
	ready := c.Ready().Likely
	if ready.IsZero() || c.Said.IsZero() {
		return ready.IsZero() != c.Said.IsZero()
	}
	return ready.Sub(c.Said).Abs() > worth
}

// lead is how long ahead of its end a recoat window is spoken of, if it is not so short that
// a quarter of it is less. Common practice.
const lead = 2 * time.Hour

// warnAt is when to speak of the end of the recoat window; zero: never.
func (c DryClock) warnAt() time.Time {
	closes, opens := c.Closes(), c.Reaches(finish.NeedsRecoat).Likely
	if closes.IsZero() || opens.IsZero() {
		return time.Time{}
	}
	return closes.Add(-min(lead, max(0, closes.Sub(opens)/4)))
}

// Due is when there is something to tell next; zero: by the forecast, nothing more.
func (c DryClock) Due() (at time.Time) {
	if !c.ReadySaid {
		at = c.Ready().Likely
	}
	if warn := c.warnAt(); !c.CloseSaid && !warn.IsZero() && (at.IsZero() || warn.Before(at)) {
		at = warn
	}
	return at
}

// Ended reports whether nothing is left to forecast or to tell.
func (c DryClock) Ended(now time.Time) bool {
	return c.Due().IsZero() && c.ReadySaid && c.Reaches(finish.NeedsCured).Passed(now)
}
