package plan

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/gateway/internal/pages/plan/chart"
	"tackfree/services/gateway/internal/words"
)

// floor is what is shown of the plan.
type floor struct {
	choice
	Earlier, Later string // links; Earlier is empty where the plan begins
	First, Last    time.Time
	Empty          bool // nothing is to be done in what is shown
	Still          bool // what would be: nothing in it can be moved
	Chart          chart.Chart
	Marks          map[string]*bar // by the chart's keys, what its places are of
	Lanes          []lane
	Unplaced       []*workflowv1.UnplacedStage
	Chances        []chance
	Runs           int32
	Half           bool // a clock of twelve hours, for the script
	Zone           string
	Published      *timestamppb.Timestamp // the plan that people know; nil: none was
}

// lane is a person, station or piece with its rows by day.
type lane struct {
	Key, Name string

	Days []day
}

type day struct {
	At   time.Time
	Rows []*bar
}

// bar is a stage as it is shown.
type bar struct {
	*workflowv1.PlacedStage
	What  string // what is done, in the reader's language
	Label string // tag and kind
	Path  string // of its small page
	State string // in-work, given or planned
}

// floorOf lays out what is shown of a plan.
func floorOf(p *workflowv1.FloorPlan, c choice, v *words.Voice, now time.Time) *floor {
	from, to := c.window(p, v.Zone)
	it := &floor{choice: c, First: from, Last: to.Add(-time.Second), Unplaced: p.Unplaced, Runs: p.Runs, Half: v.Half, Zone: v.Zone.String(), Published: p.PublishTime}
	day := midnight(from)
	if day.After(midnight(p.StartTime.AsTime().In(v.Zone))) {
		it.Earlier = c.fromLink(day.AddDate(0, 0, -days[c.Over]))
	}
	if to.Before(p.EndTime.AsTime()) {
		it.Later = c.fromLink(to)
	}
	it.Marks = map[string]*bar{}
	works := it.works(p, v)
	lanes := lanesOf(p, c.By, v)
	lanes = slices.DeleteFunc(lanes, func(l chart.Lane) bool { // helpers stay: something can be given to them
		return (c.By != "person" || l.Key == nobody) && !slices.ContainsFunc(works, touches(l.Key, from, to))
	})
	it.Empty = !slices.ContainsFunc(works, touches("", from, to))
	it.Chart = chart.Draw(chart.Span{From: from, To: to}, lanes, works, open(p), now, v.Zone, c.By == "piece")
	it.Lanes = it.rows(v)
	it.Chances = chancesOf(p.Pieces, now)
	return it
}

// open is when anybody works.
func open(p *workflowv1.FloorPlan) (out []chart.Span) {
	for _, l := range personLanes(p) {
		out = append(out, l.Present...)
	}
	return out
}

// touches finds works of a lane, or of any, that lie within.
func touches(lane string, from, to time.Time) func(chart.Work) bool {
	return func(w chart.Work) bool {
		return (lane == "" || w.Lane == lane) && w.From.Before(to) && w.To.After(from)
	}
}

// works are the plan's stages for the chart; marks keeps what each is.
func (f *floor) works(p *workflowv1.FloorPlan, v *words.Voice) (out []chart.Work) {
	for _, s := range p.Stages {
		b := barOf(s, v)
		key := s.Stage // of several at one, and of what is only supposed, there is more than one
		if f.Marks[key] != nil || key == "" {
			key = fmt.Sprintf("%s-%d", s.Stage, len(f.Marks))
		}
		f.Marks[key] = b
		w := chart.Work{Key: key, Lane: laneOf(s, f.By), Label: b.Label, Span: chart.Span{From: s.StartTime.AsTime(), To: s.EndTime.AsTime()}}
		if f.By == "piece" {
			w.Label = b.What
		}
		if s.DryTime != nil {
			w.Dry = s.DryTime.AsTime()
		}
		out = append(out, w)
	}
	return out
}

func barOf(s *workflowv1.PlacedStage, v *words.Voice) *bar {
	b := &bar{PlacedStage: s, What: v.StageOf(s.Kind, s.Title), Path: stagePath(s.Stage), State: "planned"}
	if s.PartLabel != "" {
		b.What += ", " + s.PartLabel
	}
	if b.Label = b.What; s.PieceTag > 0 {
		b.Label = tagText(s.PieceTag) + " " + b.What
	}
	switch {
	case s.InWork:
		b.State = "in-work"
	case s.Assigned:
		b.State = "given"
	}
	return b
}

// nobody is the key of the lane of what nobody attends, or that needs no station.
const nobody = "-"

func laneOf(s *workflowv1.PlacedStage, by string) string {
	switch by {
	case "station":
		return cmp.Or(s.Station, nobody)
	case "piece":
		return s.Piece
	}
	return cmp.Or(s.Person, nobody)
}

// lanesOf are all lanes there can be, in the order of names, or of pieces by promise.
func lanesOf(p *workflowv1.FloorPlan, by string, v *words.Voice) (out []chart.Lane) {
	switch by {
	case "piece":
		for _, o := range p.Pieces {
			out = append(out, chart.Lane{Key: o.Piece, Name: tagText(o.PieceTag) + " " + o.PieceTitle})
		}
		return out
	case "station":
		out = stationLanes(p)
	default:
		out = personLanes(p)
	}
	slices.SortFunc(out, func(a, b chart.Lane) int { return strings.Compare(a.Name, b.Name) })
	if slices.ContainsFunc(p.Stages, func(s *workflowv1.PlacedStage) bool { return laneOf(s, by) == nobody }) {
		out = append(out, chart.Lane{Key: nobody, Name: v.T("plan.none." + by)})
	}
	return out
}

func stationLanes(p *workflowv1.FloorPlan) (out []chart.Lane) {
	seen := map[string]bool{"": true}
	for _, s := range p.Stages {
		if !seen[s.Station] {
			seen[s.Station] = true
			out = append(out, chart.Lane{Key: s.Station, Name: s.StationName})
		}
	}
	return out
}

func personLanes(p *workflowv1.FloorPlan) (out []chart.Lane) {
	seen := map[string]bool{"": true}
	for _, who := range p.Presence {
		seen[who.Person] = true
		l := chart.Lane{Key: who.Person, Name: who.PersonName}
		for _, s := range who.Stretches {
			l.Present = append(l.Present, chart.Span{From: s.StartTime.AsTime(), To: s.EndTime.AsTime()})
		}
		out = append(out, l)
	}
	for _, s := range p.Stages { // somebody on the clock who is not planned
		if !seen[s.Person] {
			seen[s.Person] = true
			out = append(out, chart.Lane{Key: s.Person, Name: s.PersonName})
		}
	}
	return out
}

// rows are the chart's bars in words, by lane and day.
func (f *floor) rows(v *words.Voice) (out []lane) {
	for _, b := range f.Chart.Bands {
		l := lane{Key: b.Key, Name: b.Name}
		for _, placed := range b.Bars {
			at := midnight(placed.From.In(v.Zone))
			if last := len(l.Days) - 1; last < 0 || !l.Days[last].At.Equal(at) {
				l.Days = append(l.Days, day{At: at})
			}
			d := &l.Days[len(l.Days)-1]
			d.Rows = append(d.Rows, f.Marks[placed.Key])
		}
		if len(l.Days) > 0 {
			out = append(out, l)
		}
	}
	return out
}
