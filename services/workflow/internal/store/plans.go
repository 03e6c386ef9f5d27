package store

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"tackfree/pkg/fault"
	"tackfree/pkg/finish"
	"tackfree/pkg/id"
	"tackfree/services/workflow/internal/store/storedb"
	"tackfree/services/workflow/internal/workflow"
)

var errNoStage = fault.New(fault.NotFound, "STAGE_NOT_FOUND", "There is no such stage; look at the stages of the piece.").At("stage")

// LockNewPiece makes the floor's row of a piece if there is none, locks it and reads it.
// The floor learns its tag and when it came in.
func (s Store) LockNewPiece(ctx context.Context, piece id.ID, tag int32, takenIn time.Time) (workflow.Piece, error) {
	if err := s.q.EnsurePiece(ctx, storedb.EnsurePieceParams{ID: piece, Tag: tag, TakenInAt: orNull(takenIn)}); err != nil {
		return workflow.Piece{}, err
	}
	if err := s.q.LockPiece(ctx, piece); err != nil {
		return workflow.Piece{}, err
	}
	row, err := s.q.GetPiece(ctx, piece)
	return fromPiece(row), err
}

// LockPlan locks a piece and reads its plan. Fault: STAGE_NOT_FOUND, when the floor does
// not know the piece.
func (s Store) LockPlan(ctx context.Context, piece id.ID) (workflow.Plan, error) {
	if err := s.q.LockPiece(ctx, piece); err != nil {
		return workflow.Plan{}, err
	}
	return s.Plan(ctx, piece)
}

// Plan reads a piece's plan. Fault: STAGE_NOT_FOUND.
func (s Store) Plan(ctx context.Context, piece id.ID) (workflow.Plan, error) {
	row, err := s.q.GetPiece(ctx, piece)
	if errors.Is(err, pgx.ErrNoRows) {
		return workflow.Plan{}, errNoStage
	}
	if err != nil {
		return workflow.Plan{}, err
	}
	p := workflow.Plan{Piece: fromPiece(row), OnIt: map[id.ID][]string{}}
	stages, err := s.q.StagesOf(ctx, piece)
	if err != nil {
		return p, err
	}
	for _, row := range stages {
		st, err := fromStage(row)
		if err != nil {
			return p, err
		}
		p.Stages = append(p.Stages, st)
	}
	clocks, err := s.q.OnTheClock(ctx, piece)
	for _, row := range clocks {
		p.OnIt[row.StageID] = append(p.OnIt[row.StageID], row.DisplayName)
	}
	if err != nil {
		return p, err
	}
	if p.Away, err = s.q.AwayParts(ctx, piece); err != nil {
		return p, err
	}
	p.Clocks, err = s.DryClocksOf(ctx, piece)
	p.Kept = slices.Clone(p.Clocks)
	return p, err
}

// InsertStages writes the stages of a plan.
func (s Store) InsertStages(ctx context.Context, stages []workflow.Stage) error {
	for _, st := range stages {
		coating, err := toJSON(st.Coating)
		if err != nil {
			return err
		}
		err = s.q.InsertStage(ctx, storedb.InsertStageParams{
			ID: st.ID, PieceID: st.Piece, PartID: nullable(st.Part), PartLabel: st.PartLabel, Key: st.Key, Kind: st.Kind, Skill: st.Skill,
			Position: st.Position, AttendedMinutes: minutes(st.Attended), UnattendedMinutes: minutes(st.Unattended),
			AfterIds: notNil(st.After), Pass: st.Pass(), SendBackTimes: notNil(st.SentBack),
			Grit: st.Grit, ProductID: nullable(st.Product), ProductName: st.ProductName, Station: st.Station, Needs: string(st.Needs),
			LatestMinutes: minutes(st.Latest), Cautions: notNil(st.Cautions), DisturbsOld: st.DisturbsOld, Why: st.Why, ZoneID: nullable(st.Zone),
			Coating: coating, WetFilmUm: st.WetFilmUm, AreaM2: st.AreaM2, SkillLevel: st.SkillLevel})
		if err != nil {
			return err
		}
	}
	return nil
}

// UpdateStage writes what commands may change of a stage. Whoever has it no longer refuses it.
func (s Store) UpdateStage(ctx context.Context, st workflow.Stage) error {
	if err := s.deleteRefusals(ctx, st); err != nil {
		return err
	}
	return s.q.UpdateStage(ctx, storedb.UpdateStageParams{ID: st.ID, Pass: st.Pass(), SendBackTimes: notNil(st.SentBack),
		FinishedAt: orNull(st.FinishedAt), AssigneeID: nullable(st.Assignee),
		HelperIds: helperIDs(st.Helpers), BatchID: nullable(st.Batch)})
}

// UpdatePiece writes the floor's row of a piece; when it was scrapped Scrap writes, and when it was sold Sell.
func (s Store) UpdatePiece(ctx context.Context, p workflow.Piece) error {
	return s.q.UpdatePiece(ctx, storedb.UpdatePieceParams{ID: p.ID, Scrapped: p.Scrapped, Planned: p.Planned, Version: p.Version})
}

// Scrap notes when a piece was given up, known to the floor or not; what was noted of it first
// stays.
func (s Store) Scrap(ctx context.Context, piece id.ID, at time.Time) error {
	return s.q.ScrapPiece(ctx, storedb.ScrapPieceParams{ID: piece, ScrappedAt: &at})
}

// TakeIn notes that a piece came in, known to the floor or not.
func (s Store) TakeIn(ctx context.Context, piece id.ID, tag int32, at time.Time) error {
	return s.q.EnsurePiece(ctx, storedb.EnsurePieceParams{ID: piece, Tag: tag, TakenInAt: &at})
}

// ForgetIntake takes back what Scrap noted, for all pieces, and what TakeIn did, for those of
// which the floor has told nothing.
func (s Store) ForgetIntake(ctx context.Context) error { return s.q.ForgetIntake(ctx) }

// Sell notes when a piece was sold, known to the floor or not; the zero time is that it came back for good. It returns
// since when the floor has it no more, which is never while it is back with a fault.
func (s Store) Sell(ctx context.Context, piece id.ID, at time.Time) (time.Time, error) {
	if err := s.noteSale(ctx, piece, at); err != nil {
		return time.Time{}, err
	}
	left, err := s.q.SellPiece(ctx, storedb.SellPieceParams{ID: piece, SoldAt: orNull(at)})
	return orZero(left), err
}

func (s Store) noteSale(ctx context.Context, piece id.ID, at time.Time) error {
	if at.IsZero() {
		return s.q.NoteReturn(ctx, piece)
	}
	return s.q.NoteSale(ctx, storedb.NoteSaleParams{ID: piece, SoldAt: at})
}

// ForgetSales takes back what Sell noted.
func (s Store) ForgetSales(ctx context.Context) error { return s.q.ForgetSales(ctx) }

// OpenStageCount counts the stages of a piece that are not finished.
func (s Store) OpenStageCount(ctx context.Context, piece id.ID) (int32, error) {
	return s.q.CountOpenStages(ctx, piece)
}

func fromPiece(row storedb.Piece) workflow.Piece {
	return workflow.Piece{ID: row.ID, Tag: row.Tag, TakenIn: orZero(row.TakenInAt), Scrapped: row.Scrapped, ScrappedAt: orZero(row.ScrappedAt), Planned: row.Planned, SoldAt: orZero(row.SoldAt),
		Promised: orZero(row.PromisedAt), Value: row.Value, Version: row.Version}
}

func fromStage(row storedb.StagesOfRow) (workflow.Stage, error) {
	coating, err := fromJSON[workflow.Coating](row.Coating)
	if err != nil {
		return workflow.Stage{}, fmt.Errorf("coating of stage %s: %w", row.ID, err)
	}
	return workflow.Stage{
		ID: row.ID, Piece: row.PieceID, Part: row.PartID.UUID, PartLabel: row.PartLabel, Key: row.Key, Kind: row.Kind, Skill: row.Skill,
		Position: row.Position, Attended: time.Duration(row.AttendedMinutes) * time.Minute,
		Unattended: time.Duration(row.UnattendedMinutes) * time.Minute, After: row.AfterIds, SentBack: row.SendBackTimes,
		FinishedAt: orZero(row.FinishedAt), Assignee: row.AssigneeID.UUID, AssignedTo: row.AssignedTo, SkillLevel: row.SkillLevel, Batch: row.BatchID.UUID, Helpers: helpers(row.HelperIds, row.HelperNames),
		Finish: workflow.Finish{Grit: row.Grit, Product: row.ProductID.UUID, ProductName: row.ProductName, Station: row.Station, Needs: finish.Needs(row.Needs),
			Latest: time.Duration(row.LatestMinutes) * time.Minute, Cautions: row.Cautions, DisturbsOld: row.DisturbsOld, Why: row.Why,
			Zone: row.ZoneID.UUID, Coating: coating, WetFilmUm: row.WetFilmUm, AreaM2: row.AreaM2},
	}, nil
}

func helperIDs(helpers []workflow.Helper) []id.ID {
	out := make([]id.ID, len(helpers))
	for i, h := range helpers {
		out[i] = h.ID
	}
	return out
}

func helpers(ids []id.ID, names []string) (out []workflow.Helper) {
	for i, name := range names {
		out = append(out, workflow.Helper{ID: ids[i], Name: name})
	}
	return out
}

// toJSON writes a value for a nullable column of documents; nil stays NULL.
func toJSON[T any](v *T) ([]byte, error) {
	if v == nil {
		return nil, nil
	}
	return json.Marshal(v)
}

// fromJSON reads what toJSON wrote.
func fromJSON[T any](b []byte) (*T, error) {
	if b == nil {
		return nil, nil
	}
	v := new(T)
	return v, json.Unmarshal(b, v)
}

func nullable(i id.ID) uuid.NullUUID { return uuid.NullUUID{UUID: i, Valid: i != id.Nil} }

// orNull gives the nullable column for an instant that may be zero.
func orNull(t time.Time) *time.Time {
	if t.IsZero() {
		return nil
	}
	return &t
}

// orZero gives the value behind a nullable column, or the zero value.
func orZero[T any](p *T) (v T) {
	if p != nil {
		v = *p
	}
	return v
}
