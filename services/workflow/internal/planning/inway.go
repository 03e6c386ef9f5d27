package planning

import (
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"tackfree/pkg/planner"
	"tackfree/pkg/sentence"
)

// mostExplained is of how many jobs of a plan it is said what is in their way: each may take as much as
// planner.Explain allows itself.
const mostExplained = 3

// inWay says which constraints together leave no place for a job, by itself on the floor or beside little other work: the
// smallest set that was found. ok is false where it would fit as far as can be said, or enough was explained.
func (m *maker) inWay(p *planner.Problem, op int) (says sentence.Sentence, ok bool, err error) {
	if m.explained++; m.explained > mostExplained {
		return says, false, nil
	}
	found, err := planner.Explain(p, op)
	if err != nil || len(found) == 0 {
		return says, false, err
	}
	if of, err := planner.Culprit(p, op, found); err == nil && of < len(m.jobs) {
		op = of
	}
	w := &way{maker: m, p: p}
	w.hours(found)
	w.beside(found)
	for _, c := range found {
		w.one(c)
	}
	text := "one of these has to give"
	if len(w.parts) == 1 {
		text = "that has to give"
	}
	s := m.jobs[op].first()
	alone := " by itself already"
	if w.others != "" {
		alone = ""
	}
	says = about(s, "IN_THE_WAY", "%s finds no place%s: %s; %s.", s.Title(), alone, strings.Join(w.parts, "; "), text)
	for name, value := range w.told.Figures {
		says = says.With(name, value)
	}
	return says, true, nil
}

// way says what is in the way.
type way struct {
	*maker
	p      *planner.Problem
	parts  []string
	others string            // what has to be done too
	told   sentence.Sentence // its figures
}

// hours says whose and which calendars are in the way, those of one sort in one go.
func (w *way) hours(found []planner.Constraint) {
	var people, stations []string
	for _, c := range found {
		switch c.Kind {
		case planner.WorkerHours:
			people = append(people, w.People[c.Index].Name)
		case planner.StationHours:
			stations = append(stations, w.Stations[c.Index].Name)
		}
	}
	if names := strings.Join(people, ", "); names != "" {
		w.parts, w.told = append(w.parts, "the working hours of "+names), w.told.With("people", names)
	}
	if names := strings.Join(stations, ", "); names != "" {
		w.parts, w.told = append(w.parts, "when "+names+" is open"), w.told.With("places", names)
	}
}

// beside says what other work has to be done in the same time.
func (w *way) beside(found []planner.Constraint) {
	var titles []string
	for _, c := range found {
		if c.Kind == planner.OtherWork && c.Index < len(w.jobs) {
			titles = append(titles, w.jobs[c.Index].first().Title())
		}
	}
	if w.others = strings.Join(titles, ", "); w.others != "" {
		w.parts, w.told = append(w.parts, "that "+w.others+" has to be done too"), w.told.With("others", w.others)
	}
}

// one says a constraint that is neither a calendar nor other work.
func (w *way) one(c planner.Constraint) {
	switch c.Kind {
	case planner.LongestWait:
		w.window(&w.p.Lags[c.Index])
	case planner.EarliestStart:
		at := w.instant(w.p.Operations[c.Index].Earliest)
		w.parts, w.told = append(w.parts, "that it does not begin before "+at.Format("Mon 2 Jan 15:04")), w.told.At("earliest_time", at)
	case planner.FixedWork:
		w.parts, w.told = append(w.parts, "what is in work already"), w.told.With("fixed", "1")
	case planner.Cleaning, planner.StationRoom:
		name := w.Stations[c.Index].Name
		w.parts, w.told = append(w.parts, "how much "+name+" holds, and that it is cleaned in between"), w.told.With("room", name)
	case planner.NobodyAble:
		w.parts, w.told = append(w.parts, "that nobody can do it"), w.told.With("nobody", "1")
	case planner.PlanHorizon:
		end := w.instant(w.p.Horizon)
		w.parts, w.told = append(w.parts, "that the plan ends on "+day(end)), w.told.On("until_date", end)
	}
}

// window says a recoat window. Of one that is open already, nobody finishes what lies below it any more.
func (w *way) window(l *planner.Lag) {
	if l.From >= len(w.jobs) {
		at := w.instant(l.Max)
		w.parts, w.told = append(w.parts, "the recoat window, which closes at "+at.Format("Mon 2 Jan 15:04")), w.told.At("closes_time", at)
		return
	}
	below, hours := w.jobs[l.From].first(), strconv.FormatFloat(math.Round(float64(l.Max)/6)/10, 'f', -1, 64)
	w.parts = append(w.parts, "the recoat window of "+hours+" hours behind "+below.Title())
	w.told = w.told.With("hours", hours).With("before", below.Title()).With("before_kind", below.Kind)
}

// missedBecause says what is in the way of a window that is not kept; nothing where only other work is.
func (m *maker) missedBecause(op int) (says sentence.Sentence, err error) {
	for i := range m.p.Lags {
		if l := &m.p.Lags[i]; l.To != op || !m.loose[i] {
			continue
		}
		tight := m.p
		tight.Lags = slices.Clone(m.p.Lags)
		tight.Lags[i].Max = max(tight.Lags[i].Min, int(m.jobs[tight.Lags[i].From].first().Latest/time.Minute))
		says, _, err = m.inWay(&tight, op)
		return says, err
	}
	return says, nil
}
