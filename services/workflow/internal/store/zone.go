package store

import (
	"context"
	"errors"

	"github.com/jackc/pgx/v5"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/services/workflow/internal/store/storedb"
	"tackfree/services/workflow/internal/workflow"
)

// LockZone finds the id and version of the zone of that word and locks it; a new one gets
// newID and version 0.
func (s Store) LockZone(ctx context.Context, word string, newID id.ID) (id.ID, int64, error) {
	row, err := s.q.LockZone(ctx, word)
	if errors.Is(err, pgx.ErrNoRows) {
		return newID, 0, nil
	}
	return row.ID, row.Version, err
}

// SaveZone writes a zone in place of the one before. Fault at commit: CONTENTION.
func (s Store) SaveZone(ctx context.Context, z workflow.Zone) error {
	return s.q.UpsertZone(ctx, storedb.UpsertZoneParams{ID: z.ID, Word: z.Word, DisplayName: z.DisplayName, Kind: string(z.Kind), Version: z.Version})
}

// Zones reads all zones by their words, with what was last read there.
func (s Store) Zones(ctx context.Context) ([]workflow.Zone, error) {
	rows, err := s.q.Zones(ctx, nil)
	zones := make([]workflow.Zone, len(rows))
	for i, row := range rows {
		zones[i] = fromZone(row)
	}
	return zones, err
}

// Zone reads a zone, with what was last read there. Fault: ZONE_NOT_FOUND, at zone.
func (s Store) Zone(ctx context.Context, word string) (workflow.Zone, error) {
	rows, err := s.q.Zones(ctx, &word)
	switch {
	case err != nil:
		return workflow.Zone{}, err
	case len(rows) == 0:
		return workflow.Zone{}, NoZone(word)
	}
	return fromZone(rows[0]), nil
}

// NoZone is the refusal of a zone that was never saved.
func NoZone(word string) *fault.Fault {
	return fault.New(fault.NotFound, "ZONE_NOT_FOUND", "There is no zone %q; save it first, or look at the list of zones.", word).At("zone")
}

// LockZones locks zones by their words and gives their ids: as many as there are.
func (s Store) LockZones(ctx context.Context, words []string) (map[string]id.ID, error) {
	rows, err := s.q.LockZones(ctx, words)
	ids := make(map[string]id.ID, len(rows))
	for _, row := range rows {
		ids[row.Word] = row.ID
	}
	return ids, err
}

func fromZone(row storedb.ZonesRow) workflow.Zone {
	z := workflow.Zone{ID: row.ID, Word: row.Word, DisplayName: row.DisplayName, Kind: workflow.ZoneKind(row.Kind), Version: row.Version}
	if row.ReadAt != nil {
		z.Last = &workflow.Reading{Zone: row.ID, At: *row.ReadAt, Celsius: row.Celsius.Float64, Humidity: row.Humidity.Float64,
			Surface: orNil(row.Surface), Source: *row.Source}
	}
	return z
}
