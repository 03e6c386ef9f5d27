package store

import (
	"context"
	"errors"
	"time"

	"github.com/jackc/pgx/v5"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/services/workflow/internal/planning"
	"tackfree/services/workflow/internal/store/storedb"
	"tackfree/services/workflow/internal/workflow"
)

// PutRefusal writes that somebody does not want a stage, in the place of what they said of it before.
func (s Store) PutRefusal(ctx context.Context, r workflow.StageRefusal, actor string, now time.Time) error {
	return s.q.PutRefusal(ctx, storedb.PutRefusalParams{StageID: r.Stage, PersonID: r.Person, Pass: r.Pass, Reason: r.Reason, Actor: actor, RefusedAt: now})
}

// deleteRefusals takes back that people who have a stage do not want it.
func (s Store) deleteRefusals(ctx context.Context, st workflow.Stage) error {
	if st.Assignee == id.Nil || st.Finished() {
		return nil
	}
	people := append([]id.ID{st.Assignee}, helperIDs(st.Helpers)...)
	return s.q.DeleteRefusals(ctx, storedb.DeleteRefusalsParams{StageID: st.ID, People: people})
}

// RefusedBy reads the stages that a person does not want.
func (s Store) RefusedBy(ctx context.Context, person id.ID) (map[id.ID]bool, error) {
	rows, err := s.q.Refusals(ctx, nullable(person))
	stages := make(map[id.ID]bool, len(rows))
	for _, row := range rows {
		stages[row.StageID] = true
	}
	return stages, err
}

func (s Store) planningRefused(ctx context.Context, f *planning.Facts) error {
	rows, err := s.q.Refusals(ctx, nullable(id.Nil))
	f.Refused = make(map[id.ID][]id.ID, len(rows))
	for _, row := range rows {
		f.Refused[row.StageID] = append(f.Refused[row.StageID], row.PersonID)
	}
	return err
}

// InsertSwap writes a new offer. Fault: SWAP_OPEN.
func (s Store) InsertSwap(ctx context.Context, w workflow.Swap, actor string) error {
	p := storedb.InsertSwapParams{ID: w.ID, FromID: w.From.ID, ToID: w.To.ID, StageID: w.Offered.Stage, Pass: w.Offered.Pass, Note: w.Note, State: string(w.State),
		OfferedAt: w.OfferedAt, Actor: actor}
	if w.Wanted != nil {
		p.ForStageID, p.ForPass = nullable(w.Wanted.Stage), w.Wanted.Pass
	}
	return s.q.InsertSwap(ctx, p)
}

// EndSwap writes how and when a swap ended.
func (s Store) EndSwap(ctx context.Context, w workflow.Swap) error {
	return s.q.EndSwap(ctx, storedb.EndSwapParams{ID: w.ID, State: string(w.State), EndedAt: &w.EndedAt})
}

// Swap reads an offer. Fault: SWAP_NOT_FOUND.
func (s Store) Swap(ctx context.Context, swap id.ID) (workflow.Swap, error) {
	row, err := s.q.GetSwap(ctx, swap)
	if errors.Is(err, pgx.ErrNoRows) {
		return workflow.Swap{}, fault.New(fault.NotFound, "SWAP_NOT_FOUND", "There is no such offer; look at the list of what is offered.").At("swap")
	}
	return fromSwap(row), err
}

// OpenSwap reads the open offer of a stage, overtaken or not; nil: it has none.
func (s Store) OpenSwap(ctx context.Context, stage id.ID) (*workflow.Swap, error) {
	row, err := s.q.OpenSwapOf(ctx, stage)
	if errors.Is(err, pgx.ErrNoRows) {
		return nil, nil
	}
	w := fromSwap(row)
	return &w, err
}

// Swaps reads up to limit offers to and from a person, older than one, id.Nil for the newest: open ones, those that
// ended since an instant, and of those that were overtaken such as were offered since.
func (s Store) Swaps(ctx context.Context, person id.ID, since time.Time, before id.ID, limit int32) ([]workflow.Swap, error) {
	rows, err := s.q.ListSwaps(ctx, storedb.ListSwapsParams{Person: person, Since: since, Before: nullable(before), PageLimit: limit})
	swaps := make([]workflow.Swap, len(rows))
	for i, row := range rows {
		swaps[i] = fromSwap(row)
	}
	return swaps, err
}

// Standings reads the stages of swaps as they are now, by stage.
func (s Store) Standings(ctx context.Context, swaps ...workflow.Swap) (map[id.ID]workflow.Standing, error) {
	var stages, pieces []id.ID
	for _, w := range swaps {
		for _, side := range w.Sides() {
			stages, pieces = append(stages, side.Stage), append(pieces, side.Piece)
		}
	}
	rows, err := s.q.PiecesByID(ctx, notNil(pieces))
	if err != nil {
		return nil, err
	}
	of := make(map[id.ID]workflow.Piece, len(rows))
	for _, row := range rows {
		of[row.ID] = fromPiece(row)
	}
	found, err := s.q.StagesByID(ctx, notNil(stages))
	out := make(map[id.ID]workflow.Standing, len(found))
	for _, row := range found {
		stage, err := fromStage(storedb.StagesOfRow(row))
		if err != nil {
			return nil, err
		}
		out[stage.ID] = workflow.Standing{Piece: of[stage.Piece], Stage: stage}
	}
	return out, err
}

func fromSwap(row storedb.Swap) workflow.Swap {
	w := workflow.Swap{ID: row.ID, From: workflow.Helper{ID: row.FromID, Name: row.FromName}, To: workflow.Helper{ID: row.ToID, Name: row.ToName},
		Offered: workflow.Side{Piece: row.PieceID, Stage: row.StageID, Pass: row.Pass}, Note: row.Note, State: workflow.SwapState(row.State),
		OfferedAt: row.OfferedAt, EndedAt: orZero(row.EndedAt)}
	if row.ForStageID.Valid {
		w.Wanted = &workflow.Side{Piece: row.ForPieceID.UUID, Stage: row.ForStageID.UUID, Pass: row.ForPass}
	}
	return w
}
