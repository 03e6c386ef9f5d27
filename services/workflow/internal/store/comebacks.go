package store

import (
	"context"
	"errors"
	"time"

	"github.com/jackc/pgx/v5"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/services/workflow/internal/store/storedb"
	"tackfree/services/workflow/internal/workflow"
)

var errNoComeback = fault.New(fault.NotFound, "COMEBACK_NOT_FOUND", "Nothing of that name came back; look at the list of what did.").At("comeback")

// InsertComeback writes that a piece came back, and puts it on the floor.
func (s Store) InsertComeback(ctx context.Context, c workflow.Comeback) error {
	err := s.q.InsertComeback(ctx, storedb.InsertComebackParams{ID: c.ID, PieceID: c.Piece, SoldAt: c.SoldAt, ReportedAt: c.ReportedAt, ReportedBy: c.ReportedBy, Note: c.Note,
		Warranty: c.Warranty, InShop: c.InShop, Actor: c.Actor, Version: c.Version})
	if err != nil {
		return err
	}
	for n, d := range c.Faults {
		err := s.q.InsertComebackFault(ctx, storedb.InsertComebackFaultParams{ComebackID: c.ID, Nth: int32(n + 1), Kind: d.Kind, PartID: nullable(d.Part),
			PartLabel: d.PartLabel, Photo: d.Photo, Note: d.Note})
		if err != nil {
			return err
		}
	}
	return s.q.BringBack(ctx, c.Piece)
}

// InsertComebackStages writes which stages mend it.
func (s Store) InsertComebackStages(ctx context.Context, comeback id.ID, stages []workflow.Stage) error {
	for _, st := range stages {
		if err := s.q.InsertComebackStage(ctx, storedb.InsertComebackStageParams{StageID: st.ID, ComebackID: comeback}); err != nil {
			return err
		}
	}
	return nil
}

// UpdateComeback writes what commands may change of it.
func (s Store) UpdateComeback(ctx context.Context, c workflow.Comeback) error {
	row := storedb.UpdateComebackParams{ID: c.ID, Outcome: string(c.Outcome), OutcomeNote: c.OutcomeNote, ClosedAt: orNull(c.ClosedAt), ReturnedAt: orNull(c.ReturnedAt), Version: c.Version}
	if j := c.Judgement; j != nil {
		row.Source, row.Certainty, row.ProductID, row.ProductName, row.Lot = string(j.Source), string(j.Certainty), nullable(j.Product), j.ProductName, j.Lot
		row.StageID, row.StageTitle, row.PersonID = nullable(j.Stage), j.StageTitle, nullable(j.Person)
		row.JudgeNote, row.JudgedAt, row.JudgedBy = j.Note, orNull(j.At), j.Actor
	}
	return s.q.UpdateComeback(ctx, row)
}

// CloseComeback writes that it is dealt with, without the stages that were dropped, and takes its piece off the floor.
func (s Store) CloseComeback(ctx context.Context, c workflow.Comeback, dropped []id.ID) error {
	if err := s.UpdateComeback(ctx, c); err != nil {
		return err
	}
	if err := s.q.DeleteStages(ctx, notNil(dropped)); err != nil {
		return err
	}
	return s.q.TakeAway(ctx, c.Piece)
}

// Worked tells on which stages of a piece anybody worked, here or elsewhere.
func (s Store) Worked(ctx context.Context, piece id.ID) (map[id.ID]bool, error) {
	rows, err := s.q.WorkedStages(ctx, piece)
	worked := make(map[id.ID]bool, len(rows))
	for _, stage := range rows {
		worked[stage] = true
	}
	return worked, err
}

// PieceOfComeback reads of which piece it is. Fault: COMEBACK_NOT_FOUND.
func (s Store) PieceOfComeback(ctx context.Context, comeback id.ID) (id.ID, error) {
	piece, err := s.q.PieceOfComeback(ctx, comeback)
	if errors.Is(err, pgx.ErrNoRows) {
		return piece, errNoComeback
	}
	return piece, err
}

// SaleOf reads when a piece was sold; zero: it was not, or came back for good.
func (s Store) SaleOf(ctx context.Context, piece id.ID) (time.Time, error) {
	at, err := s.q.SaleOf(ctx, piece)
	if errors.Is(err, pgx.ErrNoRows) {
		return time.Time{}, nil
	}
	return at, err
}

// Comeback reads one. Fault: COMEBACK_NOT_FOUND.
func (s Store) Comeback(ctx context.Context, comeback id.ID) (workflow.Comeback, error) {
	all, err := s.comebacks(ctx, storedb.ComebacksParams{Ids: []id.ID{comeback}, PageLimit: 1})
	if err == nil && len(all) == 0 {
		err = errNoComeback
	}
	if err != nil {
		return workflow.Comeback{}, err
	}
	return all[0], nil
}

// OpenComeback reads the open one of a piece; nil: there is none.
func (s Store) OpenComeback(ctx context.Context, piece id.ID) (*workflow.Comeback, error) {
	all, err := s.comebacks(ctx, storedb.ComebacksParams{Ids: []id.ID{}, Piece: nullable(piece), OpenOnly: true, PageLimit: 1})
	if err != nil || len(all) == 0 {
		return nil, err
	}
	return &all[0], nil
}

// ComebackFilter chooses come-backs; id.Nil leaves the piece open.
type ComebackFilter struct {
	Piece    id.ID
	OpenOnly bool
}

// Comebacks reads up to limit of them before a mark, the newest first; the zero mark is before none.
func (s Store) Comebacks(ctx context.Context, f ComebackFilter, before Mark, limit int32) ([]workflow.Comeback, error) {
	return s.comebacks(ctx, storedb.ComebacksParams{Ids: []id.ID{}, Piece: nullable(f.Piece), OpenOnly: f.OpenOnly, BeforeAt: orNull(before.Start), BeforeID: before.ID, PageLimit: limit})
}

func (s Store) comebacks(ctx context.Context, p storedb.ComebacksParams) ([]workflow.Comeback, error) {
	rows, err := s.q.Comebacks(ctx, p)
	if err != nil {
		return nil, err
	}
	out, ids, at := make([]workflow.Comeback, len(rows)), make([]id.ID, len(rows)), map[id.ID]*workflow.Comeback{}
	for n, row := range rows {
		out[n] = fromComeback(row)
		ids[n], at[row.ID] = row.ID, &out[n]
	}
	faults, err := s.q.FaultsOf(ctx, ids)
	for _, row := range faults {
		c := at[row.ComebackID]
		c.Faults = append(c.Faults, workflow.Defect{Kind: row.Kind, Part: row.PartID.UUID, PartLabel: row.PartLabel, Photo: row.Photo, Note: row.Note})
	}
	return out, err
}

func fromComeback(row storedb.ComebacksRow) workflow.Comeback {
	c := workflow.Comeback{ID: row.ID, Piece: row.PieceID, Tag: row.Tag, SoldAt: row.SoldAt, ReportedAt: row.ReportedAt, ReportedBy: row.ReportedBy, Note: row.Note,
		Warranty: row.Warranty, InShop: row.InShop, Outcome: workflow.Outcome(row.Outcome), OutcomeNote: row.OutcomeNote, ClosedAt: orZero(row.ClosedAt), ReturnedAt: orZero(row.ReturnedAt),
		Stages: row.Stages, Rework: time.Duration(row.ReworkMs) * time.Millisecond, Actor: row.Actor, Version: row.Version}
	if row.Source != "" {
		c.Judgement = &workflow.Judgement{Source: workflow.Source(row.Source), Certainty: workflow.Certainty(row.Certainty), Product: row.ProductID.UUID, ProductName: row.ProductName,
			Lot: row.Lot, Stage: row.StageID.UUID, StageTitle: row.StageTitle, Person: row.PersonID.UUID, PersonName: row.PersonName, Note: row.JudgeNote,
			At: orZero(row.JudgedAt), Actor: row.JudgedBy}
	}
	return c
}
