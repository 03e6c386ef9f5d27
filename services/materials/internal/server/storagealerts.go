package server

import (
	"context"
	"time"

	"tackfree/pkg/pg"
	"tackfree/services/materials/internal/materials"
	"tackfree/services/materials/internal/store"
)

// mostExpiring is how many lots are warned of at a time; those that expire first.
const mostExpiring = 1000

// storageAlerts warn of flammable liquids over a limit, of lots that expire, and of oily waste
// that nobody said was put away.
func (s *Server) storageAlerts(ctx context.Context, q pg.Querier, now time.Time) (alerts []materials.Alert, err error) {
	st := store.New(q)
	stored, err := st.Stored(ctx)
	if err != nil {
		return nil, err
	}
	places, areas := materials.CountFlammables(stored)
	alerts = append(materials.FlammableAlerts(areas), materials.FlammableAlerts(places)...)
	lots, err := st.Expiring(ctx, materials.ExpiryHorizon(now), store.ExpiryKey{}, false, mostExpiring)
	if err != nil {
		return nil, err
	}
	for _, l := range lots {
		alerts = append(alerts, l.Alert(now, s.Shop.Zone))
	}
	days, err := st.OpenOilyWork(ctx)
	if err != nil {
		return nil, err
	}
	return append(alerts, materials.OilyAlert(days, now, s.Shop.Zone)...), nil
}
