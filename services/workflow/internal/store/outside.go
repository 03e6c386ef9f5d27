package store

import (
	"context"
	"errors"
	"time"

	"github.com/jackc/pgx/v5"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/services/workflow/internal/store/storedb"
	"tackfree/services/workflow/internal/workflow"
)

var errNoOutside = fault.New(fault.NotFound, "OUTSIDE_WORK_NOT_FOUND", "There is no such outside work; look at the list of what is out.").At("outside_work")

// Parts reads the parts of a piece that somebody told the floor; none when nobody did.
func (s Store) Parts(ctx context.Context, piece id.ID) ([]workflow.Part, error) {
	rows, err := s.q.PartsOf(ctx, piece)
	parts := make([]workflow.Part, len(rows))
	for i, row := range rows {
		parts[i] = workflow.Part{ID: row.ID, Label: row.Label, Count: row.Count}
	}
	return parts, err
}

// InsertOutside writes work that was given to others, and where its parts now are. Fault at
// commit: MOVE_BEFORE_LAST.
func (s Store) InsertOutside(ctx context.Context, sent workflow.Sent) error {
	o := sent.Outside
	err := s.q.InsertOutside(ctx, storedb.InsertOutsideParams{ID: o.ID, PieceID: o.Piece, PartID: nullable(o.Part), PartLabel: o.PartLabel, Kind: o.Kind, Firm: o.Firm,
		Quoted: (*int64)(o.Quoted), SentAt: o.SentAt, DueDay: o.Due, StageID: nullable(o.Stage), State: string(o.State), BackAt: orNull(o.BackAt), Billed: (*int64)(o.Billed), Pass: o.Pass})
	if err != nil {
		return err
	}
	return s.SaveMove(ctx, sent.Move)
}

// LockOutside locks the piece that outside work is of, and reads both. Fault:
// OUTSIDE_WORK_NOT_FOUND.
func (s Store) LockOutside(ctx context.Context, outside id.ID) (workflow.Outside, workflow.Piece, error) {
	o, err := s.Outside(ctx, outside)
	if err != nil {
		return o, workflow.Piece{}, err
	}
	piece, err := s.Piece(ctx, o.Piece)
	if err != nil {
		return o, piece, err
	}
	o, err = s.Outside(ctx, outside) // as it is under the lock
	return o, piece, err
}

// Outside reads outside work. Fault: OUTSIDE_WORK_NOT_FOUND.
func (s Store) Outside(ctx context.Context, outside id.ID) (workflow.Outside, error) {
	row, err := s.q.GetOutside(ctx, outside)
	if errors.Is(err, pgx.ErrNoRows) {
		return workflow.Outside{}, errNoOutside
	}
	if err != nil {
		return workflow.Outside{}, err
	}
	all := []workflow.Outside{fromOutside(row)}
	return all[0], s.chases(ctx, all)
}

// UpdateOutside writes what commands may change of outside work.
func (s Store) UpdateOutside(ctx context.Context, o workflow.Outside) error {
	return s.q.UpdateOutside(ctx, storedb.UpdateOutsideParams{ID: o.ID, DueDay: o.Due, State: string(o.State), BackAt: orNull(o.BackAt), Billed: (*int64)(o.Billed), Pass: o.Pass})
}

// InsertChase writes that somebody asked after outside work.
func (s Store) InsertChase(ctx context.Context, outside id.ID, c workflow.Chase) error {
	return s.q.InsertChase(ctx, storedb.InsertChaseParams{ID: c.ID, OutsideID: outside, ChasedAt: c.At, Actor: c.Actor, Note: c.Note, DueDay: orNull(c.Due)})
}

// ComeBack notes that the parts of outside work are with others no more.
func (s Store) ComeBack(ctx context.Context, o workflow.Outside) error {
	return s.q.ComeBack(ctx, storedb.ComeBackParams{OutsideID: o.ID, At: o.BackAt})
}

// OutsideFilter chooses outside work; id.Nil and the zero time leave a field open.
type OutsideFilter struct {
	Piece     id.ID
	Back      bool      // with what is back
	Unbilled  bool      // only what is back and whose bill is yet to come
	DueBefore time.Time // a day; then only what is out
}

// OutsideMark is a place in the list of outside work.
type OutsideMark struct {
	Due time.Time
	ID  id.ID
}

// OutsideWork reads up to limit after a mark, what is due first first.
func (s Store) OutsideWork(ctx context.Context, f OutsideFilter, after OutsideMark, limit int32) ([]workflow.Outside, error) {
	rows, err := s.q.ListOutside(ctx, storedb.ListOutsideParams{Piece: nullable(f.Piece), Back: f.Back, Unbilled: f.Unbilled, DueBefore: orNull(f.DueBefore),
		AfterDay: after.Due, AfterID: after.ID, PageLimit: limit})
	if err != nil {
		return nil, err
	}
	all := make([]workflow.Outside, len(rows))
	for i, row := range rows {
		all[i] = fromOutside(storedb.GetOutsideRow(row))
	}
	return all, s.chases(ctx, all)
}

// chases reads who asked after outside work.
func (s Store) chases(ctx context.Context, all []workflow.Outside) error {
	at, ids := map[id.ID]*workflow.Outside{}, make([]id.ID, len(all))
	for i, o := range all {
		at[o.ID], ids[i] = &all[i], o.ID
	}
	rows, err := s.q.ChasesOf(ctx, ids)
	for _, row := range rows {
		o := at[row.OutsideID]
		o.Chases = append(o.Chases, workflow.Chase{ID: row.ID, At: row.ChasedAt, Actor: row.Actor, Note: row.Note, Due: orZero(row.DueDay)})
	}
	return err
}

func fromOutside(row storedb.GetOutsideRow) workflow.Outside {
	return workflow.Outside{ID: row.ID, Piece: row.PieceID, PieceTag: row.Tag, Part: row.PartID.UUID, PartLabel: row.PartLabel, Kind: row.Kind, Firm: row.Firm,
		Quoted: (*money.Amount)(row.Quoted), SentAt: row.SentAt, Due: row.DueDay, Stage: row.StageID.UUID, State: workflow.OutsideState(row.State),
		BackAt: orZero(row.BackAt), Billed: (*money.Amount)(row.Billed), Pass: row.Pass}
}
