package workflow

import (
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/sentence"
)

// Swap is an offer of one person to another to take a stage, for one of theirs or for nothing.
//
//	offer ─▶ open ─ accept ─▶ accepted: the stages have changed hands
//	         open ─ decline, withdraw ─▶ declined, withdrawn: nothing has
//	         open ─ a stage is finished, sent back or given away, its piece leaves the floor ─▶ overtaken
//
// That an open one is overtaken is kept nowhere: whoever reads it looks, with Overtaken.
type Swap struct {
	ID        id.ID
	From, To  Helper
	Offered   Side
	Wanted    *Side // nil: nothing
	Note      string
	State     SwapState
	OfferedAt time.Time
	EndedAt   time.Time // zero: it is open
}

// Side is a stage of a swap, in the pass that it had when it was offered.
type Side struct {
	Piece, Stage id.ID
	Pass         int32
}

// SwapState is what a swap is.
type SwapState string

// The states of a swap.
const (
	SwapOpen      SwapState = "open"
	SwapAccepted  SwapState = "accepted"
	SwapDeclined  SwapState = "declined"
	SwapWithdrawn SwapState = "withdrawn"
	SwapOvertaken SwapState = "overtaken"
)

// Standing is a stage of a swap as it is now, on its piece.
type Standing struct {
	Piece Piece
	Stage Stage
}

// Sides are the stages of the swap, what is offered first.
func (w Swap) Sides() []Side {
	if w.Wanted == nil {
		return []Side{w.Offered}
	}
	return []Side{w.Offered, *w.Wanted}
}

// Overtaken says what is no longer as it was when the swap was offered; nil: it is open and all of it is, or it
// was ended by somebody. now are its stages, in the order of Sides.
func (w Swap) Overtaken(now []Standing) *sentence.Sentence {
	switch w.State {
	case SwapOpen:
	case SwapOvertaken:
		return ofStage(now[0].Stage, sentence.New("SWAP_REPLACED", "%s was offered anew since.", now[0].Stage.Title()))
	default:
		return nil
	}
	from, to := w.From, w.To
	for i, side := range w.Sides() {
		if s := now[i].changed(side, from, to); s != nil {
			return s
		}
		from, to = to, from
	}
	return nil
}

// changed says what has become of a side of a swap that keeps its stage from going from one to the other.
func (n Standing) changed(side Side, from, to Helper) *sentence.Sentence {
	title := n.Stage.Title()
	var s sentence.Sentence
	switch {
	case n.Piece.Scrapped || n.Piece.Sold():
		s = sentence.New("SWAP_OFF_FLOOR", "The piece of %s has left the floor.", title)
	case n.Stage.Finished():
		s = sentence.New("SWAP_FINISHED", "%s was finished.", title)
	case n.Stage.Pass() != side.Pass:
		s = sentence.New("SWAP_SENT_BACK", "%s was sent back.", title)
	case !n.Stage.Theirs(from.ID):
		s = sentence.New("SWAP_GIVEN_AWAY", "%s no longer has %s.", from.Name, title).With("person", from.Name)
	case n.Stage.Theirs(to.ID):
		s = sentence.New("SWAP_SHARED", "%s has %s by now.", to.Name, title).With("person", to.Name)
	default:
		return nil
	}
	return ofStage(n.Stage, s)
}
