package server

import (
	"context"

	"tackfree/pkg/id"
	"tackfree/pkg/once"
	"tackfree/pkg/pg"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

// AnswerSwap implements SwapService.
func (s *Server) AnswerSwap(ctx context.Context, r *workflowv1.AnswerSwapRequest) (*workflowv1.AnswerSwapResponse, error) {
	swap, person, err := swapOf(r.Swap, r.Person)
	if err != nil {
		return nil, err
	}
	return once.Do(ctx, s.DB, r, s.Shop.Now(), func(ctx context.Context, tx *pg.Tx) (*workflowv1.AnswerSwapResponse, error) {
		w, err := s.lockKnown(ctx, tx, swap, person)
		if err != nil {
			return nil, err
		}
		if r.Accept {
			err = w.accept(ctx, s, tx, person)
		} else {
			err = w.swap.Decline(w.people[person], w.givings, w.at)
		}
		if err != nil {
			return nil, err
		}
		out, err := w.ended(ctx, s, tx)
		return &workflowv1.AnswerSwapResponse{Swap: out}, err
	})
}

// WithdrawSwap implements SwapService.
func (s *Server) WithdrawSwap(ctx context.Context, r *workflowv1.WithdrawSwapRequest) (*workflowv1.WithdrawSwapResponse, error) {
	swap, person, err := swapOf(r.Swap, r.Person)
	if err != nil {
		return nil, err
	}
	return once.Do(ctx, s.DB, r, s.Shop.Now(), func(ctx context.Context, tx *pg.Tx) (*workflowv1.WithdrawSwapResponse, error) {
		w, err := s.lockKnown(ctx, tx, swap, person)
		if err != nil {
			return nil, err
		}
		if err := w.swap.Withdraw(w.people[person], w.givings, w.at); err != nil {
			return nil, err
		}
		out, err := w.ended(ctx, s, tx)
		return &workflowv1.WithdrawSwapResponse{Swap: out}, err
	})
}

func swapOf(name, by string) (swap, person id.ID, err error) {
	if swap, err = id.One("swap", name, "swaps"); err != nil {
		return swap, person, err
	}
	person, err = id.One("person", by, "people")
	return swap, person, err
}

// lockKnown is lockSwap of one that was offered, and is ended by a person. Whose it is and of which stages never
// changes; what it has come to is read again under lock. Faults: SWAP_NOT_FOUND, PERSON_NOT_FOUND.
func (s *Server) lockKnown(ctx context.Context, tx *pg.Tx, swap, person id.ID) (*swapping, error) {
	known, err := store.New(tx).Swap(ctx, swap)
	if err != nil {
		return nil, err
	}
	w, err := s.lockSwap(ctx, tx, known, person)
	if err != nil {
		return nil, err
	}
	w.swap, err = w.st.Swap(ctx, swap)
	return w, err
}

// accept has the stages change hands, and tells who has them.
func (w *swapping) accept(ctx context.Context, s *Server, tx *pg.Tx, person id.ID) error {
	stages, err := w.swap.Accept(w.people[person], w.givings, w.at)
	if err == nil {
		err = w.mayUse(ctx)
	}
	if err != nil {
		return err
	}
	for i, stage := range stages {
		plan := w.givings[i].Plan
		plan.Piece.Version++
		if err := w.st.KeepByHand(ctx, stage.ID); err != nil { // from now on no plan gives it to somebody else
			return err
		}
		if err := s.save(ctx, tx, plan, change{event: stageAssigned(*stage), stages: []*workflow.Stage{stage}}, w.at, w.at); err != nil {
			return err
		}
	}
	return nil
}

// ended keeps how the swap ended, and tells it.
func (w *swapping) ended(ctx context.Context, s *Server, tx *pg.Tx) (*workflowv1.Swap, error) {
	if err := w.st.EndSwap(ctx, w.swap); err != nil {
		return nil, err
	}
	if err := w.tell(ctx, s, tx, w.swapEnded()); err != nil {
		return nil, err
	}
	return w.encode()
}
