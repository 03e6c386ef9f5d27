package store

import (
	"context"
	"slices"
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
	return slices.ContainsFunc(rows, func(row storedb.ProductsAtStageRow) bool { return makesOilyWaste(row.Product) }), nil
}

func makesOilyWaste(row storedb.Product) bool {
	return materials.MakesOilyWaste(fromSheetRow(row), row.AboutCautions)
}

// NoteOilyEntry notes what was issued or wasted, if rags with it heat up by themselves: that is
// known before anybody clocks on, and of what nobody clocks on for too. Days are those of a zone.
func (s Store) NoteOilyEntry(ctx context.Context, e materials.Entry, zone *time.Location) error {
	if e.Purpose != materials.ForIssue && e.Purpose != materials.ForWaste {
		return nil
	}
	rows, err := s.q.ProductsOfEntry(ctx, e.ID)
	if err != nil || !slices.ContainsFunc(rows, func(row storedb.ProductsOfEntryRow) bool { return makesOilyWaste(row.Product) }) {
		return err
	}
	return s.NoteOilyWork(ctx, materials.OilyWork{Day: materials.DayOf(e.At, zone), Piece: e.To.Piece, Stage: e.To.ID, StageKind: e.To.Kind, Pass: e.To.Pass,
		Person: e.Actor, At: e.At, KnownBy: materials.ByEntry, Entry: e.ID})
}

// NoteOilyWork notes work that left oily waste behind; of what is known already, its last time.
func (s Store) NoteOilyWork(ctx context.Context, w materials.OilyWork) error {
	return s.q.NoteOilyWork(ctx, storedb.NoteOilyWorkParams{Day: w.Day, StageID: w.Stage, Person: w.Person, KnownBy: string(w.KnownBy), EntryID: w.Entry, Pass: w.Pass,
		PieceID: w.Piece, StageKind: w.StageKind, At: w.At})
}

// NoteShiftEnd notes when the shift of somebody ends on a day on which they made oily waste; zero:
// nobody can say. It was asked for at an instant; zero: somebody said so unasked.
func (s Store) NoteShiftEnd(ctx context.Context, day time.Time, person string, end, asked time.Time) error {
	return s.q.NoteShiftEnd(ctx, storedb.NoteShiftEndParams{Day: day, Person: person, ShiftEnd: unlessZero(end), AskedAt: unlessZero(asked)})
}

// ShiftsToAsk reads whose shifts nobody asked for since an instant, of those who made oily waste
// that is open: the day, the person and the last of their work.
func (s Store) ShiftsToAsk(ctx context.Context, since time.Time) ([]materials.OilyWork, error) {
	rows, err := s.q.ShiftsToAsk(ctx, &since)
	work := make([]materials.OilyWork, len(rows))
	for n, row := range rows {
		work[n] = materials.OilyWork{Day: row.Day, Person: row.Person, At: row.At.UTC()}
	}
	return work, err
}

// OilyWork reads what made oily waste on a day.
func (s Store) OilyWork(ctx context.Context, day time.Time) (materials.OilyDay, error) {
	rows, err := s.q.OilyWorkOn(ctx, day)
	d := materials.OilyDay{Day: day}
	for _, row := range rows {
		d.Work = append(d.Work, fromOilyWork(row.OilyWorkDone, row.Open))
	}
	return d, err
}

// OpenOilyWork reads the days with work whose oily waste nobody said was put away since, and
// that work.
func (s Store) OpenOilyWork(ctx context.Context) (days []materials.OilyDay, err error) {
	rows, err := s.q.OpenOilyWork(ctx)
	for _, row := range rows {
		w := fromOilyWork(row.OilyWorkDone, true)
		if n := len(days); n == 0 || !days[n-1].Day.Equal(w.Day) {
			days = append(days, materials.OilyDay{Day: w.Day})
		}
		last := &days[len(days)-1]
		last.Work = append(last.Work, w)
	}
	return days, err
}

func fromOilyWork(row storedb.OilyWorkDone, open bool) materials.OilyWork {
	w := materials.OilyWork{Day: row.Day, Piece: row.PieceID, Stage: row.StageID, StageKind: row.StageKind, Pass: row.Pass, Person: row.Person,
		At: row.At.UTC(), KnownBy: materials.KnownBy(row.KnownBy), Open: open}
	if row.ShiftEnd != nil {
		w.ShiftEnd = row.ShiftEnd.UTC()
	}
	return w
}
