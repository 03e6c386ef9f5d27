package cli

import (
	"context"
	"fmt"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type defectKindsCmd struct{ listOutput }

func (c *defectKindsCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		resp, err := shop.Inspections.ListDefectKinds(e.ctx, &workflowv1.ListDefectKindsRequest{})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error {
			t := &report.Table{Headings: []string{"defect", "what it is, and what usually brings it about"}}
			for _, k := range resp.DefectKinds {
				t.Add(k.Kind, k.Text)
			}
			return t.Print(e.out)
		})
	})
}

type defectReportCmd struct {
	listOutput
	By   string `help:"By what: product, worker, air or stage-kind." enum:"product,worker,air,stage-kind" default:"product"`
	From string `help:"Only what was found then or later, as --at says times elsewhere." placeholder:"TIME"`
	To   string `help:"Only what was found before." placeholder:"TIME"`
}

// Help implements kong.HelpProvider.
func (defectReportCmd) Help() string {
	return "The rework of a fail is the time on all that it sent back, and is divided evenly over the defects that it found. " +
		"By worker, each of several who worked on it has all of it."
}

func (c *defectReportCmd) Run(e *env) error {
	by, err := readEnum[workflowv1.ListDefectCountsRequest_By]("BY_", c.By, workflowv1.ListDefectCountsRequest_By_value)
	if err != nil {
		return err
	}
	return e.with(func(shop *client.Shop) error {
		r := &workflowv1.ListDefectCountsRequest{By: by, PageSize: 1000}
		if r.FromTime, err = instant(e.ctx, shop, c.From); err != nil {
			return err
		}
		if r.ToTime, err = instant(e.ctx, shop, c.To); err != nil {
			return err
		}
		counts, err := client.All(e.ctx, func(ctx context.Context, token string) ([]*workflowv1.ListDefectCountsResponse_Count, string, error) {
			r.PageToken = token
			resp, err := shop.Inspections.ListDefectCounts(ctx, r)
			return resp.GetCounts(), resp.GetNextPageToken(), err
		})
		if err != nil {
			return err
		}
		return c.print(e, &workflowv1.ListDefectCountsResponse{Counts: counts}, func() error { return c.table(counts).Print(e.out) })
	})
}

func (c *defectReportCmd) table(counts []*workflowv1.ListDefectCountsResponse_Count) *report.Table {
	t := &report.Table{Headings: []string{"defect", report.Kind(c.By), " times", " failed", " looked at", " rework"}}
	for _, n := range counts {
		by := orDash(n.By)
		if c.By == "stage-kind" {
			by = report.Kind(by)
		}
		t.Add(report.Kind(n.DefectKind), by, fmt.Sprint(n.Defects), fmt.Sprint(n.Failed), fmt.Sprint(n.Inspected), report.Hours(n.ReworkTime))
	}
	return t
}
