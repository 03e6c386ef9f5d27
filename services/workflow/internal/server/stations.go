package server

import (
	"context"

	"tackfree/pkg/once"
	"tackfree/pkg/outbox"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

// SaveStation implements StationService.
func (s *Server) SaveStation(ctx context.Context, r *workflowv1.SaveStationRequest) (*workflowv1.SaveStationResponse, error) {
	now := s.Shop.Now()
	station, err := decodeStation(r.Station)
	if err != nil {
		return nil, fieldIn(err, "station")
	}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*workflowv1.SaveStationResponse, error) {
		saved, err := saveStation(ctx, store.New(tx), station, r.Station.Etag)
		if err != nil {
			return nil, err
		}
		e := outbox.Event{Kind: "station", Aggregate: saved.ID, Version: saved.Version, OccurredAt: now, Payload: stationSaved(saved)}
		return &workflowv1.SaveStationResponse{Station: encodeStation(saved)}, s.Log.Append(ctx, tx, e, now)
	})
}

// saveStation writes a station under its lock; what stands there stays.
func saveStation(ctx context.Context, st store.Store, station workflow.Station, etag string) (workflow.Station, error) {
	stationID, version, err := st.LockStation(ctx, station.Word, station.ID)
	if err != nil {
		return station, err
	}
	if err := wire.CheckEtag(etag, version); err != nil {
		return station, err
	}
	station.ID, station.Version = stationID, version+1
	zone, err := zoneOrNone(ctx, st, station.ZoneWord)
	if err != nil {
		return station, fieldIn(err, "station")
	}
	station.Zone = zone.ID
	if version > 0 {
		before, err := st.Station(ctx, station.Word)
		if err != nil {
			return station, err
		}
		station.Holds = before.Holds
	}
	if err := station.CheckHolds(); err != nil {
		return station, err
	}
	return station, st.SaveStation(ctx, station)
}

// ListStations implements StationService.
func (s *Server) ListStations(ctx context.Context, _ *workflowv1.ListStationsRequest) (*workflowv1.ListStationsResponse, error) {
	var stations []workflow.Station
	err := s.DB.View(ctx, func(q pg.Querier) (err error) {
		stations, err = store.New(q).Stations(ctx)
		return err
	})
	if err != nil {
		return nil, err
	}
	out := &workflowv1.ListStationsResponse{}
	for _, station := range stations {
		out.Stations = append(out.Stations, encodeStation(station))
	}
	return out, nil
}
