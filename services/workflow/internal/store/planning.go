package store

import (
	"context"
	"errors"
	"maps"
	"time"

	"github.com/jackc/pgx/v5"

	"tackfree/pkg/id"
	"tackfree/services/workflow/internal/planning"
	"tackfree/services/workflow/internal/store/storedb"
	"tackfree/services/workflow/internal/workflow"
)

// PlanningFacts reads the floor as its plan is made of it, for an instant in the shop's zone, in a number of
// queries that does not depend on how much there is to do.
func (s Store) PlanningFacts(ctx context.Context, now time.Time) (*planning.Facts, error) {
	f := &planning.Facts{Now: now, Worked: map[id.ID]time.Duration{}, Pins: map[id.ID]workflow.PlanPin{}}
	for _, read := range []func(context.Context, *planning.Facts) error{s.planningPieces, s.planningClocks, s.planningStations, s.planningPins, s.planningPublished, s.planningRefused} {
		if err := read(ctx, f); err != nil {
			return nil, err
		}
	}
	var err error
	if f.People, err = s.People(ctx, id.Nil, everybody); err != nil {
		return nil, err
	}
	f.Labour, err = s.Labour(ctx)
	return f, err
}

// everybody is more people than a shop ever has.
const everybody = 1_000_000

// planningPieces reads the pieces with their stages, what dries on them, how many parts they have, and what
// others have of them.
func (s Store) planningPieces(ctx context.Context, f *planning.Facts) error {
	rows, err := s.q.PlanningPieces(ctx)
	if err != nil {
		return err
	}
	open, at := make([]workflow.OpenPiece, len(rows)), make(map[id.ID]*workflow.OpenPiece, len(rows))
	index := make(map[id.ID]int, len(rows))
	for i, row := range rows {
		open[i].Piece = workflow.Piece{ID: row.ID, Tag: row.Tag, TakenIn: orZero(row.TakenInAt), Promised: orZero(row.PromisedAt), Value: row.Value, Planned: true}
		at[row.ID], index[row.ID] = &open[i], i
	}
	if err := s.openStages(ctx, at); err != nil {
		return err
	}
	if err := s.openDrying(ctx, at); err != nil {
		return err
	}
	f.Pieces = make([]planning.Piece, len(rows))
	for i := range open {
		f.Pieces[i] = planning.Piece{Plan: open[i].Plan, Counts: map[id.ID]int32{}}
	}
	return s.planningParts(ctx, f, index)
}

func (s Store) planningParts(ctx context.Context, f *planning.Facts, index map[id.ID]int) error {
	parts, err := s.q.PlanningParts(ctx)
	if err != nil {
		return err
	}
	for _, row := range parts {
		if i, open := index[row.PieceID]; open {
			f.Pieces[i].Counts[row.ID] = row.Count
		}
	}
	out, err := s.q.PlanningOut(ctx)
	for _, row := range out {
		if i, open := index[row.PieceID]; open {
			f.Pieces[i].Out = append(f.Pieces[i].Out, planning.Outing{Part: row.PartID.UUID, Stage: row.StageID.UUID, Firm: row.Firm, Due: row.DueDay})
		}
	}
	return err
}

func (s Store) planningClocks(ctx context.Context, f *planning.Facts) error {
	clocks, err := s.q.PlanningClocks(ctx)
	if err != nil {
		return err
	}
	for _, row := range clocks {
		f.Running = append(f.Running, planning.Running{Stage: row.StageID, Person: row.PersonID, Station: row.StationID.UUID, Since: row.StartedAt})
	}
	worked, err := s.q.PlanningWorked(ctx)
	for _, row := range worked {
		f.Worked[row.ID] = time.Duration(row.Seconds * float64(time.Second))
	}
	return err
}

func (s Store) planningStations(ctx context.Context, f *planning.Facts) error {
	rows, err := s.q.PlanningStations(ctx)
	if err != nil {
		return err
	}
	for _, row := range rows {
		st, err := fromStation(storedb.StationsRow{ID: row.ID, Word: row.Word, DisplayName: row.DisplayName, Kind: row.Kind, Capacity: row.Capacity, Unit: row.Unit,
			OpenHours: row.OpenHours, StageKinds: row.StageKinds, ChangeoverMinutes: row.ChangeoverMinutes, Retired: row.Retired})
		if err != nil {
			return err
		}
		f.Stations = append(f.Stations, st)
	}
	f.Used, err = s.LastUses(ctx, f.Now)
	return err
}

func (s Store) planningPins(ctx context.Context, f *planning.Facts) error {
	rows, err := s.q.PlanningPins(ctx)
	for _, row := range rows {
		f.Pins[row.StageID] = fromPin(storedb.PinOfRow(row))
	}
	return err
}

func (s Store) planningPublished(ctx context.Context, f *planning.Facts) error {
	last, err := s.Publication(ctx)
	if err != nil {
		return err
	}
	f.Publication, f.PublishedAt = last.Version, last.At
	if f.Published, err = s.Told(ctx); err != nil {
		return err
	}
	given, err := s.GivenByPlan(ctx)
	f.Given = map[id.ID]id.ID{}
	for _, of := range given {
		maps.Copy(f.Given, of)
	}
	return err
}

// PinOf reads the pin of a stage, in whatever pass; nil: it has none.
func (s Store) PinOf(ctx context.Context, stage id.ID) (*workflow.PlanPin, error) {
	row, err := s.q.PinOf(ctx, stage)
	if errors.Is(err, pgx.ErrNoRows) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	pin := fromPin(row)
	return &pin, nil
}

// PutPin writes a pin in the place of the one before.
func (s Store) PutPin(ctx context.Context, pin workflow.PlanPin, actor string, now time.Time) error {
	return s.q.PutPin(ctx, storedb.PutPinParams{StageID: pin.Stage, Pass: pin.Pass, PersonID: nullable(pin.Person), StartAt: orNull(pin.At), Actor: actor, PinnedAt: now})
}

// DeletePin takes the pin of a stage away.
func (s Store) DeletePin(ctx context.Context, stage id.ID) error { return s.q.DeletePin(ctx, stage) }

func fromPin(row storedb.PinOfRow) workflow.PlanPin {
	return workflow.PlanPin{Stage: row.StageID, Pass: row.Pass, Person: row.PersonID.UUID, At: orZero(row.StartAt)}
}
