package store

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"tackfree/pkg/climate"
	"tackfree/pkg/id"
	"tackfree/services/workflow/internal/store/storedb"
	"tackfree/services/workflow/internal/workflow"
)

// Ground reads what stages of a piece find there; nothing of a piece that the floor does
// not know. The air is read by LastAir.
func (s Store) Ground(ctx context.Context, piece id.ID) (workflow.Ground, error) {
	row, err := s.q.GroundOf(ctx, piece)
	if errors.Is(err, pgx.ErrNoRows) {
		return workflow.Ground{}, nil
	}
	if err != nil {
		return workflow.Ground{}, err
	}
	return fromGround(row.Tests, row.Wet)
}

// groundTest and groundWet are the documents of the view ground.
type groundTest struct {
	Part    uuid.NullUUID `json:"part"`
	Kind    string        `json:"kind"`
	Result  string        `json:"result"`
	Percent float64       `json:"percent"`
	AtRest  float64       `json:"at_rest"`
	Dry     bool          `json:"dry"`
}

type groundWet struct {
	Part   uuid.NullUUID `json:"part"`
	Film   bool          `json:"film"`
	Sand   *time.Time    `json:"sand"`
	Recoat *time.Time    `json:"recoat"`
	Cured  *time.Time    `json:"cured"`
}

func fromGround(tests, wet []byte) (g workflow.Ground, err error) {
	told, err := fromJSON[[]groundTest](tests)
	if err != nil {
		return g, fmt.Errorf("tests of a piece: %w", err)
	}
	for _, t := range orZero(told) {
		g.Tests = append(g.Tests, workflow.PartTest{Part: t.Part.UUID, Kind: workflow.TestKind(t.Kind), Result: t.Result, Percent: t.Percent, AtRest: t.AtRest, Dry: t.Dry})
	}
	drying, err := fromJSON[[]groundWet](wet)
	if err != nil {
		return g, fmt.Errorf("dry clocks of a piece: %w", err)
	}
	for _, w := range orZero(drying) {
		g.Wet = append(g.Wet, workflow.Wet{Part: w.Part.UUID, Film: w.Film, SandAt: orZero(w.Sand).UTC(), RecoatAt: orZero(w.Recoat).UTC(), CuredAt: orZero(w.Cured).UTC()})
	}
	return g, nil
}

// ClockedOn reads whether somebody clocked on at a stage in its present pass: not whether work
// on it was written down later, or moved there by a correction.
func (s Store) ClockedOn(ctx context.Context, piece, stage id.ID) (bool, error) {
	return s.q.ClockedOn(ctx, storedb.ClockedOnParams{Piece: piece, Stage: stage})
}

// LastAir reads the last reading of a zone that is not later than an instant; nil when there
// is none, or no zone.
func (s Store) LastAir(ctx context.Context, zone id.ID, before time.Time) (*workflow.Air, error) {
	if zone == id.Nil {
		return nil, nil
	}
	row, err := s.q.LastAir(ctx, storedb.LastAirParams{ZoneID: zone, Before: before})
	if errors.Is(err, pgx.ErrNoRows) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	air, err := climate.NewAir(row.Celsius, row.Humidity)
	if err != nil {
		return nil, fmt.Errorf("reading of zone %s at %s: %w", zone, row.ReadAt, err)
	}
	return &workflow.Air{At: row.ReadAt, Air: air, Surface: row.Surface}, nil
}

// TestZone finds the zone in which a part is tested: the one of that word, or without one
// that in which the part last stood to dry; id.Nil when nobody said. Fault: ZONE_NOT_FOUND.
func (s Store) TestZone(ctx context.Context, word string, piece, part id.ID) (id.ID, error) {
	if word == "" {
		zone, err := s.q.ZoneOfDrying(ctx, storedb.ZoneOfDryingParams{PieceID: piece, Part: nullable(part)})
		if errors.Is(err, pgx.ErrNoRows) {
			return id.Nil, nil
		}
		return zone.UUID, err
	}
	zone, err := s.Zone(ctx, word)
	return zone.ID, err
}
