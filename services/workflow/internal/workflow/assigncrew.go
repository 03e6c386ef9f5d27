package workflow

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"

	"tackfree/pkg/fault"
)

// mostNamed is how many people a refusal names who could do it.
const mostNamed = 3

// Crew is who somebody else is chosen from where a person is refused.
type Crew struct {
	People   []Person  // by name, with those who left or are still to come
	Stations []Station // the one that is named, or those of the kinds that the stages need; none: anywhere
}

// askForAnother are the refusals of a person at a stage, which another might not get.
var askForAnother = []string{"SKILL_MISSING", "PERSON_INACTIVE", "STATION_NOT_ALLOWED"}

// AsksForAnother reports whether an error refuses the person and not the stage.
func AsksForAnother(err error) bool { return slices.Contains(askForAnother, fault.Reason(err)) }

// Instead says in the refusal of a person at stages that begin together who could do them all
// from an instant on, by the clock of its zone: those first who are at work then, then those who
// still come that day, then those of whom nobody said when they work, and last those who come
// another day. Where nobody can it says what would have to be otherwise.
func (c Crew) Instead(err error, stages []Stage, at time.Time) error {
	if !AsksForAnother(err) {
		return err
	}
	f, able := fault.Of(err), c.able(stages, at)
	names, said := make([]string, len(able)), make([]string, len(able))
	for i, h := range able {
		names[i], said[i] = h.name, h.said()
	}
	f = f.With("able", strings.Join(names, ", "))
	switch len(able) {
	case 0:
		f.Text += " " + c.nobody(f.Reason, stages, at)
	case 1:
		f.Text += fmt.Sprintf(" %s can do it.", said[0])
	default:
		f.Text += fmt.Sprintf(" These can do it: %s.", listed(said))
	}
	return f
}

// able are those who can do all of some stages, the soonest first.
func (c Crew) able(stages []Stage, at time.Time) (out []hand) {
	for _, p := range c.here(at) {
		if !slices.ContainsFunc(stages, func(s Stage) bool { return !p.Can(s.Skill, s.SkillLevel) || c.bars(p, s) }) {
			out = append(out, p.hand(at))
		}
	}
	slices.SortStableFunc(out, soonestFirst)
	return out[:min(len(out), mostNamed)]
}

// Lets refuses a person who may use no station at which a stage is done. Fault:
// STATION_NOT_ALLOWED.
func (c Crew) Lets(p Person, s Stage) error {
	if !c.bars(p, s) {
		return nil
	}
	return fault.New(fault.Precondition, "STATION_NOT_ALLOWED", "%s is done at %s, and %s may only use %s. Give it to somebody else, or have the lead allow it.",
		s.Title(), c.place(s), p.Name, strings.Join(p.Stations, ", "))
}

// here are those who belong to the shop on the day of an instant.
func (c Crew) here(at time.Time) []Person {
	return slices.DeleteFunc(slices.Clone(c.People), func(p Person) bool { return p.there(at) != nil })
}

// bars reports whether a person may use no station at which a stage is done.
func (c Crew) bars(p Person, s Stage) bool {
	best := unfit
	for _, st := range c.Stations {
		_, rank := st.against(Facts{Stage: s, Person: p})
		best = min(best, rank)
	}
	return best == forbidden
}

// nobody says why nobody can do all of some stages, and what to do about it.
func (c Crew) nobody(refused string, stages []Stage, at time.Time) string {
	here := c.here(at)
	for _, s := range stages {
		skilled := slices.DeleteFunc(slices.Clone(here), func(p Person) bool { return !p.Can(s.Skill, s.SkillLevel) })
		switch {
		case len(skilled) == 0:
			return untaught(here, s)
		case slices.ContainsFunc(skilled, func(p Person) bool { return !c.bars(p, s) }):
			continue
		case refused == "STATION_NOT_ALLOWED": // which has said what to do about it
			return "Nobody else who can do it may work there."
		}
		return fmt.Sprintf("%s can do it, but may not work at %s: have the lead allow it.", some(skilled), c.place(s))
	}
	return "Nobody here can do all of it. Do it stage by stage, each by somebody who can."
}

// untaught says that nobody has the skill that a stage takes.
func untaught(here []Person, s Stage) string {
	if s.Skill == "" {
		return "Nobody is in the shop that day."
	}
	lower := ""
	learning := slices.DeleteFunc(slices.Clone(here), func(p Person) bool { return !p.Can(s.Skill, 0) })
	if len(learning) > 0 {
		lower = fmt.Sprintf(" (at a lower level: %s)", some(learning))
	}
	return fmt.Sprintf("Nobody here has %s%s. Teach it to somebody, or hire for it.", s.skillAsked(), lower)
}

// place is where a stage would be done, in words.
func (c Crew) place(s Stage) string {
	if len(c.Stations) == 1 {
		return c.Stations[0].Name
	}
	return aPlace(StationKind(s.Station))
}

// some names people, not more than a refusal does.
func some(people []Person) string {
	var names []string
	for _, p := range people[:min(len(people), mostNamed)] {
		names = append(names, p.Name)
	}
	return listed(names)
}

// hand is somebody, and when they can be had.
type hand struct {
	name string
	turn int       // the less, the sooner
	from time.Time // when they come; zero: they are there, or nobody knows
	when string    // in words; empty: nobody said when they work
}

// The turns in which people can be had.
const (
	atWork = iota
	thatDay
	unsaid
	anotherDay
	noMore
)

// soonestFirst orders those who can be had by when that is.
func soonestFirst(a, b hand) int { return cmp.Or(a.turn-b.turn, a.from.Compare(b.from)) }

func (h hand) said() string {
	if h.when == "" {
		return h.name
	}
	return fmt.Sprintf("%s (%s)", h.name, h.when)
}

// hand is when the person can be had from an instant on.
func (p Person) hand(at time.Time) hand {
	h := hand{name: p.Name}
	off := p.off(dayOf(at))
	from, until, works := p.worksFrom(at)
	switch {
	case len(p.Week) == 0 && off == nil:
		h.turn = unsaid
	case len(p.Week) == 0:
		h.turn, h.from, h.when = anotherDay, off.Last.AddDate(0, 0, 1), off.says().Text
	case !works:
		h.turn, h.when = noMore, "has no shift left"
	case from.Equal(at):
		h.turn, h.when = atWork, "at work until "+shortly(until, at)
	case dayOf(from).Equal(dayOf(at)):
		h.turn, h.from, h.when = thatDay, from, "from "+shortly(from, at)+" on"
	default:
		h.turn, h.from, h.when = anotherDay, from, "from "+said(from)+" on"
	}
	return h
}

// shortly is an instant in words; on the day of another one, in the same zone, only its time.
func shortly(t, other time.Time) string {
	if dayOf(t).Equal(dayOf(other)) {
		return t.Format("15:04")
	}
	return said(t)
}
