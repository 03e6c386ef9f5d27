package store

import (
	"context"
	"fmt"
	"math"
	"time"

	"github.com/jackc/pgx/v5/pgtype"

	"tackfree/pkg/climate"
	"tackfree/pkg/id"
	"tackfree/services/workflow/internal/store/storedb"
	"tackfree/services/workflow/internal/workflow"
)

// InsertInspection writes what an inspection found.
func (s Store) InsertInspection(ctx context.Context, i workflow.Inspection) error {
	j := i.Judged
	row := storedb.InsertInspectionParams{ID: i.ID, PieceID: i.Piece, StageID: i.Stage, StageTitle: i.StageTitle, Point: string(i.Point), Pass: i.Pass,
		InspectorID: i.Inspector, Passed: i.Passed, BackTo: nullable(i.BackTo), BackToTitle: i.BackToTitle, Note: i.Note, InspectedAt: i.At, Actor: i.Actor,
		JudgedStage: j.Stage, JudgedKind: j.Kind, JudgedPass: j.Pass, ProductID: nullable(j.Product), ProductName: j.ProductName, WorkerIds: notNil(j.Workers)}
	if j.Air != nil {
		row.Celsius, row.Humidity = pgtype.Float8{Float64: j.Air.Celsius(), Valid: true}, pgtype.Float8{Float64: j.Air.Humidity(), Valid: true}
	}
	if err := s.q.InsertInspection(ctx, row); err != nil {
		return err
	}
	for n, d := range i.Defects {
		err := s.q.InsertDefect(ctx, storedb.InsertDefectParams{InspectionID: i.ID, Nth: int32(n + 1), Kind: d.Kind, PartID: nullable(d.Part),
			PartLabel: d.PartLabel, Photo: d.Photo, Note: d.Note})
		if err != nil {
			return err
		}
	}
	for _, r := range i.Reopened {
		if err := s.q.InsertReopened(ctx, storedb.InsertReopenedParams{InspectionID: i.ID, StageID: r.Stage, Pass: r.Pass}); err != nil {
			return err
		}
	}
	return nil
}

// Hands reads who worked on the stages of a piece, each in its present pass.
func (s Store) Hands(ctx context.Context, piece id.ID) (map[id.ID][]id.ID, error) {
	rows, err := s.q.HandsOf(ctx, piece)
	hands := map[id.ID][]id.ID{}
	for _, row := range rows {
		hands[row.StageID] = append(hands[row.StageID], row.PersonID)
	}
	return hands, err
}

// PeopleWith reads the people who have a skill at any level, by name; no skill is had by all.
func (s Store) PeopleWith(ctx context.Context, skill string) ([]workflow.Person, error) {
	rows, err := s.q.PeopleWith(ctx, skill)
	if err != nil {
		return nil, err
	}
	people := make([]workflow.Person, len(rows))
	for i, row := range rows {
		if people[i], err = fromPerson(storedb.GetPersonRow(row)); err != nil {
			return nil, err
		}
	}
	return people, nil
}

// InspectionFilter chooses inspections; id.Nil leaves the piece open.
type InspectionFilter struct {
	Piece      id.ID
	FailedOnly bool
}

// Inspections reads up to limit inspections before a mark, the newest first; the zero mark is
// before none.
func (s Store) Inspections(ctx context.Context, f InspectionFilter, before Mark, limit int32) ([]workflow.Inspection, error) {
	rows, err := s.q.ListInspections(ctx, storedb.ListInspectionsParams{Piece: nullable(f.Piece), FailedOnly: f.FailedOnly,
		BeforeAt: orNull(before.Start), BeforeID: before.ID, PageLimit: limit})
	if err != nil {
		return nil, err
	}
	out, ids := make([]workflow.Inspection, len(rows)), make([]id.ID, len(rows))
	at := map[id.ID]*workflow.Inspection{}
	for n, row := range rows {
		if out[n], err = fromInspection(row); err != nil {
			return nil, err
		}
		ids[n], at[row.ID] = row.ID, &out[n]
	}
	return out, s.found(ctx, ids, at)
}

// found reads the defects of inspections, and what they opened again.
func (s Store) found(ctx context.Context, ids []id.ID, at map[id.ID]*workflow.Inspection) error {
	defects, err := s.q.DefectsOf(ctx, ids)
	if err != nil {
		return err
	}
	for _, row := range defects {
		i := at[row.InspectionID]
		i.Defects = append(i.Defects, workflow.Defect{Kind: row.Kind, Part: row.PartID.UUID, PartLabel: row.PartLabel, Photo: row.Photo, Note: row.Note})
	}
	reopened, err := s.q.ReopenedBy(ctx, ids)
	for _, row := range reopened {
		i := at[row.InspectionID]
		i.Reopened = append(i.Reopened, workflow.Reopened{Stage: row.StageID, Pass: row.Pass})
	}
	return err
}

func fromInspection(row storedb.ListInspectionsRow) (workflow.Inspection, error) {
	i := workflow.Inspection{ID: row.ID, Piece: row.PieceID, PieceTag: row.Tag, Stage: row.StageID, StageTitle: row.StageTitle, Point: workflow.Point(row.Point), Pass: row.Pass,
		Inspector: row.InspectorID, InspectorName: row.DisplayName, Passed: row.Passed, BackTo: row.BackTo.UUID, BackToTitle: row.BackToTitle, Note: row.Note,
		At: row.InspectedAt, Actor: row.Actor, Judged: workflow.Judged{Stage: row.JudgedStage, Kind: row.JudgedKind, Pass: row.JudgedPass,
			Product: row.ProductID.UUID, ProductName: row.ProductName, Workers: row.WorkerIds}}
	if !row.Celsius.Valid {
		return i, nil
	}
	air, err := climate.NewAir(row.Celsius.Float64, row.Humidity.Float64)
	if err != nil {
		return i, fmt.Errorf("air of inspection %s: %w", row.ID, err)
	}
	i.Judged.Air = &air
	return i, nil
}

// Counted chooses what defects are counted by, and from when to when their inspections were.
type Counted struct {
	By       workflow.CountBy
	From, To time.Time // zero: open
}

// CountMark is a place in a list of counts.
type CountMark struct {
	Defects         int32
	Kind, Name, Key string
}

// DefectCounts reads up to limit counts after a mark, the most frequent first; the zero mark
// is before all.
func (s Store) DefectCounts(ctx context.Context, c Counted, after CountMark, limit int32) ([]workflow.DefectCount, error) {
	order := -after.Defects
	if after == (CountMark{}) {
		order = math.MinInt32
	}
	rows, err := s.q.DefectCounts(ctx, storedb.DefectCountsParams{ByWhat: string(c.By), FromTime: orNull(c.From), ToTime: orNull(c.To),
		AfterOrder: order, AfterKind: after.Kind, AfterName: after.Name, AfterKey: after.Key, PageLimit: limit})
	out := make([]workflow.DefectCount, len(rows))
	for i, row := range rows {
		out[i] = workflow.DefectCount{Kind: row.Kind, By: row.Name, Key: row.Key, Defects: row.Defects, Failed: row.Failed, Inspected: row.Inspected,
			Rework: time.Duration(row.ReworkMs) * time.Millisecond}
	}
	return out, err
}
