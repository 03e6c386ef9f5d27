package cli

import (
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/client"
)

type switchCmd struct {
	timed
	Who string `arg:"" help:"Display name."`
	targetArgs
	startFlags
}

func (c *switchCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		who, err := shop.Person(e.ctx, c.Who)
		if err != nil {
			return err
		}
		on, err := c.find(e.ctx, shop)
		if err != nil {
			return err
		}
		at, err := c.at(e.ctx, shop)
		if err != nil {
			return err
		}
		r := &workflowv1.SwitchClockRequest{RequestId: c.request(), Person: who.Name, Stage: on.stage, Batch: on.batch, Indirect: on.indirect, SwitchTime: at,
			AcknowledgedCautions: c.cautions(), OverrideReason: c.Override}
		if r.Station, err = optionalStation(e, shop, c.Station); err != nil {
			return err
		}
		resp, err := shop.Clocks.SwitchClock(e.ctx, r)
		if err != nil {
			return withFlag(err)
		}
		return c.print(e, resp, func() error {
			if err := sayOff(e, shop, who, "off", first(resp.Ended), len(resp.Ended)); err != nil {
				return err
			}
			return sayOn(e, shop, who, first(resp.Begun), len(resp.Begun))
		})
	})
}

// first is the first of several entries, which tells for all of a stretch.
func first(entries []*workflowv1.ClockEntry) *workflowv1.ClockEntry {
	if len(entries) == 0 {
		return nil
	}
	return entries[0]
}

type pauseCmd struct {
	timed
	Who string `arg:"" help:"Display name."`
}

func (c *pauseCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		who, err := shop.Person(e.ctx, c.Who)
		if err != nil {
			return err
		}
		at, err := c.at(e.ctx, shop)
		if err != nil {
			return err
		}
		resp, err := shop.Clocks.PauseClock(e.ctx, &workflowv1.PauseClockRequest{RequestId: c.request(), Person: who.Name, PauseTime: at})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return sayOff(e, shop, who, "away", first(resp.ClockEntries), len(resp.ClockEntries)) })
	})
}

type resumeCmd struct {
	timed
	Who      string `arg:"" help:"Display name."`
	Override string `help:"Why it goes on although the part, the station or the air is not ready for it." placeholder:"REASON"`
	cautionFlags
}

func (c *resumeCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		who, err := shop.Person(e.ctx, c.Who)
		if err != nil {
			return err
		}
		at, err := c.at(e.ctx, shop)
		if err != nil {
			return err
		}
		resp, err := shop.Clocks.ResumeClock(e.ctx, &workflowv1.ResumeClockRequest{RequestId: c.request(), Person: who.Name, ResumeTime: at, OverrideReason: c.Override,
			AcknowledgedCautions: c.cautions()})
		if err != nil {
			return withFlag(err)
		}
		return c.print(e, resp, func() error { return sayOn(e, shop, who, first(resp.ClockEntries), len(resp.ClockEntries)) })
	})
}
