package plan

import (
	"net/url"
	"slices"
	"time"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/gateway/internal/instants"
)

// choice is what of the plan is shown, and how.
type choice struct {
	By   string    // lanes of person, station or piece
	Over string    // day, week or weeks
	From time.Time // the first day, midnight; zero: the first on which there is anything
}

var (
	lanesBy = []string{"person", "station", "piece"}
	spans   = []string{"day", "week", "weeks"}
	days    = map[string]int{"day": 1, "week": 7, "weeks": 21}
)

// choiceOf reads an address; what it does not say, or not in words that are known, is as usual.
func choiceOf(asked url.Values, zone *time.Location) choice {
	c := choice{By: lanesBy[0], Over: spans[0]}
	if by := asked.Get("by"); slices.Contains(lanesBy, by) {
		c.By = by
	}
	if over := asked.Get("over"); slices.Contains(spans, over) {
		c.Over = over
	}
	if day, err := time.ParseInLocation(time.DateOnly, asked.Get("from"), zone); err == nil {
		c.From = day
	}
	return c
}

// Query is the choice in an address.
func (c choice) Query() string {
	v := url.Values{"by": {c.By}, "over": {c.Over}}
	if !c.From.IsZero() {
		v.Set("from", c.From.Format(time.DateOnly))
	}
	return v.Encode()
}

// ByLink is the same with other lanes.
func (c choice) ByLink(by string) string {
	c.By = by
	return "/plan?" + c.Query()
}

// OverLink is the same over another time.
func (c choice) OverLink(over string) string {
	c.Over = over
	return "/plan?" + c.Query()
}

// fromLink is the same from another day.
func (c choice) fromLink(day time.Time) string {
	c.From = day
	return "/plan?" + c.Query()
}

// window is from when to when is shown: from the chosen day on, or the first on which somebody works, but
// not before the plan begins.
func (c choice) window(p *workflowv1.FloorPlan, zone *time.Location) (from, to time.Time) {
	begins := p.StartTime.AsTime().In(zone)
	day := c.From
	if day.IsZero() {
		day = midnight(firstWork(p, begins).In(zone))
	}
	from, to = day, day.AddDate(0, 0, days[c.Over])
	if from.Before(begins) && begins.Before(to) {
		from = begins.Truncate(15 * time.Minute)
	}
	return from, to
}

// firstWork is when somebody first works in the plan; with nobody it is its beginning.
func firstWork(p *workflowv1.FloorPlan, begins time.Time) time.Time {
	first := time.Time{}
	for _, who := range p.Presence {
		for _, s := range who.Stretches {
			if at := instants.Later(s.StartTime.AsTime(), begins); s.EndTime.AsTime().After(begins) && (first.IsZero() || at.Before(first)) {
				first = at
			}
		}
	}
	if len(p.Stages) > 0 {
		if at := p.Stages[0].StartTime.AsTime(); first.IsZero() || at.Before(first) {
			first = instants.Later(at, begins)
		}
	}
	return instants.Later(first, begins)
}

func midnight(local time.Time) time.Time {
	return time.Date(local.Year(), local.Month(), local.Day(), 0, 0, 0, 0, local.Location())
}
