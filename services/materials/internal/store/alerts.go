package store

import (
	"context"
	"errors"
	"time"

	"github.com/jackc/pgx/v5"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/pg"
	"tackfree/services/materials/internal/materials"
	"tackfree/services/materials/internal/store/storedb"
)

// AlertScope says which alerts are meant: those of products, of some or of all if nil, or all others.
type AlertScope struct {
	OfProducts bool
	Products   []id.ID
}

// TryAlerts reports whether nobody else keeps alerts, and keeps others from it until the
// transaction ends, which reads as of one moment. It is the first thing asked in it.
func (s Store) TryAlerts(ctx context.Context) (bool, error) {
	if err := s.q.OneMoment(ctx); err != nil {
		return false, err
	}
	return s.q.TryAlertLock(ctx, pg.LockID("materials", "alerts"))
}

// OpenAlerts reads the alerts that are open.
func (s Store) OpenAlerts(ctx context.Context, scope AlertScope) ([]materials.OpenAlert, error) {
	rows, err := s.q.OpenAlerts(ctx, storedb.OpenAlertsParams{Kinds: ofProducts(), Others: !scope.OfProducts, Products: scope.Products})
	if err != nil {
		return nil, err
	}
	open := make([]materials.OpenAlert, len(rows))
	for n, row := range rows {
		open[n] = materials.OpenAlert{ID: row.ID, Alert: materials.Alert{
			Kind: materials.AlertKind(row.Kind), Key: row.Key, Product: row.ProductID.UUID, Text: row.Text, Due: instant(row.Due)}}
	}
	return open, nil
}

func ofProducts() (kinds []string) {
	for _, k := range materials.OfProducts {
		kinds = append(kinds, string(k))
	}
	return kinds
}

// ChangeAlerts writes what became of alerts, each at the next position of the feed.
func (s Store) ChangeAlerts(ctx context.Context, changes []materials.ChangedAlert, at time.Time) error {
	last, err := s.q.TakeAlertPositions(ctx, int64(len(changes)))
	if err != nil {
		return err
	}
	for n, c := range changes {
		err = errors.Join(err, s.changeAlert(ctx, c, last-int64(len(changes)-1-n), at))
	}
	return err
}

func (s Store) changeAlert(ctx context.Context, c materials.ChangedAlert, position int64, at time.Time) error {
	var err error
	switch c.Change {
	case materials.AlertRaised:
		err = s.q.InsertAlert(ctx, storedb.InsertAlertParams{ID: c.ID, Kind: string(c.Kind), Key: c.Key, ProductID: unlessNil(c.Product),
			Text: c.Text, Due: unlessZero(c.Due), At: at, Position: position})
	case materials.AlertUpdated:
		err = s.q.UpdateAlert(ctx, storedb.UpdateAlertParams{ID: c.ID, Text: c.Text, Due: unlessZero(c.Due), At: at, Position: position})
	case materials.AlertClosed:
		err = s.q.CloseAlert(ctx, storedb.CloseAlertParams{ID: c.ID, At: &at, Position: position})
	}
	return errors.Join(err, s.q.InsertAlertChange(ctx, storedb.InsertAlertChangeParams{
		Position: position, AlertID: c.ID, Change: string(c.Change), Text: c.Text, Due: unlessZero(c.Due), At: at}))
}

// SeenAlert is an alert as it is shown.
type SeenAlert struct {
	materials.OpenAlert
	ProductName                   string
	RaisedAt, UpdatedAt, ClosedAt time.Time // zero: it is open
}

// AlertKey is a place in the order of alerts; the zero key is before the newest.
type AlertKey struct {
	At time.Time
	ID id.ID
}

// AlertFilter says which alerts are meant.
type AlertFilter struct {
	Product   id.ID // id.Nil: of any, or of none
	ClosedToo bool
	Since     time.Time // when they were raised
}

// Alerts reads up to limit alerts that are older than a place, newest first.
func (s Store) Alerts(ctx context.Context, f AlertFilter, before AlertKey, limit int32) ([]SeenAlert, error) {
	if before.At.IsZero() {
		before.At = time.Date(9999, 1, 1, 0, 0, 0, 0, time.UTC)
	}
	rows, err := s.q.ListAlerts(ctx, storedb.ListAlertsParams{BeforeAt: before.At, BeforeID: before.ID, Since: f.Since,
		ClosedToo: f.ClosedToo, ProductID: unlessNil(f.Product), PageLimit: limit})
	if err != nil {
		return nil, err
	}
	all := make([]SeenAlert, len(rows))
	for n, row := range rows {
		all[n] = fromAlertRow(row.Alert, row.ProductName)
	}
	return all, nil
}

func fromAlertRow(row storedb.Alert, productName string) SeenAlert {
	return SeenAlert{ProductName: productName, RaisedAt: row.RaisedAt.UTC(), UpdatedAt: row.UpdatedAt.UTC(), ClosedAt: instant(row.ClosedAt),
		OpenAlert: materials.OpenAlert{ID: row.ID, Alert: materials.Alert{
			Kind: materials.AlertKind(row.Kind), Key: row.Key, Product: row.ProductID.UUID, Text: row.Text, Due: instant(row.Due)}}}
}

// ToldAlert is one thing that became of an alert.
type ToldAlert struct {
	SeenAlert // as it was then
	Change    materials.AlertChange
	Position  int64
}

// AlertPosition is how much was told of alerts so far.
func (s Store) AlertPosition(ctx context.Context) (int64, error) { return s.q.AlertPosition(ctx) }

// AlertAt is of which alert was told at a position; id.Nil at 0. Fault: POSITION_UNKNOWN.
func (s Store) AlertAt(ctx context.Context, position int64) (id.ID, error) {
	if position == 0 {
		return id.Nil, nil
	}
	alert, err := s.q.AlertOfPosition(ctx, position)
	if errors.Is(err, pgx.ErrNoRows) {
		return id.Nil, ErrAlertPosition
	}
	return alert, err
}

// ErrAlertPosition is the fault POSITION_UNKNOWN.
var ErrAlertPosition = fault.New(fault.Invalid, "POSITION_UNKNOWN", "This position is not of these alerts; watch again without one.").At("position")

// AlertsAfter reads up to limit of what was told after a position.
func (s Store) AlertsAfter(ctx context.Context, position int64, limit int32) ([]ToldAlert, error) {
	rows, err := s.q.AlertChangesAfter(ctx, storedb.AlertChangesAfterParams{Position: position, PageLimit: limit})
	if err != nil {
		return nil, err
	}
	told := make([]ToldAlert, len(rows))
	for n, row := range rows {
		seen := fromAlertRow(row.Alert, row.ProductName)
		seen.Text, seen.Due, seen.UpdatedAt, seen.ClosedAt = row.Text, instant(row.Due), row.At.UTC(), time.Time{}
		if told[n] = (ToldAlert{seen, materials.AlertChange(row.Change), row.Position}); told[n].Change == materials.AlertClosed {
			told[n].ClosedAt = row.At.UTC()
		}
	}
	return told, nil
}

// instant is the zero time for null.
func instant(t *time.Time) time.Time {
	if t == nil {
		return time.Time{}
	}
	return t.UTC()
}
