package workflow

import (
	"time"

	"tackfree/pkg/fault"
)

// Accept ends an open swap by the one who was asked, and has its stages change hands; each is on a plan of its own
// or two are on one. now are its stages, in the order of Sides. Faults: SWAP_OF_OTHERS, SWAP_ENDED, and of each
// giving those of Giving.May.
func (w *Swap) Accept(by Person, now []Giving, at time.Time) ([]*Stage, error) {
	if err := w.mayBeEnded(by, w.To, now, at); err != nil {
		return nil, err
	}
	stages := make([]*Stage, len(now))
	for i, g := range now {
		var err error
		if stages[i], err = g.May(at); err != nil {
			return nil, err
		}
	}
	for i, g := range now {
		if err := stages[i].pass(g.From, g.To); err != nil {
			return nil, err
		}
	}
	w.end(SwapAccepted, at)
	return stages, nil
}

// Decline ends an open swap by the one who was asked. Faults: SWAP_OF_OTHERS, SWAP_ENDED.
func (w *Swap) Decline(by Person, now []Giving, at time.Time) error {
	if err := w.mayBeEnded(by, w.To, now, at); err != nil {
		return err
	}
	w.end(SwapDeclined, at)
	return nil
}

// Withdraw ends an open swap by the one who asked. Faults: SWAP_OF_OTHERS, SWAP_ENDED.
func (w *Swap) Withdraw(by Person, now []Giving, at time.Time) error {
	if err := w.mayBeEnded(by, w.From, now, at); err != nil {
		return err
	}
	w.end(SwapWithdrawn, at)
	return nil
}

// Replace ends an open swap that was overtaken, in favour of a later one of its stage.
func (w *Swap) Replace(at time.Time) { w.end(SwapOvertaken, at) }

func (w *Swap) end(as SwapState, at time.Time) {
	w.State, w.EndedAt = as, latest(at, w.OfferedAt)
}

// mayBeEnded refuses to end a swap by another than who may, or one that has ended.
func (w *Swap) mayBeEnded(by Person, who Helper, now []Giving, at time.Time) error {
	if by.ID != who.ID {
		return fault.New(fault.Precondition, "SWAP_OF_OTHERS", "This is for %s to say, not for %s.", who.Name, by.Name).At("person")
	}
	standings := make([]Standing, len(now))
	for i, g := range now {
		var err error
		if standings[i], err = g.Standing(); err != nil {
			return err
		}
	}
	changed := w.Overtaken(standings)
	switch {
	case changed != nil:
		return fault.New(fault.Precondition, "SWAP_ENDED", "This offer has ended by itself: %s Make another one.", changed.Text)
	case w.State != SwapOpen:
		return fault.New(fault.Precondition, "SWAP_ENDED", "This offer was %s on %s. Make another one.", w.State, saidLike(w.EndedAt, at))
	}
	return nil
}
