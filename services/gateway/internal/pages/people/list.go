package people

import (
	"context"
	"net/http"
	"path"
	"time"

	"golang.org/x/sync/errgroup"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/clients"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/gateway/internal/bands"
	"tackfree/services/gateway/internal/typed"
	"tackfree/services/gateway/internal/web"
	"tackfree/services/gateway/internal/words"
)

// crew is everybody.
type crew struct {
	People  []member
	NoClock bands.Missing // why nothing is said of what they are on
}

// member is somebody in the list.
type member struct {
	ID, Name, Role string
	Skills         []skill
	Week           []*workflowv1.WorkingDay
	Strip          []slat
	On             []*workflowv1.ClockEntry // clocks that run
	Away           string                   // why they are away today; empty: they are not
	AwayUntil      time.Time
	Left           bool // they belong to the shop no more
}

// skill is what somebody can do, and how well: 1 under somebody's eye, 2 alone, 3 well enough to teach it.
type skill struct {
	Word  string
	Level int32
}

// usual is the level of a skill of which nobody said another.
const usual = 2

// longestClock is how far back a clock that runs still may have been started.
const longestClock = 72 * time.Hour

func showList(w http.ResponseWriter, a *web.Asked) error {
	it, err := loadCrew(a.Context(), a.Kit.Suite, a.Now(), a.Voice.Zone)
	if err != nil {
		return err
	}
	return a.Show(w, "people", a.Voice.T("people.title"), it)
}

func partList(w http.ResponseWriter, a *web.Asked) error {
	it, err := loadCrew(a.Context(), a.Kit.Suite, a.Now(), a.Voice.Zone)
	if err != nil {
		return err
	}
	return a.ShowPart(w, "people", "list", it)
}

func loadCrew(ctx context.Context, s *clients.Suite, now time.Time, zone *time.Location) (it crew, err error) {
	var all []*workflowv1.Person
	var entries []*workflowv1.ClockEntry
	g, ctx := errgroup.WithContext(ctx)
	g.Go(func() (err error) {
		all, err = everybody(ctx, s)
		return err
	})
	g.Go(func() (err error) {
		entries, err = runningClocks(ctx, s, "", now)
		return it.NoClock.Of(err)
	})
	if err := g.Wait(); err != nil {
		return it, err
	}
	on := map[string][]*workflowv1.ClockEntry{}
	for _, e := range entries {
		on[e.Person] = append(on[e.Person], e)
	}
	for _, p := range all {
		it.People = append(it.People, memberOf(p, on[p.Name], now, zone))
	}
	return it, nil
}

func memberOf(p *workflowv1.Person, on []*workflowv1.ClockEntry, now time.Time, zone *time.Location) member {
	m := member{ID: path.Base(p.Name), Name: p.DisplayName, Role: wordOf(p.Role), Skills: skillsOf(p), Week: p.WorkingDays, Strip: strip(p.WorkingDays), On: on}
	today := now.In(zone).Format(time.DateOnly)
	for _, d := range p.DaysOff {
		if first, last := dayOff(d); first <= today && today <= last {
			m.Away, m.AwayUntil = d.Reason, typed.Noon(d.LastDate, zone)
			if m.Away == "" {
				m.Away = "–"
			}
		}
	}
	m.Left = p.ActiveTo != nil && typed.Day(p.ActiveTo) < today
	return m
}

// dayOff gives the first and the last day, written so that they sort.
func dayOff(d *workflowv1.DayOff) (first, last string) {
	first, last = typed.Day(d.FirstDate), typed.Day(d.LastDate)
	if last == "" {
		last = first
	}
	return first, last
}

func skillsOf(p *workflowv1.Person) (out []skill) {
	levels := map[string]int32{}
	for _, l := range p.Levels {
		levels[l.Skill] = l.Level
	}
	for _, word := range p.Skills {
		level := levels[word]
		if level == 0 {
			level = usual
		}
		out = append(out, skill{word, level})
	}
	return out
}

// runningClocks are those of somebody, or of everybody.
func runningClocks(ctx context.Context, s *clients.Suite, person string, now time.Time) (out []*workflowv1.ClockEntry, err error) {
	all, err := clients.All(ctx, func(ctx context.Context, token string) ([]*workflowv1.ClockEntry, string, error) {
		r, err := s.Clocks.ListClockEntries(ctx, &workflowv1.ListClockEntriesRequest{Person: person, FromTime: timestamppb.New(now.Add(-longestClock)), PageSize: many, PageToken: token})
		return r.GetClockEntries(), r.GetNextPageToken(), err
	})
	for _, e := range all {
		if e.EndTime == nil && !e.Superseded {
			out = append(out, e)
		}
	}
	return out, err
}

// Posts are where the days of a week stand in its drawing.
func (crew) Posts() (out []int) {
	for i := range weekdays {
		out = append(out, i*(slatWide+slatGap))
	}
	return out
}

// Hours writes when somebody works; empty: nobody said.
func (m member) Hours(v *words.Voice) string { return said(m.Week, v) }
