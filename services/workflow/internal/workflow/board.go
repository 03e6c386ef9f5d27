package workflow

import (
	"time"

	"tackfree/pkg/id"
)

// BoardState is what a piece is, by what could be done next on it.
type BoardState string

// The states of a piece on the board.
const (
	BoardInWork   BoardState = "in work"
	BoardReady    BoardState = "ready"
	BoardDrying   BoardState = "drying"
	BoardAway     BoardState = "away" // all that could be done next is outside the shop
	BoardDone     BoardState = "done"
	BoardScrapped BoardState = "scrapped"
)

// OnBoard is a stage that is in work, ready or drying.
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

// Board tells what a piece is at an instant, and its stages that are in work, ready or drying
// in the order of the work; of a piece that was given up none. Of what is finished the plan
// need only have what Wait asks for, and of what is not only what Begins gives and what
// somebody is on the clock at.
func (p *Plan) Board(now time.Time) (BoardState, []OnBoard) {
	if p.Piece.Scrapped {
		return BoardScrapped, nil
	}
	var next []OnBoard
	open, here := false, map[State]bool{}
	for i := range p.Stages {
		s := &p.Stages[i]
		state, wait := p.State(*s, now)
		open = open || state != Done
		if state == Done || state == Waiting {
			continue
		}
		next = append(next, OnBoard{s, state, wait})
		here[state] = here[state] || state == InWork || !p.isAway(*s)
	}
	switch {
	case !open:
		return BoardDone, nil
	case here[InWork]:
		return BoardInWork, next
	case here[Ready]:
		return BoardReady, next
	case here[Drying]:
		return BoardDrying, next
	}
	return BoardAway, next
}
