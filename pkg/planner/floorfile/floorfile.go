// Package floorfile reads a floor to plan from a file of our own JSON format, shop-instance/1, and reads
// and writes plans of it, shop-schedule/1. Trade, pure.
//
//	bytes ─▶ parse: values with their lines ─▶ Read: names to indices ─▶ File: planner.Problem and the names
//	                                                                       ├─▶ Cost: what a plan costs by the format
//	planner.Plan ◀─ File.Plan ◀─ bytes          bytes ◀─ File.Write ◀──────┘
//
// Times are whole minutes after the file's epoch. An instance has calendars of windows, workers and stations
// with one each (a station's may be null: always open), pieces with operations, the ways to do these and the
// lags between them, and frozen operations, which keep their place. An operation may have a colour (from 1 on), and a
// station for one a changeover: for how many minutes it is cleaned between any two colours, or from each to each, a
// list of lists whose first row and column, of what has no colour, are 0. A malformed file is refused with its line.
package floorfile

import (
	"encoding/json"

	"tackfree/pkg/planner"
)

// The formats, as the files name them.
const (
	InstanceFormat = "shop-instance/1"
	ScheduleFormat = "shop-schedule/1"
	EpochLayout    = "2006-01-02T15:04" // of what minute 0 is
)

// File is an instance as it was read.
type File struct {
	Name    string
	Epoch   string // what minute 0 is, as the file says it
	Problem planner.Problem
	// Titles are the names of the operations, by their index; their ids are in the problem.
	Titles []string

	worker, station, piece, operation map[string]int
}

// Cost is what a plan costs by the format, the first first.
type Cost struct {
	Tardiness int `json:"wt"` // weight × minutes after the promise
	Makespan  int `json:"makespan"`
	Flow      int `json:"flow"` // minutes from release to the end, without weights
}

// schedule is a plan as the format has it.
type schedule struct {
	Format     string   `json:"format"`
	Instance   string   `json:"instance"`
	Operations []placed `json:"ops"`
	Claimed    *Cost    `json:"claimed,omitempty"`
}

type placed struct {
	Operation string  `json:"op"`
	Worker    *string `json:"worker"`
	Station   *string `json:"station"`
	Start     int     `json:"start"`
	End       int     `json:"end"`
}

// Cost gives what a plan costs; what it leaves out costs nothing.
func (f *File) Cost(plan *planner.Plan) (c Cost) {
	ends := make([]int, len(f.Problem.Pieces))
	for op, s := range plan.Slots {
		piece := f.Problem.Operations[op].Piece
		ends[piece] = max(ends[piece], s.End)
	}
	for i, p := range f.Problem.Pieces {
		c.Tardiness += int(p.Weight) * max(0, ends[i]-p.Due)
		c.Makespan = max(c.Makespan, ends[i])
		c.Flow += ends[i] - p.Release
	}
	return c
}

// Write gives a plan of the instance as a file; operations that the plan leaves out are not in it.
func (f *File) Write(plan *planner.Plan) ([]byte, error) {
	left := map[int]bool{}
	for _, u := range plan.Left {
		left[u.Operation] = true
	}
	cost := f.Cost(plan)
	out := schedule{ScheduleFormat, f.Name, []placed{}, &cost}
	for op, s := range plan.Slots {
		if left[op] {
			continue
		}
		at := placed{Operation: f.Problem.Operations[op].ID, Start: s.Start, End: s.End}
		if s.Worker != planner.NoWorker {
			at.Worker = &f.Problem.Workers[s.Worker].ID
		}
		if s.Station != planner.NoStation {
			at.Station = &f.Problem.Stations[s.Station].ID
		}
		out.Operations = append(out.Operations, at)
	}
	return json.Marshal(out)
}
