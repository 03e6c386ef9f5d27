// Package instance plans what a file says, in the formats of the literature and in our own, within a time.
//
//	file ─▶ Read, by its Format ─┬─▶ jobshop.Shop      ─▶ jobshop.Solve ─┐
//	                             ├─▶ project.Project   ─▶ project.Solve  ├─▶ Answer: figures and operations
//	                             └─▶ floorfile.File    ─▶ planner.Improve┘     ├─▶ Schedule: a file of it
//	                                                                           └─▶ Chart: a drawing of it
//
// Each answer was looked at by rules that the search does not know before it is given.
package instance

import (
	"bytes"
	"context"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/planner/floorfile"
	"tackfree/pkg/planner/literature"
)

// Format is how a file says what is to be planned.
type Format string

// The formats.
const (
	Floor    Format = "floor"    // our own: shop-instance/1
	JobShop  Format = "jobshop"  // machine and duration, by job
	Flexible Format = "fjsp"     // several machines to choose from
	Project  Format = "rcpsp"    // activities that share resources: PSPLIB's .sm
	WithLags Format = "rcpspmax" // with least and longest lags: ProGen/max's .sch
)

// Formats lists them.
var Formats = []Format{Floor, JobShop, Flexible, Project, WithLags}

// Options of a search.
type Options struct {
	Seed   uint64
	Budget time.Duration // how long to search
	Target int64         // of a job shop: when the objective is no more than this, it is enough; 0: only a proof is
	// Improved is told of each better plan; nil: nobody is.
	Improved func(Progress)
}

// Progress is how good the best plan is so far.
type Progress struct {
	Objective, Bound int64
	Elapsed          time.Duration
}

// Operation is where and when one is done. In a project, index is 0 and there is no machine.
type Operation struct {
	Job     int  `json:"job"`
	Index   int  `json:"index"`
	Machine *int `json:"machine,omitempty"`
	Start   int  `json:"start"`
	End     int  `json:"end"`
}

// Placed is the same on a floor, by the names that its file has.
type Placed struct {
	Operation string  `json:"op"`
	Worker    *string `json:"worker"`
	Station   *string `json:"station"`
	Start     int     `json:"start"`
	End       int     `json:"end"`
}

// Answer is the best plan found.
type Answer struct {
	Makespan int `json:"makespan"`
	// LowerBound is what no plan's objective is below.
	LowerBound int64   `json:"lower_bound"`
	Objective  int64   `json:"objective"` // the makespan; of a floor the weighted tardiness
	Seconds    float64 `json:"seconds"`
	Operations any     `json:"operations"` // []Operation; of a floor []Placed
	// Schedule is the plan as a file: of a floor shop-schedule/1, else this answer.
	Schedule []byte `json:"-"`
	Rows     []Row  `json:"-"` // of the drawing
	// Timetable says in lines, of a floor, who does what when, and which promises are not kept.
	Timetable []string                `json:"-"`
	says      func(minute int) string // how a time is written; nil: as a number
	busy      []stretch               // of the drawing
}

// Problem is a file that was read.
type Problem interface {
	// Solve searches for the best plan. Faults: NO_PLAN, with what is in the way; NO_PLAN_IN_TIME.
	Solve(ctx context.Context, o Options) (*Answer, error)
}

// Read reads a file of a format. Faults: those of its reader, with the line.
func Read(text []byte, f Format) (Problem, error) {
	r := bytes.NewReader(text)
	switch f {
	case Floor:
		if text := bytes.TrimSpace(text); len(text) > 0 && text[0] != '{' {
			return nil, fault.New(fault.Invalid, "FLOOR_FILE_NO_JSON", "This is no JSON, as a floor is. Of a text of the literature say which: --format jobshop, fjsp, rcpsp or rcpspmax.")
		}
		file, err := floorfile.Read(text)
		return floor{file}, err
	case JobShop:
		s, err := literature.JobShop(r)
		return machines{Shop: s}, err
	case Flexible:
		s, err := literature.FlexibleJobShop(r)
		return machines{Shop: s}, err
	case Project:
		p, err := literature.Project(r)
		return activities{p}, err
	case WithLags:
		p, err := literature.ProjectWithLags(r)
		return activities{p}, err
	}
	return nil, fault.New(fault.Invalid, "FORMAT_UNKNOWN", "“%s” is no format of a file to plan; there are floor, jobshop, fjsp, rcpsp and rcpspmax.", f)
}

func noPlan(format string, args ...any) error {
	return fault.New(fault.Precondition, "NO_PLAN", format, args...)
}
