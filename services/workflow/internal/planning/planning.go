// Package planning says who does what, where and when on this floor, as far as can be told now. Rules only:
// no clock, database or wire.
//
//	Facts: stages, people, stations, ─▶ maker ─▶ planner.Problem ─▶ planner.Dispatch ─▶ slots that find a place
//	clocks, pins, what dries,           │  ▲                                             │
//	what was published                  │  └── longer horizon, windows that cannot be ◀──┤
//	   ▲                                │                                                ▼
//	Suppose: away, promised, newcomers  │     planner.Replan of what was published, or planner.Improve: better slots
//	                                    └──▶ doubts ─▶ planner.Simulate ─▶ chances ──────┴─▶ Plan
//
//	Make: at once, for all who look      Propose: for as long as it is given, to be published
//	Suggest: by when something could be promised, gently or first of all
//
// What was published is what people know: a plan that follows it moves little of the next two days on which somebody works. Who has a stage
// because a plan gave it to them may lose it to another plan; who has it by hand keeps it.
//
// A job is a stage, or all stages of a batch: they are done one after the other by the same hands, as the
// books lay them out afterwards. Who may do it, and where, is asked of package workflow, which refuses the
// same when somebody clocks on. What dries makes the next job wait, through nights and weekends; the air of
// days to come is not known, so what is not wet yet dries for as long as its stage says.
//
// Not in it: that a part keeps its place while it dries, that a station which holds several things is cleaned between
// two products, that a test for lead is still to come, and work that belongs to no piece.
package planning

import (
	"sort"
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/planner"
	"tackfree/pkg/sentence"
	"tackfree/services/workflow/internal/workflow"
)

// Facts are the floor at one moment.
type Facts struct {
	Pieces   []Piece // on which something is left to do, by tag
	People   []workflow.Person
	Stations []workflow.Station
	Running  []Running
	Used     []workflow.UsedAt          // the last work with each product at stations that are cleaned in between
	Worked   map[id.ID]time.Duration    // by stage: what was worked in its present pass, without what runs
	Pins     map[id.ID]workflow.PlanPin // by stage
	Refused  map[id.ID][]id.ID          // by stage, of its present pass: who does not want it
	Labour   *workflow.Labour
	Now      time.Time // in the shop's zone

	Published   map[id.ID]Told // by stage, of its present pass: the plan that people know
	Publication int64          // how many were published
	PublishedAt time.Time      // the last of them; zero: they know none

	Given map[id.ID]id.ID // by stage: to whom a plan gave it, who keeps it only until another one says otherwise

	first map[int]bool // pieces (indices) that go before all others, whatever was promised
}

// Told is a stage's place in a plan that was published, or proposed.
type Told struct {
	Piece, Stage    id.ID
	Pass            int32
	Person, Station id.ID // id.Nil: none
	Start, End      time.Time
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
	Cost       *Cost // nil: of a part of a plan nobody reckons it

	PublishedAt time.Time // as of the facts
}

// Placed is a stage with its place; with several at it there is one for each.
type Placed struct {
	Stage      *workflow.Stage
	Piece      *Piece
	Person     *workflow.Person  // nil: nobody attends it
	Station    *workflow.Station // nil: it needs none
	Start, End time.Time

	InWork, Assigned, PersonPinned, TimePinned bool

	Dry          time.Time         // until when it dries behind it; zero: nothing does
	WindowMissed bool              // the recoat window below closes before it begins
	WindowSays   sentence.Sentence // of one that is missed, what is in its way beside other work

	Held  string // who has it now, by a plan that has become another one; empty: nobody else
	Known *Known // what people were told otherwise; nil: nothing
}

// Known is what people know of a stage by what was published.
type Known struct {
	Person *workflow.Person // nil: nobody attends it
	Start  time.Time
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

	played planner.Outlook // whose minutes count from base
	base   time.Time
}

// By is by when it is done in that share of cases.
func (o *Outlook) By(chance float64) time.Time {
	return o.base.Add(time.Duration(o.played.By(chance)) * time.Minute)
}

// DoneBy is the share of cases in which it is done by then.
func (o *Outlook) DoneBy(at time.Time) float64 {
	later := sort.Search(Runs, func(i int) bool { return o.By(float64(i+1) / Runs).After(at) })
	return float64(later) / Runs
}

// Presence is when somebody works.
type Presence struct {
	Person    *workflow.Person
	Stretches []workflow.Pause
}
