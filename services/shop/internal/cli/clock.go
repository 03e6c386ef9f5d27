package cli

import (
	"context"
	"fmt"
	"strings"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type clockCmd struct {
	On      clockOnCmd     `cmd:"" help:"Clock somebody on at a stage."`
	Off     clockOffCmd    `cmd:"" help:"Clock somebody off."`
	Correct correctCmd     `cmd:"" help:"Correct a closed entry, or with --take-away remove it; the old one is kept."`
	List    listEntriesCmd `cmd:"" help:"List clock entries."`
}

type clockOnCmd struct {
	command
	Who string `arg:"" help:"Display name."`
	stageArgs
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
		at, err := c.at()
		if err != nil {
			return err
		}
		resp, err := shop.Clocks.ClockOn(e.ctx, &workflowv1.ClockOnRequest{RequestId: c.request(), Person: who.Name, Stage: stage.Name, StartTime: at})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error {
			_, err := fmt.Fprintf(e.out, "%s is on the clock at %s since %s.\n", who.DisplayName, client.Title(stage), clock(resp.ClockEntry.StartTime))
			return err
		})
	})
}

type clockOffCmd struct {
	command
	Who string `arg:"" help:"Display name."`
}

func (c *clockOffCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		who, err := shop.Person(e.ctx, c.Who)
		if err != nil {
			return err
		}
		at, err := c.at()
		if err != nil {
			return err
		}
		resp, err := shop.Clocks.ClockOff(e.ctx, &workflowv1.ClockOffRequest{RequestId: c.request(), Person: who.Name, EndTime: at})
		if err != nil {
			return err
		}
		entry := resp.ClockEntry
		return c.print(e, resp, func() error {
			worked := entry.EndTime.AsTime().Sub(entry.StartTime.AsTime())
			_, err := fmt.Fprintf(e.out, "%s is off the clock after %s at %s.\n", who.DisplayName, worked, entry.StageKind)
			return err
		})
	})
}

type correctCmd struct {
	command
	Entry    string `arg:"" help:"The entry's id, as the list shows it."`
	Start    string `help:"When it really began." placeholder:"TIME"`
	End      string `help:"When it really ended." placeholder:"TIME"`
	Piece    string `help:"The piece it really was, by tag; with --stage." placeholder:"TAG"`
	Stage    string `help:"The stage it really was."`
	TakeAway bool   `help:"It never happened."`
	Reason   string `help:"Why." required:""`
}

func (c *correctCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		r := &workflowv1.CorrectClockEntryRequest{RequestId: c.request(), Reason: c.Reason, ClockEntry: "clockEntries/" + strings.TrimPrefix(c.Entry, "clockEntries/")}
		if !c.TakeAway {
			var err error
			if r.Replacement, err = c.replacement(e.ctx, shop); err != nil {
				return err
			}
		}
		resp, err := shop.Clocks.CorrectClockEntry(e.ctx, r)
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error {
			if resp.ClockEntry == nil {
				_, err := fmt.Fprintln(e.out, "The entry no longer counts.")
				return err
			}
			return printEntries(e, []*workflowv1.ClockEntry{resp.ClockEntry})
		})
	})
}

func (c *correctCmd) replacement(ctx context.Context, shop *client.Shop) (*workflowv1.CorrectClockEntryRequest_Replacement, error) {
	r := &workflowv1.CorrectClockEntryRequest_Replacement{}
	var err error
	if r.StartTime, err = instant(c.Start); err != nil {
		return nil, err
	}
	if r.EndTime, err = instant(c.End); err != nil {
		return nil, err
	}
	if c.Stage != "" {
		stage, err := stageArgs{c.Piece, c.Stage}.find(ctx, shop)
		if err != nil {
			return nil, err
		}
		r.Stage = stage.Name
	}
	return r, nil
}

type listEntriesCmd struct {
	output
	Who   string `help:"Only this person's." placeholder:"NAME"`
	Piece string `help:"Only this piece's." placeholder:"TAG"`
}

func (c *listEntriesCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		filter := &workflowv1.ListClockEntriesRequest{PageSize: 1000}
		if c.Who != "" {
			who, err := shop.Person(e.ctx, c.Who)
			if err != nil {
				return err
			}
			filter.Person = who.Name
		}
		if c.Piece != "" {
			p, err := shop.Piece(e.ctx, c.Piece)
			if err != nil {
				return err
			}
			filter.Piece = p.Name
		}
		entries, err := client.All(e.ctx, func(ctx context.Context, token string) ([]*workflowv1.ClockEntry, string, error) {
			filter.PageToken = token
			r, err := shop.Clocks.ListClockEntries(ctx, filter)
			return r.GetClockEntries(), r.GetNextPageToken(), err
		})
		if err != nil {
			return err
		}
		return c.print(e, &workflowv1.ListClockEntriesResponse{ClockEntries: entries}, func() error { return printEntries(e, entries) })
	})
}

func printEntries(e *env, entries []*workflowv1.ClockEntry) error {
	t := &report.Table{Headings: []string{"entry", "who", "stage", "from", "to", " pass", "remark"}}
	for _, c := range entries {
		var remarks []string
		if c.Superseded {
			remarks = append(remarks, "no longer counts")
		}
		if c.Corrects != "" {
			remarks = append(remarks, fmt.Sprintf("corrects %s: %s (%s)", strings.TrimPrefix(c.Corrects, "clockEntries/")[:8], c.Reason, c.Actor))
		}
		t.Add(strings.TrimPrefix(c.Name, "clockEntries/"), c.PersonName, c.StageKind, clock(c.StartTime), clock(c.EndTime), fmt.Sprint(c.Pass), strings.Join(remarks, "; "))
	}
	return t.Print(e.out)
}
