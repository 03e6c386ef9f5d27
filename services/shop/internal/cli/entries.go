package cli

import (
	"context"
	"fmt"
	"slices"
	"strings"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type correctCmd struct {
	command
	Entry    string `arg:"" help:"The entry's id, as the list shows it."`
	Start    string `help:"When it really began, as --at says times elsewhere." placeholder:"TIME" xor:"start"`
	End      string `help:"When it really ended." placeholder:"TIME" xor:"end"`
	Piece    string `help:"The piece it really was, by tag; with --stage." placeholder:"TAG" xor:"piece,on" and:"stage"`
	Stage    string `help:"The stage it really was; with --piece." xor:"stage" and:"stage"`
	Indirect string `help:"It belonged to no piece: cleaning, pick_up, training …" placeholder:"KIND" xor:"indirect,on"`
	TakeAway bool   `help:"It never happened." xor:"start,end,piece,stage,indirect"`
	Reason   string `help:"Why." required:""`
}

func (c *correctCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		r := &workflowv1.CorrectClockEntryRequest{RequestId: c.request(), Reason: c.Reason, ClockEntry: "clockEntries/" + bare(c.Entry)}
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
		err = c.print(e, resp, func() error {
			if resp.ClockEntry == nil {
				_, err := fmt.Fprintln(e.out, "The entry no longer counts.")
				return err
			}
			return printEntries(e, shop, oneOrAll(resp.ClockEntry, resp.ClockEntries))
		})
		noteClosedWork(e, shop, slices.Concat(resp.CorrectedEntries, oneOrAll(resp.ClockEntry, resp.ClockEntries))...)
		return err
	})
}

func (c *correctCmd) replacement(ctx context.Context, shop *client.Shop) (*workflowv1.CorrectClockEntryRequest_Replacement, error) {
	r := &workflowv1.CorrectClockEntryRequest_Replacement{Indirect: kindWord(c.Indirect)}
	var err error
	if r.StartTime, err = instant(ctx, shop, c.Start); err != nil {
		return nil, err
	}
	if r.EndTime, err = instant(ctx, shop, c.End); err != nil {
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
	listOutput
	Who   string `help:"Only this person's." placeholder:"NAME"`
	Piece string `help:"Only this piece's." placeholder:"TAG"`
	From  string `help:"Only those that began then or later, as --at says times elsewhere." placeholder:"TIME"`
	To    string `help:"Only those that began before." placeholder:"TIME"`
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
		var err error
		if filter.FromTime, err = instant(e.ctx, shop, c.From); err != nil {
			return err
		}
		if filter.ToTime, err = instant(e.ctx, shop, c.To); err != nil {
			return err
		}
		entries, err := client.All(e.ctx, func(ctx context.Context, token string) ([]*workflowv1.ClockEntry, string, error) {
			filter.PageToken = token
			r, err := shop.Clocks.ListClockEntries(ctx, filter)
			return r.GetClockEntries(), r.GetNextPageToken(), err
		})
		if err != nil {
			return err
		}
		return c.print(e, &workflowv1.ListClockEntriesResponse{ClockEntries: entries}, func() error { return printEntries(e, shop, entries) })
	})
}

func printEntries(e *env, shop *client.Shop, entries []*workflowv1.ClockEntry) error {
	terms, err := shop.Terms(e.ctx)
	if err != nil {
		return err
	}
	titles := client.NewTitles(shop)
	t := &report.Table{Headings: []string{"entry", "who", " piece", "stage", "from", "to", " hours", " pass", "station", "remark"}}
	for _, c := range entries {
		piece, title, err := workOf(e, titles, c)
		if err != nil {
			return err
		}
		worked := "–"
		if c.EndTime != nil {
			worked = report.Length(c.EndTime.AsTime().Sub(c.StartTime.AsTime()))
		}
		t.Add(bare(c.Name), c.PersonName, piece, title, terms.Clock(c.StartTime), terms.Clock(c.EndTime), worked,
			fmt.Sprint(c.Pass), bare(c.Station), remarkOn(c))
	}
	return t.Print(e.out)
}

// workOf is what an entry was on: a piece and its stage, or what belongs to no piece.
func workOf(e *env, titles *client.Titles, c *workflowv1.ClockEntry) (piece, title string, err error) {
	if c.Indirect != "" {
		return "–", report.Kind(c.Indirect), nil
	}
	title, err = titleOf(e, titles, c.Stage, c.StageKind)
	return fmt.Sprint(c.PieceTag), title, err
}

// remarkOn says what is unusual about an entry.
func remarkOn(c *workflowv1.ClockEntry) string {
	var remarks []string
	if c.Superseded {
		remarks = append(remarks, gone(c))
	}
	if c.Batch != "" {
		remarks = append(remarks, "in a batch")
	}
	if c.Paused {
		remarks = append(remarks, "paused")
	}
	if c.Device != "" {
		remarks = append(remarks, "kept by "+c.Device)
	}
	switch {
	case c.Corrects != "":
		remarks = append(remarks, fmt.Sprintf("in place of …%s: %s (%s)", tail(bare(c.Corrects)), c.Reason, c.Actor))
	case c.Reason != "":
		remarks = append(remarks, fmt.Sprintf("written down later: %s (%s)", c.Reason, c.Actor))
	}
	return strings.Join(remarks, "; ")
}

// tail is the end of an id, which differs more than its beginning.
func tail(id string) string { return id[max(0, len(id)-8):] }

// gone says of an entry that no longer counts who said so, and why.
func gone(c *workflowv1.ClockEntry) string {
	if c.SupersededBy == "" {
		return "no longer counts"
	}
	return fmt.Sprintf("no longer counts: %s (%s)", c.SupersedeReason, c.SupersededBy)
}
