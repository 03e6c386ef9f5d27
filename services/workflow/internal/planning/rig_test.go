package planning

import (
	"fmt"
	"testing"
	"time"

	"tackfree/pkg/id"
	"tackfree/services/workflow/internal/workflow"
)

// monday is the first morning of the tests' weeks; clocks are not moved in them.
var monday = time.Date(2026, 3, 2, 8, 0, 0, 0, time.UTC)

// on is an instant of the nth day after monday.
func on(day, hour, minute int) time.Time {
	return time.Date(2026, 3, 2+day, hour, minute, 0, 0, time.UTC)
}

// weekdays are from eight to half past four, with half an hour at noon.
func weekdays() (week []workflow.WorkingDay) {
	for d := time.Monday; d <= time.Friday; d++ {
		week = append(week, workflow.WorkingDay{Weekday: d, Hours: workflow.Hours{Start: 8 * 60, End: 16*60 + 30}, Breaks: []workflow.Hours{{Start: 12 * 60, End: 12*60 + 30}}})
	}
	return week
}

// shop is a floor that a test makes.
type shop struct {
	Facts
	ids byte
}

func newShop(t testing.TB) *shop {
	t.Helper()
	labour, err := workflow.NewLabour(nil)
	if err != nil {
		t.Fatal(err)
	}
	return &shop{Facts: Facts{Labour: labour, Now: monday, Worked: map[id.ID]time.Duration{}, Pins: map[id.ID]workflow.PlanPin{}}}
}

func (s *shop) id() (i id.ID) {
	s.ids++
	i[0], i[15] = 1, s.ids
	return i
}

// person works on weekdays; skills are words, at the usual level.
func (s *shop) person(name string, skills ...string) *workflow.Person {
	p := workflow.Person{ID: s.id(), Name: name, Week: weekdays()}
	for _, k := range skills {
		p.Skills = append(p.Skills, workflow.NewSkill(k, 0))
	}
	s.People = append(s.People, p)
	return &s.People[len(s.People)-1]
}

func (s *shop) at(word string, kind workflow.StationKind, capacity int32) *workflow.Station {
	s.Stations = append(s.Stations, workflow.Station{ID: s.id(), Word: word, Name: word, Kind: kind, Capacity: capacity, Unit: workflow.InPieces})
	return &s.Stations[len(s.Stations)-1]
}

// stage is of a kind that is also its key, so many minutes hands-on and so many that it dries.
func (s *shop) stage(kind string, attended, dries int) workflow.Stage {
	return workflow.Stage{ID: s.id(), Key: kind, Kind: kind, Attended: time.Duration(attended) * time.Minute, Unattended: time.Duration(dries) * time.Minute}
}

// piece has stages one after the other.
func (s *shop) piece(promised time.Time, stages ...workflow.Stage) *Piece {
	p := Piece{Plan: workflow.Plan{Piece: workflow.Piece{ID: s.id(), Tag: int32(len(s.Pieces) + 1), Promised: promised, Planned: true}}}
	for i := range stages {
		stages[i].Piece, stages[i].Position = p.Piece.ID, int32(i+1)
		if i > 0 && stages[i].After == nil {
			stages[i].After = []id.ID{stages[i-1].ID}
		}
	}
	p.Stages = stages
	s.Pieces = append(s.Pieces, p)
	return &s.Pieces[len(s.Pieces)-1]
}

func (s *shop) plan(t testing.TB) *Plan {
	t.Helper()
	p, err := Make(&s.Facts)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// said is a plan in lines: tag, stage, who, where, from when to when.
func said(p *Plan) (lines []string) {
	for _, s := range p.Placed {
		who, where := "nobody", ""
		if s.Person != nil {
			who = s.Person.Name
		}
		if s.Station != nil {
			where = " at " + s.Station.Word
		}
		lines = append(lines, fmt.Sprintf("%d %s: %s%s, %s to %s", s.Piece.Piece.Tag, s.Stage.Title(), who, where, s.Start.Format("Mon 15:04"), s.End.Format("Mon 15:04")))
	}
	for _, u := range p.Unplaced {
		lines = append(lines, fmt.Sprintf("%d %s: %s", u.Piece.Piece.Tag, u.Stage.Title(), u.Says.Text))
	}
	return lines
}
