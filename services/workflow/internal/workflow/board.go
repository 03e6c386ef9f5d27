package workflow

import "time"

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

// Board tells what a piece is at an instant, and its stages that are in work, ready or drying
// in the order of the work; of a piece that was given up none. Of what is finished the plan
// need only have what Wait asks for.
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
