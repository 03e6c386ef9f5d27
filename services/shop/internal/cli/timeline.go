package cli

import (
	"context"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type timelineCmd struct {
	listOutput
	Piece string `arg:"" help:"Tag number."`
}

func (c *timelineCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		p, err := shop.Piece(e.ctx, c.Piece)
		if err != nil {
			return err
		}
		all, err := client.All(e.ctx, func(ctx context.Context, token string) ([]*workflowv1.ListPieceTimelineResponse_Happening, string, error) {
			r, err := shop.Floor.ListPieceTimeline(ctx, &workflowv1.ListPieceTimelineRequest{Piece: p.Name, PageSize: 1000, PageToken: token})
			return r.GetHappenings(), r.GetNextPageToken(), err
		})
		if err != nil {
			return err
		}
		return c.print(e, &workflowv1.ListPieceTimelineResponse{Happenings: all}, func() error {
			terms, err := shop.Terms(e.ctx)
			if err != nil {
				return err
			}
			t := &report.Table{Headings: []string{"when", "what", "written down by"}}
			for _, h := range all {
				t.Add(terms.Clock(h.Time), h.Text, h.Actor)
			}
			return t.Print(e.out)
		})
	})
}
