package server

import (
	"context"
	"time"

	"google.golang.org/protobuf/proto"

	"tackfree/pkg/caller"
	"tackfree/pkg/id"
	"tackfree/pkg/once"
	"tackfree/pkg/pg"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

// swapping is a swap, and under lock all that it is decided from.
type swapping struct {
	st      store.Store
	swap    workflow.Swap // of one that is still to be offered, who and which stages
	people  map[id.ID]workflow.Person
	givings []workflow.Giving // in the order of the swap's sides
	at      time.Time         // in the shop's zone
}

// lockSwap locks the people of a swap, and after them the pieces of its stages, and reads them with the pins. Two
// stages of one piece are on one plan. Faults: PERSON_NOT_FOUND, STAGE_NOT_FOUND.
func (s *Server) lockSwap(ctx context.Context, tx *pg.Tx, swap workflow.Swap, also ...id.ID) (*swapping, error) {
	w := &swapping{st: store.New(tx), swap: swap, at: s.Shop.Now().Truncate(time.Millisecond).In(s.Shop.Zone)}
	var err error
	if w.people, err = w.st.LockPeople(ctx, append(also, swap.From.ID, swap.To.ID)...); err != nil {
		return nil, err
	}
	var pieces []id.ID
	for _, side := range swap.Sides() {
		pieces = append(pieces, side.Piece)
	}
	if _, err = w.st.Pieces(ctx, pieces); err != nil {
		return nil, err
	}
	return w, w.read(ctx)
}

// read reads the givings of what is locked.
func (w *swapping) read(ctx context.Context) error {
	plans := map[id.ID]*workflow.Plan{}
	from, to := w.people[w.swap.From.ID], w.people[w.swap.To.ID]
	for _, side := range w.swap.Sides() {
		if plans[side.Piece] == nil {
			plan, err := w.st.Plan(ctx, side.Piece)
			if err != nil {
				return err
			}
			plans[side.Piece] = &plan
		}
		pin, err := w.st.PinOf(ctx, side.Stage)
		if err != nil {
			return err
		}
		w.givings = append(w.givings, workflow.Giving{Plan: plans[side.Piece], Stage: side.Stage, From: from, To: to, Pin: pin})
		from, to = to, from
	}
	return nil
}

// mayUse refuses a person who gets a stage and may use no station at which it is done. Fault: STATION_NOT_ALLOWED.
func (w *swapping) mayUse(ctx context.Context) error {
	for _, g := range w.givings {
		stage, err := g.Plan.Stage(g.Stage)
		if err != nil {
			return err
		}
		if err := mayUse(ctx, w.st, g.To, *stage, ""); err != nil {
			return err
		}
	}
	return nil
}

// tell writes an event of the piece whose stage is offered.
func (w *swapping) tell(ctx context.Context, s *Server, tx *pg.Tx, event proto.Message) error {
	piece := &w.givings[0].Plan.Piece
	piece.Version++
	return s.noteOfPlan(ctx, tx, *piece, w.at, event)
}

// OfferSwap implements SwapService.
func (s *Server) OfferSwap(ctx context.Context, r *workflowv1.OfferSwapRequest) (*workflowv1.OfferSwapResponse, error) {
	now := s.Shop.Now()
	asked, err := decodeSwap(r)
	if err != nil {
		return nil, err
	}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*workflowv1.OfferSwapResponse, error) {
		w, err := s.lockSwap(ctx, tx, asked)
		if err != nil {
			return nil, err
		}
		if err := w.offer(ctx); err != nil {
			return nil, err
		}
		if err := w.st.InsertSwap(ctx, w.swap, caller.Of(ctx).Actor); err != nil {
			return nil, err
		}
		out, err := w.encode()
		if err != nil {
			return nil, err
		}
		return &workflowv1.OfferSwapResponse{Swap: out}, w.tell(ctx, s, tx, w.offered())
	})
}

// offer makes the offer. One of the same stage that was overtaken gives way to it.
func (w *swapping) offer(ctx context.Context) error {
	open, err := w.st.OpenSwap(ctx, w.swap.Offered.Stage)
	if err != nil {
		return err
	}
	var overtaken *workflow.Swap
	if open != nil {
		stands, err := stillOpen(ctx, w.st, *open)
		if err != nil {
			return err
		}
		if !stands {
			open, overtaken = nil, open
		}
	}
	made, err := workflow.OfferSwap(id.New(), w.givings, open, w.swap.Note, w.at)
	if err == nil {
		err = w.mayUse(ctx)
	}
	if err != nil {
		return err
	}
	w.swap = made
	if overtaken == nil {
		return nil
	}
	overtaken.Replace(w.at)
	return w.st.EndSwap(ctx, *overtaken)
}

// stillOpen reports whether all is as it was when an open swap was offered.
func stillOpen(ctx context.Context, st store.Store, open workflow.Swap) (bool, error) {
	standings, err := st.Standings(ctx, open)
	if err != nil {
		return false, err
	}
	return open.Overtaken(standingsOf(open, standings)) == nil, nil
}

func decodeSwap(r *workflowv1.OfferSwapRequest) (w workflow.Swap, err error) {
	w.Note = r.Note
	if w.From.ID, err = id.One("person", r.Person, "people"); err != nil {
		return w, err
	}
	if w.To.ID, err = id.One("to_person", r.ToPerson, "people"); err != nil {
		return w, err
	}
	if w.Offered.Piece, w.Offered.Stage, err = stageName("stage", r.Stage); err != nil || r.ForStage == "" {
		return w, err
	}
	w.Wanted = &workflow.Side{}
	w.Wanted.Piece, w.Wanted.Stage, err = stageName("for_stage", r.ForStage)
	return w, err
}
