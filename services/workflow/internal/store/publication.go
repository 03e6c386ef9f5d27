package store

import (
	"context"
	"encoding/json"
	"errors"
	"time"

	"github.com/jackc/pgx/v5"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/services/workflow/internal/planning"
	"tackfree/services/workflow/internal/store/storedb"
)

// proposals are kept for so long.
const proposalKept = 24 * time.Hour

// place is a stage's place as proposals keep it.
type place struct {
	Piece   id.ID     `json:"piece"`
	Stage   id.ID     `json:"stage"`
	Pass    int32     `json:"pass"`
	Person  id.ID     `json:"person"`
	Station id.ID     `json:"station"`
	Start   time.Time `json:"start"`
	End     time.Time `json:"end"`
}

// Proposal is a plan that can be published.
type Proposal struct {
	ID     id.ID
	After  int64 // the publication that it began from
	Stages []planning.Told
}

// Publication is the plan that people know; the zero one: none.
type Publication struct {
	Version int64
	ID      id.ID
	At      time.Time
	LastDay time.Time // midnight in UTC: what begins by then was assigned
}

// PutProposal keeps a proposal for a day, and drops those that are older.
func (s Store) PutProposal(ctx context.Context, p Proposal, actor string, now time.Time) error {
	stages := make([]place, len(p.Stages))
	for i, t := range p.Stages {
		stages[i] = place(t)
	}
	body, err := json.Marshal(stages)
	if err != nil {
		return err
	}
	if err := s.q.DropProposals(ctx, now.Add(-proposalKept)); err != nil {
		return err
	}
	return s.q.PutProposal(ctx, storedb.PutProposalParams{ID: p.ID, MadeAt: now, Actor: actor, After: p.After, Stages: body})
}

// Proposal reads one. Fault: PROPOSAL_NOT_FOUND.
func (s Store) Proposal(ctx context.Context, which id.ID, now time.Time) (p Proposal, err error) {
	row, err := s.q.Proposal(ctx, storedb.ProposalParams{ID: which, Since: now.Add(-proposalKept)})
	if errors.Is(err, pgx.ErrNoRows) {
		return p, fault.New(fault.NotFound, "PROPOSAL_NOT_FOUND", "There is no such proposal, or it is older than a day; have a plan proposed and publish that.").At("proposal")
	}
	if err != nil {
		return p, err
	}
	var stages []place
	if err := json.Unmarshal(row.Stages, &stages); err != nil {
		return p, err
	}
	p = Proposal{ID: row.ID, After: row.After, Stages: make([]planning.Told, len(stages))}
	for i, st := range stages {
		p.Stages[i] = planning.Told(st)
	}
	return p, nil
}

// LockPublication has others wait who publish.
func (s Store) LockPublication(ctx context.Context) error { return s.q.LockPublication(ctx) }

// Publication reads the last one.
func (s Store) Publication(ctx context.Context) (Publication, error) {
	row, err := s.q.Publication(ctx)
	if errors.Is(err, pgx.ErrNoRows) {
		return Publication{}, nil
	}
	return Publication{row.Version, row.ID, row.PublishedAt, row.LastDay}, err
}

// Publish puts a plan in the place of the one that people know.
func (s Store) Publish(ctx context.Context, p Publication, plan []planning.Told, actor string) error {
	if err := s.q.PutPublication(ctx, storedb.PutPublicationParams{Version: p.Version, ID: p.ID, PublishedAt: p.At, Actor: actor, LastDay: p.LastDay}); err != nil {
		return err
	}
	if err := s.q.ForgetPlan(ctx); err != nil {
		return err
	}
	var rows storedb.PutPlanParams
	for _, t := range plan {
		rows.StageIds, rows.Passes = append(rows.StageIds, t.Stage), append(rows.Passes, t.Pass)
		rows.PersonIds, rows.StationIds = append(rows.PersonIds, t.Person), append(rows.StationIds, t.Station)
		rows.StartAt, rows.EndAt = append(rows.StartAt, t.Start), append(rows.EndAt, t.End)
	}
	return s.q.PutPlan(ctx, rows)
}

// Told reads what people know of stages that are not finished, by stage.
func (s Store) Told(ctx context.Context) (map[id.ID]planning.Told, error) {
	rows, err := s.q.PlannedStages(ctx)
	told := make(map[id.ID]planning.Told, len(rows))
	for _, row := range rows {
		told[row.StageID] = planning.Told{Piece: row.PieceID, Stage: row.StageID, Pass: row.Pass, Person: row.PersonID.UUID, Station: row.StationID.UUID,
			Start: row.StartAt, End: row.EndAt}
	}
	return told, err
}

// PlannedFor reads when somebody begins stages by the plan that people know, by stage.
func (s Store) PlannedFor(ctx context.Context, person id.ID) (map[id.ID]time.Time, error) {
	rows, err := s.q.PlannedFor(ctx, person)
	planned := make(map[id.ID]time.Time, len(rows))
	for _, row := range rows {
		planned[row.StageID] = row.StartAt
	}
	return planned, err
}

// GivenByPlan reads who has stages that are not finished because a plan gave them, or had them so, by piece and stage.
func (s Store) GivenByPlan(ctx context.Context) (map[id.ID]map[id.ID]id.ID, error) {
	rows, err := s.q.GivenByPlan(ctx)
	given := map[id.ID]map[id.ID]id.ID{}
	for _, row := range rows {
		if given[row.PieceID] == nil {
			given[row.PieceID] = map[id.ID]id.ID{}
		}
		given[row.PieceID][row.StageID] = row.PersonID
	}
	return given, err
}

// GivenByPlanOf reads the same of one piece, by stage.
func (s Store) GivenByPlanOf(ctx context.Context, piece id.ID) (map[id.ID]id.ID, error) {
	rows, err := s.q.GivenByPlanOf(ctx, piece)
	given := make(map[id.ID]id.ID, len(rows))
	for _, row := range rows {
		given[row.StageID] = row.PersonID
	}
	return given, err
}

// GiveByPlan notes that somebody has a stage because a plan gave it to them.
func (s Store) GiveByPlan(ctx context.Context, stage, person id.ID) error {
	return s.q.GiveByPlan(ctx, storedb.GiveByPlanParams{StageID: stage, PersonID: person})
}

// KeepByHand has a stage be whose it is by hand, whatever plans gave.
func (s Store) KeepByHand(ctx context.Context, stage id.ID) error { return s.q.KeepByHand(ctx, stage) }
