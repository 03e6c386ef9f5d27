package store

import (
	"context"
	"fmt"
	"time"

	"tackfree/pkg/climate"
	"tackfree/pkg/id"
	"tackfree/services/workflow/internal/store/storedb"
	"tackfree/services/workflow/internal/workflow"
)

// Open reads all pieces on which something is left to do, by tag, in a number of queries that
// does not depend on how many there are. Of their stages it reads those that are not finished,
// and those that dulled a film; of how coats dry, when, and the air that they can stand.
func (s Store) Open(ctx context.Context) ([]workflow.OpenPiece, error) {
	rows, err := s.q.OpenPieces(ctx)
	if err != nil {
		return nil, err
	}
	open, at := make([]workflow.OpenPiece, len(rows)), make(map[id.ID]*workflow.OpenPiece, len(rows))
	for i, row := range rows {
		p := &open[i]
		p.Plan = workflow.Plan{OnIt: map[id.ID][]string{}, Piece: workflow.Piece{ID: row.ID, Tag: row.Tag, TakenIn: orZero(row.TakenInAt), Scrapped: row.Scrapped, Planned: row.Planned,
			Promised: orZero(row.PromisedAt), Value: row.Value, Version: row.Version}}
		if p.Ground, err = fromGround(row.Tests, row.Wet); err != nil {
			return nil, err
		}
		at[row.ID] = p
	}
	for _, read := range []func(context.Context, map[id.ID]*workflow.OpenPiece) error{s.openStages, s.openClocks, s.openDrying, s.openAway} {
		if err := read(ctx, at); err != nil {
			return nil, err
		}
	}
	return open, nil
}

func (s Store) openStages(ctx context.Context, at map[id.ID]*workflow.OpenPiece) error {
	rows, err := s.q.OpenStages(ctx)
	if err != nil {
		return err
	}
	for _, row := range rows {
		stage, err := fromStage(storedb.StagesOfRow(row))
		if err != nil {
			return err
		}
		if p := at[row.PieceID]; p != nil {
			p.Stages = append(p.Stages, stage)
		}
	}
	return nil
}

func (s Store) openClocks(ctx context.Context, at map[id.ID]*workflow.OpenPiece) error {
	rows, err := s.q.OpenOnTheClock(ctx)
	for _, row := range rows {
		if p := at[row.PieceID]; p != nil {
			p.OnIt[row.StageID] = append(p.OnIt[row.StageID], row.DisplayName)
		}
	}
	return err
}

func (s Store) openDrying(ctx context.Context, at map[id.ID]*workflow.OpenPiece) error {
	rows, err := s.q.OpenDryClocks(ctx)
	if err != nil {
		return err
	}
	for _, row := range rows {
		c, err := fromClock(storedb.DryClocksOfRow(row))
		if err != nil {
			return fmt.Errorf("dry clock of stage %s: %w", row.StageID, err)
		}
		if p := at[row.PieceID]; p != nil {
			p.Clocks = append(p.Clocks, c)
		}
	}
	return nil
}

func (s Store) openAway(ctx context.Context, at map[id.ID]*workflow.OpenPiece) error {
	rows, err := s.q.OpenAway(ctx)
	for _, row := range rows {
		if p := at[row.PieceID]; p != nil {
			p.Away = append(p.Away, row.PartID)
		}
	}
	return err
}

// LastUses reads the last work with each product at stations that have to be cleaned between
// two, as far as it matters at an instant.
func (s Store) LastUses(ctx context.Context, at time.Time) ([]workflow.UsedAt, error) {
	rows, err := s.q.LastUses(ctx, at.Add(-longestChangeover))
	uses := make([]workflow.UsedAt, len(rows))
	for i, row := range rows {
		uses[i] = workflow.UsedAt{Station: row.StationID, Product: row.ProductID, Used: workflow.Used{Product: row.ProductName, Person: row.DisplayName, Until: orZero(row.EndedAt)}}
	}
	return uses, err
}

// LastAirs reads the last reading of each zone that is not later than an instant; of a zone
// without one, nothing.
func (s Store) LastAirs(ctx context.Context, before time.Time) (map[id.ID]workflow.Air, error) {
	rows, err := s.q.LastAirs(ctx, before)
	if err != nil {
		return nil, err
	}
	airs := make(map[id.ID]workflow.Air, len(rows))
	for _, row := range rows {
		air, err := climate.NewAir(row.Celsius, row.Humidity)
		if err != nil {
			return nil, fmt.Errorf("reading of zone %s at %s: %w", row.ZoneID, row.ReadAt, err)
		}
		airs[row.ZoneID] = workflow.Air{At: row.ReadAt, Air: air, Surface: row.Surface}
	}
	return airs, nil
}
