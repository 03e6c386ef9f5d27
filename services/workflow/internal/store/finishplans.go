package store

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"

	"github.com/jackc/pgx/v5"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/services/workflow/internal/store/storedb"
	"tackfree/services/workflow/internal/workflow"
)

var errNoFinishPlan = fault.New(fault.NotFound, "PLAN_NOT_FOUND", "There is no such finish plan; draft one first.").At("piece")

// NewestFinishPlan reads the newest version of a piece's finish plan. Fault: PLAN_NOT_FOUND.
func (s Store) NewestFinishPlan(ctx context.Context, piece id.ID) (workflow.FinishPlan, error) {
	row, err := s.q.NewestFinishPlan(ctx, piece)
	return fromFinishPlan(row, err)
}

// FinishPlan reads a version of a piece's finish plan. Fault: PLAN_NOT_FOUND.
func (s Store) FinishPlan(ctx context.Context, piece id.ID, version int32) (workflow.FinishPlan, error) {
	row, err := s.q.FinishPlanByVersion(ctx, storedb.FinishPlanByVersionParams{PieceID: piece, Version: version})
	return fromFinishPlan(row, err)
}

// SaveDraft writes a draft in the place of the one before, as the version after the newest.
func (s Store) SaveDraft(ctx context.Context, p *workflow.FinishPlan) error {
	newest, err := s.NewestFinishPlan(ctx, p.Piece)
	if err != nil && !fault.Is(err, "PLAN_NOT_FOUND") {
		return err
	}
	p.Version = newest.Version + 1
	if err := s.q.DeleteDraft(ctx, p.Piece); err != nil {
		return err
	}
	return s.insertFinishPlan(ctx, *p)
}

// ApproveDraft writes that a draft was approved, as it now is.
func (s Store) ApproveDraft(ctx context.Context, p workflow.FinishPlan) error {
	body, err := json.Marshal(p.PlanBody)
	if err != nil {
		return err
	}
	return s.q.ApproveDraft(ctx, storedb.ApproveDraftParams{PieceID: p.Piece, Version: p.Version, Body: body, Actor: p.Actor, ApprovedAt: orNull(p.ApprovedAt)})
}

// Supersede writes an approved version in the place of the one before, which is kept.
func (s Store) Supersede(ctx context.Context, p workflow.FinishPlan) error {
	if err := s.q.SupersedeFinishPlan(ctx, p.Piece); err != nil {
		return err
	}
	return s.insertFinishPlan(ctx, p)
}

func (s Store) insertFinishPlan(ctx context.Context, p workflow.FinishPlan) error {
	body, err := json.Marshal(p.PlanBody)
	if err != nil {
		return err
	}
	return s.q.InsertFinishPlan(ctx, storedb.InsertFinishPlanParams{PieceID: p.Piece, Version: p.Version, State: string(p.State), Body: body,
		Reason: p.Reason, Actor: p.Actor, DraftedAt: p.DraftedAt, ApprovedAt: orNull(p.ApprovedAt)})
}

func fromFinishPlan(row storedb.FinishPlan, err error) (workflow.FinishPlan, error) {
	if errors.Is(err, pgx.ErrNoRows) {
		return workflow.FinishPlan{}, errNoFinishPlan
	}
	if err != nil {
		return workflow.FinishPlan{}, err
	}
	p := workflow.FinishPlan{Piece: row.PieceID, Version: row.Version, State: workflow.PlanState(row.State), Reason: row.Reason, Actor: row.Actor,
		DraftedAt: row.DraftedAt, ApprovedAt: orZero(row.ApprovedAt)}
	if err := json.Unmarshal(row.Body, &p.PlanBody); err != nil {
		return p, fmt.Errorf("finish plan %d of piece %s: %w", row.Version, row.PieceID, err)
	}
	return p, nil
}

// Begun tells which stages of a piece cannot be changed any more: finished, sent back, given
// to others, or with any clock entry.
func (s Store) Begun(ctx context.Context, piece id.ID) (map[id.ID]bool, error) {
	rows, err := s.q.BegunStages(ctx, piece)
	begun := make(map[id.ID]bool, len(rows))
	for _, stage := range rows {
		begun[stage] = true
	}
	return begun, err
}

// Amend writes what an amended plan makes of a piece's stages. Two stages never have one
// place, so all leave theirs before they are given the new ones.
func (s Store) Amend(ctx context.Context, a workflow.Amendment) error {
	if err := s.q.ClearPlaces(ctx, a.Plan.Piece); err != nil {
		return err
	}
	if err := s.q.DeleteStages(ctx, notNil(a.Dropped)); err != nil {
		return err
	}
	for _, st := range a.Kept {
		if err := s.revise(ctx, st); err != nil {
			return err
		}
	}
	return s.InsertStages(ctx, a.Added)
}

func (s Store) revise(ctx context.Context, st workflow.Stage) error {
	coating, err := toJSON(st.Coating)
	if err != nil {
		return err
	}
	return s.q.ReviseStage(ctx, storedb.ReviseStageParams{
		ID: st.ID, Position: st.Position, Skill: st.Skill, AttendedMinutes: minutes(st.Attended), UnattendedMinutes: minutes(st.Unattended), AfterIds: notNil(st.After),
		Grit: st.Grit, ProductID: nullable(st.Product), ProductName: st.ProductName, Station: st.Station, Needs: string(st.Needs),
		LatestMinutes: minutes(st.Latest), Cautions: notNil(st.Cautions), DisturbsOld: st.DisturbsOld, Why: st.Why, ZoneID: nullable(st.Zone),
		Coating: coating, WetFilmUm: st.WetFilmUm, AreaM2: st.AreaM2})
}
