package server

import (
	"context"
	"fmt"
	"strconv"
	"strings"

	"google.golang.org/grpc"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/pg"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	"tackfree/services/materials/internal/materials"
	"tackfree/services/materials/internal/store"
)

// watchBatch is how much of the feed is read at once.
const watchBatch = 500

// WatchAlerts implements RestockService.
func (s *Server) WatchAlerts(r *materialsv1.WatchAlertsRequest, stream grpc.ServerStreamingServer[materialsv1.WatchAlertsResponse]) error {
	at, err := s.watchAlertsFrom(stream.Context(), r.Position, stream.Send)
	if err != nil {
		return err
	}
	err = s.feed.Watch(stream.Context(), s.Stop, func(ctx context.Context) error {
		for {
			var told []store.ToldAlert
			err := s.DB.View(ctx, func(q pg.Querier) (err error) {
				told, err = store.New(q).AlertsAfter(ctx, at, watchBatch)
				return err
			})
			if err != nil {
				return err
			}
			for _, t := range told {
				if err := stream.Send(encodeTold(t)); err != nil {
					return err
				}
				at = t.Position
			}
			if len(told) < watchBatch {
				return nil
			}
		}
	})
	if err != nil {
		return err
	}
	return fault.New(fault.Unavailable, "SERVICE_STOPPING", "The service is stopping; watch again from the last position in a moment.")
}

// watchAlertsFrom reads where to begin. From no position on it first sends the alerts that are
// open, and then where the changes begin that these do not show. Fault: POSITION_UNKNOWN.
func (s *Server) watchAlertsFrom(ctx context.Context, position string, send func(*materialsv1.WatchAlertsResponse) error) (at int64, err error) {
	if position != "" {
		return s.resumeAlerts(ctx, position)
	}
	var open []store.SeenAlert
	var last id.ID
	err = s.DB.Snapshot(ctx, func(q pg.Querier) (err error) {
		st := store.New(q)
		if at, err = st.AlertPosition(ctx); err != nil {
			return err
		}
		if last, err = st.AlertAt(ctx, at); err != nil {
			return err
		}
		open, err = allOpen(ctx, st)
		return err
	})
	if err != nil {
		return at, err
	}
	for _, a := range open {
		if err := send(&materialsv1.WatchAlertsResponse{Alert: encodeAlert(a)}); err != nil {
			return at, err
		}
	}
	return at, send(&materialsv1.WatchAlertsResponse{Position: alertToken(at, last)})
}

// allOpen reads all that are open, newest first.
func allOpen(ctx context.Context, st store.Store) (all []store.SeenAlert, err error) {
	for before := (store.AlertKey{}); ; {
		some, err := st.Alerts(ctx, store.AlertFilter{}, before, watchBatch)
		if err != nil {
			return nil, err
		}
		all = append(all, some...)
		if len(some) < watchBatch {
			return all, nil
		}
		before = store.AlertKey{At: all[len(all)-1].RaisedAt, ID: all[len(all)-1].ID}
	}
}

// alertToken writes a position with a part of the alert that it is of, so that one of another
// database, such as that before a backup was put back, is known for one.
func alertToken(position int64, of id.ID) string {
	return fmt.Sprintf("%d-%s", position, of.String()[24:])
}

func (s *Server) resumeAlerts(ctx context.Context, position string) (at int64, err error) {
	number, _, _ := strings.Cut(position, "-")
	if at, err = strconv.ParseInt(number, 10, 64); err != nil || at < 0 {
		return at, store.ErrAlertPosition
	}
	err = s.DB.View(ctx, func(q pg.Querier) error {
		of, err := store.New(q).AlertAt(ctx, at)
		if err == nil && alertToken(at, of) != position {
			err = store.ErrAlertPosition
		}
		return err
	})
	return at, err
}

func encodeTold(t store.ToldAlert) *materialsv1.WatchAlertsResponse {
	return &materialsv1.WatchAlertsResponse{Position: alertToken(t.Position, t.ID), Alert: encodeAlert(t.SeenAlert), Change: map[materials.AlertChange]materialsv1.WatchAlertsResponse_Change{
		materials.AlertRaised:  materialsv1.WatchAlertsResponse_CHANGE_RAISED,
		materials.AlertUpdated: materialsv1.WatchAlertsResponse_CHANGE_UPDATED,
		materials.AlertClosed:  materialsv1.WatchAlertsResponse_CHANGE_CLOSED,
	}[t.Change]}
}
