package workflow

import (
	"cmp"
	"slices"
	"strings"
	"time"

	"tackfree/pkg/climate"
	"tackfree/pkg/finish"
	"tackfree/pkg/id"
)

// Point is what an inspection looks at.
type Point string

// The points.
const (
	ColourMatch       = Point(finish.PointColour)
	Film              = Point(finish.PointFilm)
	Adhesion          = Point(finish.PointAdhesion)
	Hardware          = Point(finish.PointHardware)
	Overall     Point = "overall"
)

// inspects reports a stage that is finished by what an inspection finds.
func (s Stage) inspects() bool { return finish.Kind(s.Kind) == finish.Inspect }

// Point is the one that the stage's key tells.
func (s Stage) Point() Point {
	return cmp.Or(Point(finish.PointOf(s.Key)), Overall)
}

// Inspection is what somebody found who looked at the work of a stage. A stage of kind
// inspect is a point of the plan and finished by passing; a finished one is looked at besides:
//
//	inspect, ready ── pass ─▶ finished
//	               └─ fail ─▶ waiting, for what is sent back and all that built on it
//	finished ── pass ─▶ finished, noted; an inspection is not passed twice
//	         └─ fail ─▶ sent back, or waiting for what is
type Inspection struct {
	ID            id.ID
	Piece         id.ID
	PieceTag      int32
	Stage         id.ID
	StageTitle    string
	Point         Point
	Pass          int32 // of the stage, when it was looked at
	Inspector     id.ID
	InspectorName string
	Passed        bool
	Defects       []Defect // of a pass: what is let be
	BackTo        id.ID    // of a fail: what has to be done again
	BackToTitle   string
	Note          string
	At            time.Time
	Actor         string
	Judged        Judged
	Reopened      []Reopened // of a fail
}

// Judged is whose work an inspection judges: of a fail what has to be done again; of a pass
// what was looked at or, at an inspection, the last coat before it.
type Judged struct {
	Stage       id.ID
	Kind        string
	Pass        int32
	Product     id.ID // id.Nil: none
	ProductName string
	Workers     []id.ID // who worked on it in this pass
	Zone        id.ID   // where it was laid; id.Nil: nobody said
	LaidAt      time.Time
	Air         *climate.Air // in which it was laid; nil: nobody read it
}

// Reopened is a stage that a fail sent back, and the pass that it began.
type Reopened struct {
	Stage id.ID
	Pass  int32
}

// Look is an inspection as it is asked for, with what it is judged by.
type Look struct {
	ID      id.ID
	By      Person
	Point   Point // empty: what the stage's key tells
	Passed  bool
	Defects []Defect
	BackTo  id.ID // id.Nil: nothing is named
	Note    string
	At      time.Time
	Actor   string

	Others []Person          // the people of the shop
	Hands  map[id.ID][]id.ID // by stage: who worked on it in its present pass
	Parts  []Part            // of the piece; none: nobody told
}

// Reason says in words why a failed inspection sends work back.
func (i Inspection) Reason() string {
	var kinds []string
	for _, d := range i.Defects {
		if word := strings.ReplaceAll(d.Kind, "_", " "); !slices.Contains(kinds, word) {
			kinds = append(kinds, word)
		}
	}
	reason := i.StageTitle + " found " + strings.Join(kinds, ", ")
	if i.Note != "" {
		reason += ": " + i.Note
	}
	return reason
}
