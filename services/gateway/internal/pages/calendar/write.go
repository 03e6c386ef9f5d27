package calendar

import (
	"regexp"
	"strconv"
	"strings"
	"time"

	ics "github.com/arran4/golang-ical"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/gateway/internal/words"
)

// write is a plan as a calendar. An event's UID is its stage's, so that a stage which moves is the same event
// elsewhere; its SEQUENCE grows with each minute of which the plan is.
func write(p *workflowv1.FloorPlan, name string, v *words.Voice) string {
	c := ics.NewCalendarFor("tackfree")
	c.SetXWRCalName(name)
	c.SetRefreshInterval(refreshText)
	c.SetXPublishedTTL(refreshText)
	made := p.StartTime.AsTime().UTC()
	for _, s := range p.Stages {
		addEvent(c, s, made, v)
	}
	return c.Serialize(ics.WithNewLine("\r\n"))
}

// nameOf is what the calendar is called: whose work it is. While the plan has nothing of theirs it is the label of
// the program that reads it, without the id by which labels differ.
func nameOf(p *workflowv1.FloorPlan, person, label string, v *words.Voice) string {
	for _, s := range p.Stages {
		if s.Person == person && s.PersonName != "" {
			return v.T("calendar.name", s.PersonName)
		}
	}
	for _, there := range p.Presence {
		if there.Person == person && there.PersonName != "" {
			return v.T("calendar.name", there.PersonName)
		}
	}
	return labelID.ReplaceAllString(label, "")
}

// labelID is the end of such a label.
var labelID = regexp.MustCompile(`, [0-9a-f]{12}$`)

func addEvent(c *ics.Calendar, s *workflowv1.PlacedStage, made time.Time, v *words.Voice) {
	_, stage, _ := strings.Cut(s.Stage, "/stages/")
	e := c.AddEvent(stage + "@tackfree")
	e.SetDtStampTime(made)
	e.SetModifiedAt(made)
	e.SetSequence(int(made.Unix() / 60))
	e.SetStartAt(s.StartTime.AsTime())
	e.SetEndAt(s.EndTime.AsTime())
	e.SetSummary(strconv.FormatInt(int64(s.PieceTag), 10) + " " + what(s, v))
	e.SetDescription(description(s, v))
	if s.StationName != "" {
		e.SetLocation(s.StationName)
	}
	// It may be planned otherwise the next minute, unless it is pinned or in work.
	if s.InWork || s.TimePinned {
		e.SetStatus(ics.ObjectStatusConfirmed)
	} else {
		e.SetStatus(ics.ObjectStatusTentative)
	}
}

func what(s *workflowv1.PlacedStage, v *words.Voice) string {
	text := v.StageOf(s.Kind, s.Title)
	if s.PartLabel != "" {
		text += ", " + s.PartLabel
	}
	return text
}

// description is the piece, and what to know before it is begun. What the work itself asks for is on the
// bench's page, with its cautions.
func description(s *workflowv1.PlacedStage, v *words.Voice) string {
	var lines []string
	if s.PieceTitle != "" {
		lines = append(lines, s.PieceTitle)
	}
	if s.WindowMissed {
		lines = append(lines, v.T("calendar.scuff"))
	}
	return strings.Join(append(lines, v.T("calendar.cautions")), "\n")
}
