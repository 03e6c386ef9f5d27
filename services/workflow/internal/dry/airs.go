package dry

import (
	"context"
	"time"

	"tackfree/pkg/id"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

// Airs reads the air of zones when a clock first needs it, once for all clocks, which then
// share their curves.
type Airs struct {
	Zone  *time.Location // by whose clock a day has its hours
	Since time.Time      // when the first clock began
	zones map[id.ID]workflow.ZoneAir
	known *workflow.Airs
}

// Of has the air of all zones in which the clocks stood.
func (a *Airs) Of(ctx context.Context, st store.Store, clocks ...workflow.DryClock) (*workflow.Airs, error) {
	for _, c := range clocks {
		if a.known == nil || c.Laid.Before(a.Since) {
			a.forget(c.Laid)
		}
		for _, stay := range c.Stays {
			if err := a.read(ctx, st, stay.Zone); err != nil {
				return nil, err
			}
		}
	}
	return a.known, nil
}

// forget starts over, with what was read since an earlier time.
func (a *Airs) forget(since time.Time) {
	if a.Since.IsZero() || since.Before(a.Since) {
		a.Since = since
	}
	a.zones = map[id.ID]workflow.ZoneAir{}
	a.known = workflow.NewAirs(a.zones)
}

func (a *Airs) read(ctx context.Context, st store.Store, zone id.ID) error {
	if _, known := a.zones[zone]; known {
		return nil
	}
	air, err := st.Air(ctx, zone, a.Since, a.Zone)
	if err != nil {
		return err
	}
	a.zones[zone] = air
	return nil
}

// Forecast computes those of the clocks anew of which something is known that their
// forecast has not seen. What has ended, and what work has gone on over since, stays as it
// was; overtaken are those clocks, by their stages.
func (a *Airs) Forecast(ctx context.Context, st store.Store, clocks []workflow.DryClock, overtaken map[id.ID]bool, now time.Time) error {
	for i := range clocks {
		c := &clocks[i]
		if c.Past(now) || c.Over && overtaken[c.Stage] {
			continue
		}
		known, err := a.Of(ctx, st, *c)
		if err != nil {
			return err
		}
		if c.Seen >= known.Count(c.Stays) && c.Learned >= c.Lessons {
			continue
		}
		if err := c.Forecast(known); err != nil {
			return err
		}
	}
	return nil
}
