package cli

import (
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/client"
)

type recordCmd struct {
	command
	Who string `arg:"" help:"Display name."`
	targetArgs
	Start  string `help:"When the work began, as --at says times elsewhere." required:"" placeholder:"TIME"`
	End    string `help:"When it ended." required:"" placeholder:"TIME"`
	Reason string `help:"Why it was not clocked." required:""`
}

func (c *recordCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		who, err := shop.Person(e.ctx, c.Who)
		if err != nil {
			return err
		}
		on, err := c.find(e.ctx, shop)
		if err != nil {
			return err
		}
		r := &workflowv1.RecordClockEntryRequest{RequestId: c.request(), Person: who.Name, Stage: on.stage, Batch: on.batch, Indirect: on.indirect, Reason: c.Reason}
		if r.StartTime, err = instant(e.ctx, shop, c.Start); err != nil {
			return err
		}
		if r.EndTime, err = instant(e.ctx, shop, c.End); err != nil {
			return err
		}
		resp, err := shop.Clocks.RecordClockEntry(e.ctx, r)
		if err != nil {
			return err
		}
		err = c.print(e, resp, func() error { return printEntries(e, shop, oneOrAll(resp.ClockEntry, resp.ClockEntries)) })
		noteClosedWork(e, shop, oneOrAll(resp.ClockEntry, resp.ClockEntries)...)
		return err
	})
}

// oneOrAll are all entries of a stretch, or the one that there is.
func oneOrAll(one *workflowv1.ClockEntry, all []*workflowv1.ClockEntry) []*workflowv1.ClockEntry {
	if len(all) > 0 {
		return all
	}
	return []*workflowv1.ClockEntry{one}
}
