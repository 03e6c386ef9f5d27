package store

import (
	"context"
	"time"

	"tackfree/pkg/id"
	"tackfree/services/materials/internal/materials"
	"tackfree/services/materials/internal/store/storedb"
)

// MadeOilyWaste reports whether a stage makes oily waste: by what it takes or took, or, of one
// that takes up what others put on, by what all of the piece's do.
func (s Store) MadeOilyWaste(ctx context.Context, piece, stage id.ID, stageKind string) (bool, error) {
	rows, err := s.q.ProductsAtStage(ctx, storedb.ProductsAtStageParams{StageID: stage, PieceID: piece, WholePiece: materials.TakesUpOthers(stageKind)})
	if err != nil {
		return false, err
	}
	for _, row := range rows {
		if materials.MakesOilyWaste(fromSheetRow(row.Product), row.Product.AboutCautions) {
			return true, nil
		}
	}
	return false, nil
}

// NoteOilyWork notes work that left oily waste behind; of what is known already, its last time.
func (s Store) NoteOilyWork(ctx context.Context, w materials.OilyWork) error {
	return s.q.NoteOilyWork(ctx, storedb.NoteOilyWorkParams{Day: w.Day, StageID: w.Stage, Person: w.Person, PieceID: w.Piece, StageKind: w.StageKind, At: w.At})
}

// NoteShiftEnd notes when the shift of somebody ends on a day on which they made oily waste.
func (s Store) NoteShiftEnd(ctx context.Context, day time.Time, person string, end time.Time) error {
	return s.q.NoteShiftEnd(ctx, storedb.NoteShiftEndParams{Day: day, Person: person, ShiftEnd: unlessZero(end)})
}

// OilyWork reads what made oily waste on a day.
func (s Store) OilyWork(ctx context.Context, day time.Time) (materials.OilyDay, error) {
	rows, err := s.q.OilyWorkOn(ctx, day)
	d := materials.OilyDay{Day: day}
	for _, row := range rows {
		d.Work = append(d.Work, fromOilyWork(row.OilyWork, row.Open))
	}
	return d, err
}

// OpenOilyWork reads the days with work whose oily waste nobody said was put away since, and
// that work.
func (s Store) OpenOilyWork(ctx context.Context) (days []materials.OilyDay, err error) {
	rows, err := s.q.OpenOilyWork(ctx)
	for _, row := range rows {
		w := fromOilyWork(row.OilyWork, true)
		if n := len(days); n == 0 || !days[n-1].Day.Equal(w.Day) {
			days = append(days, materials.OilyDay{Day: w.Day})
		}
		last := &days[len(days)-1]
		last.Work = append(last.Work, w)
	}
	return days, err
}

// InsertOilyCheck writes that all oily waste had been put away.
func (s Store) InsertOilyCheck(ctx context.Context, c materials.OilyCheck, now time.Time) error {
	return s.q.InsertOilyCheck(ctx, storedb.InsertOilyCheckParams{ID: c.ID, ConfirmedAt: c.At, Way: string(c.Way), Note: c.Note, Actor: c.Actor, RecordedAt: now})
}

// OilyChecks reads what was confirmed from one instant up to another.
func (s Store) OilyChecks(ctx context.Context, from, to time.Time) ([]materials.OilyCheck, error) {
	rows, err := s.q.OilyChecksBetween(ctx, storedb.OilyChecksBetweenParams{FromAt: from, ToAt: to})
	checks := make([]materials.OilyCheck, len(rows))
	for n, row := range rows {
		checks[n] = materials.OilyCheck{ID: row.ID, At: row.ConfirmedAt.UTC(), Way: materials.OilyWay(row.Way), Note: row.Note, Actor: row.Actor}
	}
	return checks, err
}

func fromOilyWork(row storedb.OilyWork, open bool) materials.OilyWork {
	w := materials.OilyWork{Day: row.Day, Piece: row.PieceID, Stage: row.StageID, StageKind: row.StageKind, Person: row.Person, At: row.At.UTC(), Open: open}
	if row.ShiftEnd != nil {
		w.ShiftEnd = row.ShiftEnd.UTC()
	}
	return w
}
