package server

import (
	"context"
	"fmt"
	"slices"
	"time"

	"tackfree/pkg/caller"
	"tackfree/pkg/id"
	"tackfree/pkg/once"
	"tackfree/pkg/page"
	"tackfree/pkg/pg"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

// read is a reading of which the zone is still only named, and where in the request it is.
type read struct {
	workflow.Reading
	word string
	path string // empty, or with a dot at its end
}

// RecordReading implements ClimateService.
func (s *Server) RecordReading(ctx context.Context, r *workflowv1.RecordReadingRequest) (*workflowv1.RecordReadingResponse, error) {
	reading, err := s.decodeReading("reading.", r.Reading)
	if err != nil {
		return nil, err
	}
	return once.Do(ctx, s.DB, r, s.Shop.Now(), func(ctx context.Context, tx *pg.Tx) (*workflowv1.RecordReadingResponse, error) {
		repeats, err := s.record(ctx, tx, []read{reading})
		return &workflowv1.RecordReadingResponse{Duplicate: repeats > 0}, err
	})
}

// RecordReadings implements ClimateService.
func (s *Server) RecordReadings(ctx context.Context, r *workflowv1.RecordReadingsRequest) (*workflowv1.RecordReadingsResponse, error) {
	readings := make([]read, len(r.Readings))
	for i, m := range r.Readings {
		var err error
		if readings[i], err = s.decodeReading(fmt.Sprintf("readings[%d].", i), m); err != nil {
			return nil, err
		}
	}
	return once.Do(ctx, s.DB, r, s.Shop.Now(), func(ctx context.Context, tx *pg.Tx) (*workflowv1.RecordReadingsResponse, error) {
		repeats, err := s.record(ctx, tx, readings)
		return &workflowv1.RecordReadingsResponse{Recorded: int32(len(readings) - repeats), Duplicates: int32(repeats)}, err
	})
}

// record writes readings and, after the commit, has what dries there computed anew. It
// counts those that said nothing new.
func (s *Server) record(ctx context.Context, tx *pg.Tx, readings []read) (repeats int, err error) {
	st := store.New(tx)
	known, err := lockZones(ctx, st, readings)
	if err != nil {
		return 0, err
	}
	all := make([]workflow.Reading, len(readings))
	for i, r := range readings {
		all[i] = r.Reading
		all[i].Zone = known[r.word]
	}
	held, repeats := workflow.Hold(all)
	there, err := st.InsertReadings(ctx, held, caller.Of(ctx).Actor, s.Shop.Now())
	tx.After(s.Wake)
	return repeats + there, err
}

// lockZones locks the zones of readings. Fault: ZONE_NOT_FOUND, at the reading.
func lockZones(ctx context.Context, st store.Store, readings []read) (map[string]id.ID, error) {
	var words []string
	for _, r := range readings {
		words = append(words, r.word)
	}
	slices.Sort(words)
	known, err := st.LockZones(ctx, slices.Compact(words))
	if err != nil {
		return nil, err
	}
	for _, r := range readings {
		if _, there := known[r.word]; !there {
			return nil, store.NoZone(r.word).At(r.path + "zone")
		}
	}
	return known, nil
}

func (s *Server) decodeReading(path string, m *workflowv1.Reading) (r read, err error) {
	r = read{path: path, Reading: workflow.Reading{Celsius: m.GetCelsius(), Humidity: m.GetHumidityPercent(), Source: m.GetSource()}}
	if m != nil {
		r.Surface = m.SurfaceCelsius
	}
	if r.word, err = readZone(path+"zone", m.GetZone()); err != nil {
		return r, err
	}
	if r.At, err = s.Shop.Instant(path+"read_time", m.GetReadTime()); err != nil {
		return r, err
	}
	return r, r.Check(path)
}

// ListReadings implements ClimateService.
func (s *Server) ListReadings(ctx context.Context, r *workflowv1.ListReadingsRequest) (*workflowv1.ListReadingsResponse, error) {
	word, err := readZone("zone", r.Zone)
	if err != nil {
		return nil, err
	}
	from, to, err := between(r.FromTime, r.ToTime)
	if err != nil {
		return nil, err
	}
	var after time.Time
	if err := page.Read(r.PageToken, &after); err != nil {
		return nil, err
	}
	size := page.Size(r.PageSize)
	var readings []workflow.Reading
	err = s.DB.Snapshot(ctx, func(q pg.Querier) error {
		st := store.New(q)
		zone, err := st.Zone(ctx, word)
		if err != nil {
			return err
		}
		readings, err = st.Readings(ctx, zone.ID, from, to, after, size)
		return err
	})
	if err != nil {
		return nil, err
	}
	out := &workflowv1.ListReadingsResponse{NextPageToken: page.Next(readings, size, func(r workflow.Reading) any { return r.At })}
	for _, r := range readings {
		out.Readings = append(out.Readings, encodeReading(word, r))
	}
	return out, nil
}
