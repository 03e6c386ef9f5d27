package server

import (
	"tackfree/pkg/id"
	"tackfree/pkg/wire"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/workflow/internal/workflow"
)

var swapStates = map[workflow.SwapState]workflowv1.Swap_State{
	workflow.SwapOpen: workflowv1.Swap_STATE_OPEN, workflow.SwapAccepted: workflowv1.Swap_STATE_ACCEPTED, workflow.SwapDeclined: workflowv1.Swap_STATE_DECLINED,
	workflow.SwapWithdrawn: workflowv1.Swap_STATE_WITHDRAWN, workflow.SwapOvertaken: workflowv1.Swap_STATE_OVERTAKEN,
}

// encodeSwap writes a swap; now are its stages, in the order of its sides.
func encodeSwap(w workflow.Swap, now []workflow.Standing) *workflowv1.Swap {
	out := &workflowv1.Swap{
		Name: id.Name("swaps", w.ID), State: swapStates[w.State], Note: w.Note,
		Person: id.Name("people", w.From.ID), PersonName: w.From.Name, ToPerson: id.Name("people", w.To.ID), ToPersonName: w.To.Name,
		Offered: encodeSide(now[0]), OfferTime: wire.ToInstant(w.OfferedAt), EndTime: wire.ToInstant(w.EndedAt),
	}
	if w.Wanted != nil {
		out.Wanted = encodeSide(now[1])
	}
	if changed := w.Overtaken(now); changed != nil {
		out.State, out.Text, out.Said = workflowv1.Swap_STATE_OVERTAKEN, changed.Text, wire.ToSaid(*changed)
	}
	return out
}

func encodeSide(now workflow.Standing) *workflowv1.Swap_Side {
	s := now.Stage
	return &workflowv1.Swap_Side{Stage: id.Name("pieces", s.Piece, "stages", s.ID), Piece: id.Name("pieces", s.Piece), PieceTag: now.Piece.Tag,
		Title: s.Title(), Kind: s.Kind, PartLabel: s.PartLabel}
}

// standingsOf are the stages of a swap in the order of its sides.
func standingsOf(w workflow.Swap, by map[id.ID]workflow.Standing) (now []workflow.Standing) {
	for _, side := range w.Sides() {
		now = append(now, by[side.Stage])
	}
	return now
}

// encode writes the swap with its stages as they are under lock.
func (w *swapping) encode() (*workflowv1.Swap, error) {
	now := make([]workflow.Standing, len(w.givings))
	for i, g := range w.givings {
		var err error
		if now[i], err = g.Standing(); err != nil {
			return nil, err
		}
	}
	return encodeSwap(w.swap, now), nil
}

func stageRefused(s workflow.Stage, r workflow.StageRefusal, who workflow.Person) *eventsv1.StageRefused {
	return &eventsv1.StageRefused{StageId: s.ID.String(), Kind: s.Kind, PersonId: who.ID.String(), PersonName: who.Name, Pass: r.Pass, Reason: r.Reason}
}

func (w *swapping) offered() *eventsv1.SwapOffered {
	s := w.swap
	e := &eventsv1.SwapOffered{SwapId: s.ID.String(), PersonId: s.From.ID.String(), PersonName: s.From.Name, ToPersonId: s.To.ID.String(), ToPersonName: s.To.Name,
		StageId: s.Offered.Stage.String(), Kind: w.kind(0), Note: s.Note}
	if s.Wanted != nil {
		e.ForStageId, e.ForKind, e.ForPieceId = s.Wanted.Stage.String(), w.kind(1), s.Wanted.Piece.String()
	}
	return e
}

func (w *swapping) swapEnded() *eventsv1.SwapEnded {
	o := w.offered()
	return &eventsv1.SwapEnded{SwapId: o.SwapId, Outcome: string(w.swap.State), PersonId: o.PersonId, PersonName: o.PersonName, ToPersonId: o.ToPersonId, ToPersonName: o.ToPersonName,
		StageId: o.StageId, Kind: o.Kind, ForStageId: o.ForStageId, ForKind: o.ForKind, ForPieceId: o.ForPieceId}
}

// kind is that of the stage of a side, which was found before.
func (w *swapping) kind(side int) string {
	if s, err := w.givings[side].Plan.Stage(w.givings[side].Stage); err == nil {
		return s.Kind
	}
	return ""
}
