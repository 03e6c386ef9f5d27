package workflow

import (
	"slices"
	"time"

	"tackfree/pkg/id"
)

// BoardState is what a piece is, by what could be done next on it and by who has it.
type BoardState string

// The states of a piece on the board. One that was given up is away first: somebody has to get
// it back.
const (
	BoardInWork    BoardState = "in work"
	BoardReady     BoardState = "ready"
	BoardDrying    BoardState = "drying"
	BoardAway      BoardState = "away" // all that could be done next is outside the shop, or nothing is left to do but to get it back
	BoardDone      BoardState = "done"
	BoardScrapped  BoardState = "scrapped"
	BoardUnplanned BoardState = "unplanned" // it has no stages yet
	BoardSold      BoardState = "sold"      // with stages left to do, or without a plan, and nobody is at work on it
)

// OnBoard is a stage that is in work, or that comes next: it is ready, dries, or is away.
type OnBoard struct {
	*Stage
	State State
	Wait  Wait
}

// Link is a stage that is not finished, and what it comes after.
type Link struct {
	ID    id.ID
	After []id.ID
}

// Begins are those stages that wait for none of the others, of all that are not finished in
// some pieces.
func Begins(open []Link) (begins []id.ID) {
	unfinished := make(map[id.ID]bool, len(open))
	for _, l := range open {
		unfinished[l.ID] = true
	}
	for _, l := range open {
		if !comesAfter(l.After, func(before id.ID) bool { return unfinished[before] }) {
			begins = append(begins, l.ID)
		}
	}
	return begins
}

// Board tells what a piece is at an instant, and its stages that are in work or come next, in
// the order of the work; of a piece that was given up none, and of one that was sold only what
// is in work. Of what is finished the plan
// need only have what Wait asks for, and of what is not only what Begins gives and what
// somebody is on the clock at.
func (p *Plan) Board(now time.Time) (BoardState, []OnBoard) {
	if p.Piece.Scrapped {
		return p.still(), nil
	}
	var next []OnBoard
	is := map[State]bool{}
	for i := range p.Stages {
		s := &p.Stages[i]
		state, wait := p.State(*s, now)
		if state == Done || state != InWork && (p.Piece.Sold() || p.waits(*s)) {
			continue
		}
		next = append(next, OnBoard{s, state, wait})
		is[state] = true
	}
	switch {
	case is[InWork]:
		return BoardInWork, next
	case is[Ready]:
		return BoardReady, next
	case is[Drying]:
		return BoardDrying, next
	}
	return p.still(), next
}

// still is what a piece is on which nobody here could go on.
func (p *Plan) still() BoardState {
	switch {
	case len(p.Away) > 0:
		return BoardAway
	case p.Piece.Scrapped:
		return BoardScrapped
	case p.Piece.Sold() && (!p.Piece.Planned || p.unfinished()):
		return BoardSold
	case p.Piece.Planned:
		return BoardDone
	}
	return BoardUnplanned
}

// unfinished reports whether any of the stages that were read is left to do.
func (p *Plan) unfinished() bool {
	return slices.ContainsFunc(p.Stages, func(s Stage) bool { return !s.Finished() })
}
