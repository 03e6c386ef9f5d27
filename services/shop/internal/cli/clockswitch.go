package cli

import (
	"fmt"

	"tackfree/pkg/fault"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/client"
)

type switchCmd struct {
	startArgs
	Finish bool `help:"What they leave is finished, so that they can go on to what comes after it."`
}

func (c *switchCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		s, err := c.read(e, shop)
		if err != nil {
			return err
		}
		resp, err := shop.Clocks.SwitchClock(e.ctx, &workflowv1.SwitchClockRequest{RequestId: c.request(), Person: s.who.Name, Stage: s.on.stage, Batch: s.on.batch, Indirect: s.on.indirect,
			SwitchTime: s.at, AcknowledgedCautions: c.cautions(), OverrideReason: c.Override, Station: s.station, Finish: c.Finish})
		if err != nil {
			return withFlag(c.withFinish(err))
		}
		return c.print(e, resp, func() error {
			if err := sayOff(e, shop, s.who, "off", first(resp.Ended), len(resp.Ended)); err != nil {
				return err
			}
			if resp.Finished != nil {
				fmt.Fprintf(e.out, "%s is finished.\n", client.Title(resp.Finished))
			}
			return sayOn(e, shop, s.who, resp.Begun, resp.Notices)
		})
	})
}

// withFinish says of a stage that waits for others what is to be typed if they leave the last one.
func (c *switchCmd) withFinish(err error) error {
	f := fault.Of(err)
	if f == nil || f.Reason != "STAGE_NOT_READY" || c.Finish {
		return err
	}
	return fault.New(f.Kind, f.Reason, "%s If that is what they leave and it is done, type the line again with --finish.", f.Text)
}

// first is the first of several entries, which tells for all of a stretch.
func first(entries []*workflowv1.ClockEntry) *workflowv1.ClockEntry {
	if len(entries) == 0 {
		return nil
	}
	return entries[0]
}

type pauseCmd struct{ whoArgs }

func (c *pauseCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		who, at, err := c.hands(e, shop)
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
	whoArgs
	Override string `help:"Why it goes on although the part, the station or the air is not ready for it." placeholder:"REASON"`
	cautionFlags
}

func (c *resumeCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		who, at, err := c.hands(e, shop)
		if err != nil {
			return err
		}
		resp, err := shop.Clocks.ResumeClock(e.ctx, &workflowv1.ResumeClockRequest{RequestId: c.request(), Person: who.Name, ResumeTime: at, OverrideReason: c.Override,
			AcknowledgedCautions: c.cautions()})
		if err != nil {
			return withFlag(err)
		}
		return c.print(e, resp, func() error { return sayOn(e, shop, who, resp.ClockEntries, resp.Notices) })
	})
}
