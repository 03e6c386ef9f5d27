package server

import (
	"cmp"
	"context"
	"errors"
	"log/slog"
	"time"

	"tackfree/pkg/caller"
	"tackfree/pkg/id"
	"tackfree/pkg/outbox"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	"tackfree/services/materials/internal/materials"
	"tackfree/services/materials/internal/store"
)

const (
	// alertPass is how often all alerts are looked at anew: for what only time changes, and for
	// what another copy of the service wrote down and did not live to look at.
	alertPass = 30 * time.Second
	// alertPace is between two looks, so that what changes at once is looked at as one.
	alertPace = 200 * time.Millisecond
	// alertPatience is the longest between two looks that fail, of which each waits twice as long
	// as the one before.
	alertPatience = 10 * time.Second
)

// AlertSource gives the alerts of one topic that are due, all of them. It only reads.
type AlertSource = func(ctx context.Context, q pg.Querier, now time.Time) ([]materials.Alert, error)

// KeepAlerts keeps the alerts current until ctx ends: all of them at first and each so often,
// 0 is the usual, and what changed at once. One copy of the service does so at a time.
func (s *Server) KeepAlerts(ctx context.Context, every time.Duration, logger *slog.Logger) {
	ctx = caller.With(ctx, caller.Caller{Actor: "alerts"})
	tick := time.NewTicker(cmp.Or(every, alertPass))
	defer tick.Stop()
	s.changedAll()
	wait := alertPace
	for ctx.Err() == nil {
		if err := s.askShifts(ctx, s.Shop.Now()); err != nil && ctx.Err() == nil {
			logger.WarnContext(ctx, "nobody could say when shifts end, trying again; until then oily waste is due as if the shop closed", "error", err)
		}
		err := s.LookAtAlerts(ctx)
		if wait = patience(wait, err); err != nil && ctx.Err() == nil && !errors.Is(err, errAlertsBusy) {
			logger.WarnContext(ctx, "alerts cannot be kept, trying again", "error", err, "after", wait)
		}
		select {
		case <-ctx.Done():
		case <-time.After(wait):
		}
		select {
		case <-ctx.Done():
		case <-s.dirt.wakes():
		case <-tick.C:
			s.changedAll()
		}
	}
}

// patience is how long to wait after a look that ended so.
func patience(before time.Duration, err error) time.Duration {
	if err == nil {
		return alertPace
	}
	return min(2*before, alertPatience)
}

var errAlertsBusy = errors.New("another copy of the service looks at the alerts")

// LookAtAlerts brings the alerts up to date: those of the products that changed, and those of no
// product. What could not be looked at counts as changed still.
func (s *Server) LookAtAlerts(ctx context.Context) error {
	err := s.learnUsage(ctx)
	all, products := s.dirt.take()
	if all || len(products) > 0 {
		err = errors.Join(err, s.lookAtProducts(ctx, all, products))
	}
	if err = errors.Join(err, s.lookAt(ctx, store.AlertScope{}, s.otherAlerts)); err != nil {
		s.dirt.add(all, products)
	}
	return err
}

// learnUsage learns from what was written down of stages after they were finished.
func (s *Server) learnUsage(ctx context.Context) error {
	return s.DB.InTx(ctx, func(ctx context.Context, tx *pg.Tx) error {
		st := store.New(tx)
		methods, err := st.UsageNoted(ctx)
		if err != nil || len(methods) == 0 {
			return err
		}
		if err := errors.Join(st.LockNeeds(ctx), st.Learn(ctx, methods)); err != nil {
			return err
		}
		moved, err := st.SetQuantities(ctx)
		tx.After(func() { s.Changed(moved...) })
		return err
	})
}

// lookAtProducts looks at the alerts of products and of what they are mixed of, or of all.
func (s *Server) lookAtProducts(ctx context.Context, all bool, products []id.ID) error {
	scope := store.AlertScope{OfProducts: true}
	if !all {
		err := s.DB.View(ctx, func(q pg.Querier) error {
			mixtures, err := store.New(q).Mixtures(ctx)
			scope.Products = mixtures.Makings(products)
			return err
		})
		if err != nil {
			return err
		}
	}
	return s.lookAt(ctx, scope, func(ctx context.Context, q pg.Querier, now time.Time) ([]materials.Alert, error) {
		return s.productAlerts(ctx, q, scope.Products, now)
	})
}

// lookAt changes the alerts of a scope to those that are due now.
func (s *Server) lookAt(ctx context.Context, scope store.AlertScope, source AlertSource) error {
	now := s.Shop.Now().UTC().Truncate(time.Millisecond)
	return s.DB.InTx(ctx, func(ctx context.Context, tx *pg.Tx) error {
		st := store.New(tx)
		if mine, err := st.TryAlerts(ctx); err != nil || !mine {
			return cmp.Or(err, errAlertsBusy)
		}
		due, err := source(ctx, tx, now)
		if err != nil {
			return err
		}
		open, err := st.OpenAlerts(ctx, scope)
		if err != nil {
			return err
		}
		changes := materials.Changes(open, due, id.New)
		if len(changes) == 0 {
			return nil
		}
		tx.After(s.feed.Tell)
		return errors.Join(st.ChangeAlerts(ctx, changes, now), s.tellAlerts(ctx, tx, changes, now))
	})
}

func (s *Server) productAlerts(ctx context.Context, q pg.Querier, products []id.ID, now time.Time) (all []materials.Alert, err error) {
	advice, err := s.advise(ctx, q, products, now)
	for _, a := range advice {
		all = append(all, a.Alerts(s.Shop.Zone)...)
	}
	return all, err
}

// otherAlerts are those of orders and of all topics that gave a source.
func (s *Server) otherAlerts(ctx context.Context, q pg.Querier, now time.Time) ([]materials.Alert, error) {
	late, err := store.New(q).Late(ctx, now)
	if err != nil {
		return nil, err
	}
	all := materials.Overdue(late, now, s.Shop.Zone)
	for _, source := range append([]AlertSource{s.storageAlerts, s.equipmentAlerts}, s.AlertSources...) {
		some, err := source(ctx, q, now)
		if err != nil {
			return nil, err
		}
		all = append(all, some...)
	}
	return all, nil
}

// tellAlerts appends that alerts were raised, the first thing of each, and closed, the second;
// what is said anew in between is for who watches.
func (s *Server) tellAlerts(ctx context.Context, tx *pg.Tx, changes []materials.ChangedAlert, now time.Time) error {
	var err error
	for _, c := range changes {
		e := outbox.Event{Kind: "alert", Aggregate: c.ID, OccurredAt: now}
		switch c.Change {
		case materials.AlertRaised:
			e.Version, e.Payload = 1, &eventsv1.StockAlertRaised{AlertId: c.ID.String(), Kind: string(c.Kind), ProductId: orNone(c.Product), Text: c.Text, DueAt: wire.ToInstant(c.Due)}
		case materials.AlertClosed:
			e.Version, e.Payload = 2, &eventsv1.StockAlertClosed{AlertId: c.ID.String(), Kind: string(c.Kind), ProductId: orNone(c.Product), Text: c.Text}
		default:
			continue
		}
		err = errors.Join(err, s.Log.Append(ctx, tx, e, now))
	}
	return err
}

// orNone writes no id as nothing.
func orNone(i id.ID) string {
	if i == id.Nil {
		return ""
	}
	return i.String()
}
