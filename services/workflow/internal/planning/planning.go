// Package planning says who does what, where and when on this floor, as far as can be told now. Rules only:
// no clock, database or wire.
//
//	Facts: stages, people, stations, ─▶ maker ─▶ planner.Problem ─▶ planner.Dispatch ─▶ slots
//	clocks, pins, what dries            │  ▲                                             │
//	   ▲                                │  └── longer horizon, windows that cannot be ◀──┤
//	Suppose: away, promised, newcomers  └──▶ doubts ─▶ planner.Simulate ─▶ chances ──▶ Plan
//
// A job is a stage, or all stages of a batch: they are done one after the other by the same hands, as the
// books lay them out afterwards. Who may do it, and where, is asked of package workflow, which refuses the
// same when somebody clocks on. What dries makes the next job wait, through nights and weekends; the air of
// days to come is not known, so what is not wet yet dries for as long as its stage says.
//
// Not in it: that a part keeps its place while it dries, that a station is cleaned between two products,
// that a test for lead is still to come, and work that belongs to no piece.
package planning

import (
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/sentence"
	"tackfree/services/workflow/internal/workflow"
)

// Facts are the floor at one moment.
type Facts struct {
	Pieces   []Piece // on which something is left to do, by tag
	People   []workflow.Person
	Stations []workflow.Station
	Running  []Running
	Worked   map[id.ID]time.Duration    // by stage: what was worked in its present pass, without what runs
	Pins     map[id.ID]workflow.PlanPin // by stage
	Labour   *workflow.Labour
	Now      time.Time // in the shop's zone
}

// Piece is a piece with its stages in the order of the work: those that are not finished, and those that
// dulled a film.
type Piece struct {
	workflow.Plan
	Counts map[id.ID]int32 // how many there are of each part
	Out    []Outing
	Title  string // of one that is only supposed
}

// Outing is a part that others have.
type Outing struct {
	Part  id.ID // id.Nil: all
	Stage id.ID // that they do; id.Nil: none
	Firm  string
	Due   time.Time // midnight in UTC of the day
}

// Running is somebody on the clock.
type Running struct {
	Stage, Person id.ID
	Station       id.ID // id.Nil: nobody said where
	Since         time.Time
}

// Plan is what comes of it.
type Plan struct {
	Start, End time.Time
	Placed     []Placed   // by when they begin
	Unplaced   []Unplaced // by tag
	Pieces     []Outlook  // by promise, those without one last; then by tag
	Presence   []Presence // by name
	Runs       int
}

// Placed is a stage with its place; with several at it there is one for each.
type Placed struct {
	Stage      *workflow.Stage
	Piece      *Piece
	Person     *workflow.Person  // nil: nobody attends it
	Station    *workflow.Station // nil: it needs none
	Start, End time.Time

	InWork, Assigned, PersonPinned, TimePinned bool

	Dry          time.Time // until when it dries behind it; zero: nothing does
	WindowMissed bool      // the recoat window below closes before it begins
}

// Why is why a stage has no place.
type Why int

// The reasons.
const (
	NobodyCan Why = iota + 1
	NoTime
	Waits
	Away
)

// Unplaced is a stage without a place.
type Unplaced struct {
	Stage *workflow.Stage
	Piece *Piece
	Why   Why
	Says  sentence.Sentence
}

// Outlook is what becomes of a piece.
type Outlook struct {
	Piece *Piece
	End   time.Time // zero: not all of it has a place, nor a chance
	// How often it is done by its promise, 0 to 1; of one that nobody promised it says nothing.
	Chance              float64
	Early, Middle, Late time.Time // by when it is in one case of ten, in half, in nine of ten
}

// Presence is when somebody works.
type Presence struct {
	Person    *workflow.Person
	Stretches []workflow.Pause
}
