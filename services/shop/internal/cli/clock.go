package cli

import (
	"cmp"
	"fmt"
	"strings"

	"tackfree/pkg/fault"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type clockCmd struct {
	On      clockOnCmd     `cmd:"" help:"Clock somebody on at a stage."`
	Off     clockOffCmd    `cmd:"" help:"Clock somebody off."`
	Record  recordCmd      `cmd:"" help:"Write down work that nobody clocked."`
	Correct correctCmd     `cmd:"" help:"Correct a closed entry, or with --take-away remove it; the old one is kept."`
	List    listEntriesCmd `cmd:"" help:"List clock entries."`
}

type clockOnCmd struct {
	timed
	Who string `arg:"" help:"Display name."`
	stageArgs
	Acknowledge []string `help:"Cautions of the stage that they have read, as the refusal names them." placeholder:"CAUTION,…" sep:"none"`
	Override    string   `help:"Why it starts although the part or the air is not ready for it." placeholder:"REASON"`
}

func (c *clockOnCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		who, err := shop.Person(e.ctx, c.Who)
		if err != nil {
			return err
		}
		stage, err := c.find(e.ctx, shop)
		if err != nil {
			return err
		}
		at, err := c.at(e.ctx, shop)
		if err != nil {
			return err
		}
		resp, err := shop.Clocks.ClockOn(e.ctx, &workflowv1.ClockOnRequest{RequestId: c.request(), Person: who.Name, Stage: stage.Name, StartTime: at,
			AcknowledgedCautions: c.cautions(), OverrideReason: c.Override})
		if err != nil {
			return withFlag(err)
		}
		return c.print(e, resp, func() error {
			terms, err := shop.Terms(e.ctx)
			if err != nil {
				return err
			}
			_, err = fmt.Fprintf(e.out, "%s is on the clock at %s of piece %d since %s.\n", who.DisplayName, client.Title(stage),
				resp.ClockEntry.PieceTag, terms.Clock(resp.ClockEntry.StartTime))
			return err
		})
	})
}

// cautions are the ids, typed one by one or with commas between them.
func (c *clockOnCmd) cautions() (ids []string) {
	for _, typed := range c.Acknowledge {
		for id := range strings.SplitSeq(typed, ",") {
			if id = strings.TrimSpace(id); id != "" {
				ids = append(ids, id)
			}
		}
	}
	return ids
}

// withFlag says of cautions that are to be read first what then is to be typed.
func withFlag(err error) error {
	f := fault.Of(err)
	if f == nil || f.Reason != "CAUTIONS_NOT_ACKNOWLEDGED" {
		return err
	}
	return fault.New(f.Kind, f.Reason, "%s Type the line again with --acknowledge %s.", f.Text, f.Meta["cautions"])
}

type clockOffCmd struct {
	timed
	Who string `arg:"" help:"Display name."`
}

func (c *clockOffCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		who, err := shop.Person(e.ctx, c.Who)
		if err != nil {
			return err
		}
		at, err := c.at(e.ctx, shop)
		if err != nil {
			return err
		}
		resp, err := shop.Clocks.ClockOff(e.ctx, &workflowv1.ClockOffRequest{RequestId: c.request(), Person: who.Name, EndTime: at})
		if err != nil {
			return err
		}
		entry := resp.ClockEntry
		return c.print(e, resp, func() error {
			title, err := titleOf(e, client.NewTitles(shop), entry.Stage, entry.StageKind)
			if err != nil {
				return err
			}
			worked := entry.EndTime.AsTime().Sub(entry.StartTime.AsTime())
			_, err = fmt.Fprintf(e.out, "%s is off the clock after %s at %s of piece %d.\n", who.DisplayName, report.Length(worked), title, entry.PieceTag)
			return err
		})
	})
}

// titleOf is what people call a stage; its kind, should its piece no longer have it.
func titleOf(e *env, titles *client.Titles, stage, kind string) (string, error) {
	title, err := titles.Of(e.ctx, stage)
	return cmp.Or(title, report.Kind(kind)), err
}

type recordCmd struct {
	command
	Who string `arg:"" help:"Display name."`
	stageArgs
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
		stage, err := c.find(e.ctx, shop)
		if err != nil {
			return err
		}
		r := &workflowv1.RecordClockEntryRequest{RequestId: c.request(), Person: who.Name, Stage: stage.Name, Reason: c.Reason}
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
		return c.print(e, resp, func() error { return printEntries(e, shop, []*workflowv1.ClockEntry{resp.ClockEntry}) })
	})
}
