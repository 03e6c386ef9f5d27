package store

import (
	"context"
	"time"

	"tackfree/pkg/id"
	"tackfree/services/workflow/internal/store/storedb"
	"tackfree/services/workflow/internal/workflow"
)

// HoursBy is what hours are told apart by.
type HoursBy struct{ Person, Piece, Stage, Week, StageKind, Indirect bool }

// HoursKey is what hours are of. What they are not told apart by is id.Nil, empty or the zero
// time, and so is what they do not have.
type HoursKey struct {
	Week                 time.Time // the Monday, a midnight in UTC
	Person, Piece, Stage id.ID
	StageKind, Indirect  string
}

// HoursLine is hands-on time.
type HoursLine struct {
	HoursKey
	PersonName             string
	PieceTag               int32
	StagePiece             id.ID // whose stage it is
	StageTitle             string
	Labour, Rework, OnNone time.Duration // of first passes, of later ones, of what belongs to no piece
}

// Hours sums up closed entries that count, and gives up to limit lines after a key, nil for the
// first ones, by key. Weeks are those of a zone.
func (s Store) Hours(ctx context.Context, by HoursBy, f Filter, zone *time.Location, after *HoursKey, limit int32) ([]HoursLine, error) {
	p := storedb.HoursParams{ByPerson: by.Person, ByPiece: by.Piece, ByStage: by.Stage, ByWeek: by.Week, ByStageKind: by.StageKind, ByIndirect: by.Indirect,
		Person: nullable(f.Person), Piece: nullable(f.Piece), FromTime: orNull(f.From), ToTime: orNull(f.To), Zone: zone.String(), FromStart: after == nil, PageLimit: limit}
	if after != nil {
		p.AfterWeek, p.AfterPerson, p.AfterPiece, p.AfterStage = orEpoch(after.Week), after.Person, after.Piece, after.Stage
		p.AfterStageKind, p.AfterIndirect = after.StageKind, after.Indirect
	}
	rows, err := s.q.Hours(ctx, p)
	lines := make([]HoursLine, len(rows))
	for i, row := range rows {
		l := &lines[i]
		l.HoursKey = HoursKey{Person: row.PersonID, Piece: row.PieceID, Stage: row.StageID, StageKind: row.StageKind, Indirect: row.Indirect}
		if by.Week {
			l.Week = row.Week
		}
		l.PersonName, l.PieceTag, l.StagePiece = row.PersonName, row.PieceTag, row.StagePieceID.UUID
		l.StageTitle = workflow.Stage{Key: row.Key, PartLabel: row.PartLabel}.Title()
		l.Labour, l.Rework, l.OnNone = micros(row.Labour), micros(row.Rework), micros(row.IndirectLabour)
	}
	return lines, err
}

func micros(n int64) time.Duration { return time.Duration(n) * time.Microsecond }

// orEpoch gives the day that stands for none.
func orEpoch(day time.Time) time.Time {
	if day.IsZero() {
		return time.Unix(0, 0).UTC()
	}
	return day
}

// OpenReviewsOf counts what the lead has to settle about a person's clocks.
func (s Store) OpenReviewsOf(ctx context.Context, person id.ID) (int32, error) {
	return s.q.OpenReviewsOf(ctx, person)
}
