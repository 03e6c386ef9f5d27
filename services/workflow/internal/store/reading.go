package store

import (
	"context"
	"math"
	"time"

	"github.com/jackc/pgx/v5/pgtype"

	"tackfree/pkg/climate"
	"tackfree/pkg/drying"
	"tackfree/pkg/id"
	"tackfree/services/workflow/internal/store/storedb"
	"tackfree/services/workflow/internal/workflow"
)

// InsertReadings writes readings of zones that are locked, no two of one zone at one
// instant, and counts those that were there already and the same. The later one of an
// instant holds.
func (s Store) InsertReadings(ctx context.Context, readings []workflow.Reading, actor string, now time.Time) (repeats int, err error) {
	row := storedb.InsertReadingsParams{Actor: actor, RecordedAt: now}
	for _, r := range readings {
		surface := math.NaN() // an array of numbers has no other way to say that there is none
		if r.Surface != nil {
			surface = *r.Surface
		}
		row.ZoneIds, row.ReadAt, row.Sources = append(row.ZoneIds, r.Zone), append(row.ReadAt, r.At), append(row.Sources, r.Source)
		row.Celsius, row.Humidity, row.Surface = append(row.Celsius, r.Celsius), append(row.Humidity, r.Humidity), append(row.Surface, surface)
	}
	changed, err := s.q.InsertReadings(ctx, row)
	if err != nil {
		return 0, err
	}
	more := map[id.ID]int64{}
	for _, zone := range changed {
		more[zone]++
	}
	for zone, n := range more {
		if err := s.q.CountReadings(ctx, storedb.CountReadingsParams{ID: zone, More: n}); err != nil {
			return 0, err
		}
		if err := s.noteLate(ctx, zone, readings, now); err != nil {
			return 0, err
		}
	}
	return len(readings) - len(changed), nil
}

// together is for how long late readings are taken together: far longer than it takes until
// what they change is computed.
const together = 6 * time.Hour

// noteLate notes the first of the readings of a zone if it comes late.
func (s Store) noteLate(ctx context.Context, zone id.ID, readings []workflow.Reading, now time.Time) error {
	first := now.Add(-workflow.Settles)
	for _, r := range readings {
		if r.Zone == zone && r.At.Before(first) {
			first = r.At
		}
	}
	if first.Equal(now.Add(-workflow.Settles)) {
		return nil
	}
	return s.q.NoteLateReadings(ctx, storedb.NoteLateReadingsParams{ID: zone, Now: &now, Late: first, Together: now.Add(-together)})
}

// Readings reads up to limit readings of a zone after an instant, by time, from one time to
// another; a zero time is open.
func (s Store) Readings(ctx context.Context, zone id.ID, from, to, after time.Time, limit int32) ([]workflow.Reading, error) {
	rows, err := s.q.ListReadings(ctx, storedb.ListReadingsParams{Zone: zone, After: after, Since: orNull(from), Until: orNull(to), PageLimit: limit})
	out := make([]workflow.Reading, len(rows))
	for i, row := range rows {
		out[i] = workflow.Reading{Zone: zone, At: row.ReadAt, Celsius: row.Celsius, Humidity: row.Humidity, Surface: orNil(row.Surface), Source: row.Source}
	}
	return out, err
}

// Air reads what is known of the air in a zone since an instant, thinned. Its count is read
// first: readings that come meanwhile are looked at again rather than never. id.Nil is no
// zone.
func (s Store) Air(ctx context.Context, zone id.ID, since time.Time, clock *time.Location) (air workflow.ZoneAir, err error) {
	if zone == id.Nil {
		return air, nil
	}
	if air.Count, err = s.q.ReadingsCounted(ctx, zone); err != nil || air.Count == 0 {
		return air, err
	}
	rows, err := s.q.AirSince(ctx, storedb.AirSinceParams{Zone: zone, Since: since})
	if err != nil {
		return air, err
	}
	if air.Readings, err = fromAir(rows); err != nil || len(rows) == 0 {
		return air, err
	}
	late, err := s.q.AirOfLateDays(ctx, zone)
	if err != nil {
		return air, err
	}
	days := make([]storedb.AirSinceRow, len(late))
	for i, row := range late {
		days[i] = storedb.AirSinceRow(row)
	}
	usual, err := fromAir(days)
	if err != nil {
		return air, err
	}
	air.Usual, err = drying.CycleOf(usual, clock)
	return air, err
}

func fromAir(rows []storedb.AirSinceRow) ([]drying.Reading, error) {
	out := make([]drying.Reading, len(rows))
	for i, row := range rows {
		air, err := climate.NewAir(row.Celsius, row.Humidity)
		if err != nil {
			return nil, err
		}
		out[i] = drying.Reading{At: row.ReadAt, Air: air}
	}
	return out, nil
}

// orNil gives the value behind a nullable column of numbers.
func orNil(f pgtype.Float8) *float64 {
	if !f.Valid {
		return nil
	}
	return &f.Float64
}
