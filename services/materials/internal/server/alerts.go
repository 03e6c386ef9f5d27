package server

import (
	"context"
	"fmt"
	"strconv"
	"strings"

	"google.golang.org/grpc"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/page"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	"tackfree/services/materials/internal/materials"
	"tackfree/services/materials/internal/store"
)

// ListAlerts implements RestockService.
func (s *Server) ListAlerts(ctx context.Context, r *materialsv1.ListAlertsRequest) (*materialsv1.ListAlertsResponse, error) {
	filter := store.AlertFilter{ClosedToo: r.ShowClosed, Since: wire.Oldest}
	var before store.AlertKey
	if err := page.Read(r.PageToken, &before); err != nil {
		return nil, err
	}
	if r.SinceTime != nil {
		var err error
		if filter.Since, err = s.Shop.Instant("since_time", r.SinceTime); err != nil {
			return nil, err
		}
	}
	size := page.Size(r.PageSize)
	var alerts []store.SeenAlert
	err := s.DB.View(ctx, func(q pg.Querier) (err error) {
		if filter.Product, err = productNamed(ctx, q, r.Product); err != nil {
			return err
		}
		alerts, err = store.New(q).Alerts(ctx, filter, before, size)
		return err
	})
	if err != nil {
		return nil, err
	}
	out := &materialsv1.ListAlertsResponse{NextPageToken: page.Next(alerts, size, func(a store.SeenAlert) any { return store.AlertKey{At: a.RaisedAt, ID: a.ID} })}
	for _, a := range alerts {
		out.Alerts = append(out.Alerts, encodeAlert(a))
	}
	return out, nil
}

// productNamed reads the name of a product that is there; empty is id.Nil. Fault: PRODUCT_NOT_FOUND.
func productNamed(ctx context.Context, q pg.Querier, name string) (id.ID, error) {
	if name == "" {
		return id.Nil, nil
	}
	product, err := id.One("product", name, "products")
	if err != nil {
		return product, err
	}
	_, err = store.New(q).Get(ctx, product)
	return product, err
}

func encodeAlert(a store.SeenAlert) *materialsv1.Alert {
	out := &materialsv1.Alert{Name: id.Name("alerts", a.ID), Kind: string(a.Kind), ProductName: a.ProductName, Text: a.Text, DueTime: wire.ToInstant(a.Due),
		RaiseTime: wire.ToInstant(a.RaisedAt), UpdateTime: wire.ToInstant(a.UpdatedAt), CloseTime: wire.ToInstant(a.ClosedAt)}
	if a.Product != id.Nil {
		out.Product = id.Name("products", a.Product)
	}
	return out
}

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
