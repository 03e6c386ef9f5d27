package cli

import (
	"errors"
	"fmt"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type batchCmd struct {
	Form     formCmd        `cmd:"" help:"Run stages of several pieces as one; time and material are split over them."`
	Finish   finishBatchCmd `cmd:"" help:"Finish all its stages at one instant."`
	Leave    leaveBatchCmd  `cmd:"" help:"Take one stage out of its batch; it goes on by itself."`
	Dissolve dissolveCmd    `cmd:"" help:"Let its stages go on one by one."`
	List     listBatchesCmd `cmd:"" help:"List the batches, the newest first."`
	Ready    batchableCmd   `cmd:"" help:"List stages of different pieces that could be run as one now."`
}

type formCmd struct {
	command
	Name   string   `arg:"" help:"What people call it."`
	Stages []string `arg:"" help:"Each of its stages with the tag number of its piece: '14 topcoat (drawers)' '15 topcoat (drawers)'."`
	Split  string   `help:"How time and material are split: area or equal; without it by area where all are known." placeholder:"HOW"`
}

func (c *formCmd) Run(e *env) error {
	r := &workflowv1.FormBatchRequest{DisplayName: c.Name}
	if c.Split != "" {
		var err error
		if r.Split, err = readEnum[workflowv1.Batch_Split]("SPLIT_", c.Split, workflowv1.Batch_Split_value); err != nil {
			return err
		}
	}
	return e.with(func(shop *client.Shop) error {
		for _, ref := range c.Stages {
			stage, err := shop.StageOf(e.ctx, ref)
			if err != nil {
				return err
			}
			r.Stages = append(r.Stages, stage.Name)
		}
		r.RequestId = c.request()
		resp, err := shop.Batches.FormBatch(e.ctx, r)
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printShares(e, resp.Batch) })
	})
}

// printShares prints the stages of a batch and what part of the whole falls to each that is in it.
func printShares(e *env, b *workflowv1.Batch) error {
	var whole int64
	for _, s := range b.GetShares() {
		if s.LeftTime == nil {
			whole += s.Weight
		}
	}
	t := &report.Table{Headings: []string{" piece", "stage", " pass", " share"}}
	for _, s := range b.GetShares() {
		share := "left"
		if s.LeftTime == nil {
			share = fmt.Sprintf("%.1f %%", 100*float64(s.Weight)/float64(whole))
		}
		t.Add(fmt.Sprint(s.PieceTag), s.StageTitle, fmt.Sprint(s.Pass), share)
	}
	return t.Print(e.out)
}

type finishBatchCmd struct {
	timed
	Batch    string      `arg:"" help:"What people call it."`
	Zone     string      `help:"Where it all now dries, by the zone's word; without it as planned." placeholder:"WORD"`
	WetFilm  *micrometre `help:"How thick the wet film was laid, such as 100um or 4mil; without it as planned." placeholder:"FILM"`
	Override string      `help:"Why it was done before the parts were ready, where nobody clocked on." placeholder:"REASON"`
}

func (c *finishBatchCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		b, err := shop.Batch(e.ctx, c.Batch)
		if err != nil {
			return err
		}
		at, err := c.at(e.ctx, shop)
		if err != nil {
			return err
		}
		r := &workflowv1.FinishBatchRequest{RequestId: c.request(), Batch: b.Name, FinishTime: at, Zone: zoneName(c.Zone), OverrideReason: c.Override}
		if c.WetFilm != nil {
			if r.WetFilmUm = float64(*c.WetFilm); r.WetFilmUm == 0 {
				return errNoFilm
			}
		}
		resp, err := shop.Batches.FinishBatch(e.ctx, r)
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error {
			fmt.Fprintf(e.out, "The batch %s is finished. Of its time and material fall to each:\n\n", b.DisplayName)
			return printShares(e, resp.Batch)
		})
	})
}

var errNoFilm = errors.New("--wet-film is 0, and a coat has some thickness; leave it out if nobody measured it")

type dissolveCmd struct {
	command
	Batch string `arg:"" help:"What people call it."`
}

func (c *dissolveCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		b, err := shop.Batch(e.ctx, c.Batch)
		if err != nil {
			return err
		}
		resp, err := shop.Batches.DissolveBatch(e.ctx, &workflowv1.DissolveBatchRequest{RequestId: c.request(), Batch: b.Name})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error {
			_, err := fmt.Fprintf(e.out, "The batch %s is dissolved; its stages go on one by one.\n", b.DisplayName)
			return err
		})
	})
}

type leaveBatchCmd struct {
	command
	Piece string `arg:"" help:"Its piece, by the tag number."`
	Stage string `arg:"" help:"The stage, such as 'clean (top)'."`
}

func (c *leaveBatchCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		p, err := shop.Piece(e.ctx, c.Piece)
		if err != nil {
			return err
		}
		stage, err := shop.Stage(e.ctx, p, c.Stage)
		if err != nil {
			return err
		}
		resp, err := shop.Batches.LeaveBatch(e.ctx, &workflowv1.LeaveBatchRequest{RequestId: c.request(), Stage: stage.Name})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error {
			how := "goes on"
			if resp.Batch.GetState() != workflowv1.Batch_STATE_OPEN {
				how = "is dissolved, for it was the last one"
			}
			_, err := fmt.Fprintf(e.out, "%s of piece %d is out of the batch %s, which %s.\n", client.Title(stage), p.Tag, resp.Batch.GetDisplayName(), how)
			return err
		})
	})
}

type listBatchesCmd struct {
	listOutput
	All bool `help:"Also those that are no more."`
}

func (c *listBatchesCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		all, err := shop.AllBatches(e.ctx, c.All)
		if err != nil {
			return err
		}
		return c.print(e, &workflowv1.ListBatchesResponse{Batches: all}, func() error { return printBatches(e, shop, all) })
	})
}

func printBatches(e *env, shop *client.Shop, all []*workflowv1.Batch) error {
	terms, err := shop.Terms(e.ctx)
	if err != nil {
		return err
	}
	t := &report.Table{Headings: []string{"batch", "state", "kind", "with", "split by", "formed", "ended", "stages"}}
	for _, b := range all {
		t.Add(b.DisplayName, report.State(b.State.String()), report.Kind(b.StageKind), b.ProductName, enumWord("SPLIT_", b.Split.String()),
			terms.Clock(b.CreateTime), terms.Clock(b.EndTime), each(b.Shares, shareTitle))
	}
	return t.Print(e.out)
}

// shareTitle names a stage of a batch, and says if it left.
func shareTitle(s *workflowv1.Batch_Share) string {
	title := fmt.Sprintf("%d %s", s.PieceTag, s.StageTitle)
	if s.LeftTime != nil {
		title += " (left)"
	}
	return title
}

type batchableCmd struct{ listOutput }

func (c *batchableCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		resp, err := shop.Batches.ListBatchable(e.ctx, &workflowv1.ListBatchableRequest{})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printBatchable(e, resp.Groups) })
	})
}

func printBatchable(e *env, groups []*workflowv1.ListBatchableResponse_Group) error {
	t := &report.Table{Headings: []string{"kind", "with", " number", "stages"}}
	for _, g := range groups {
		stages := make([]string, len(g.Stages))
		for i, s := range g.Stages {
			stages[i] = fmt.Sprintf("%d %s", g.PieceTags[i], client.Title(s))
		}
		t.Add(report.Kind(g.StageKind), g.ProductName, fmt.Sprint(len(g.Stages)), each(stages, func(s string) string { return s }))
	}
	return t.Print(e.out)
}
