package server

import (
	"context"

	"google.golang.org/protobuf/types/known/durationpb"

	"tackfree/pkg/page"
	"tackfree/pkg/pg"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

// ListDefectKinds implements InspectionService.
func (s *Server) ListDefectKinds(context.Context, *workflowv1.ListDefectKindsRequest) (*workflowv1.ListDefectKindsResponse, error) {
	out := &workflowv1.ListDefectKindsResponse{}
	for _, k := range workflow.DefectKinds {
		out.DefectKinds = append(out.DefectKinds, &workflowv1.DefectKind{Kind: k.Word, Text: k.Text + " " + k.Source})
	}
	return out, nil
}

var countBys = map[workflowv1.ListDefectCountsRequest_By]workflow.CountBy{
	workflowv1.ListDefectCountsRequest_BY_PRODUCT: workflow.ByProduct, workflowv1.ListDefectCountsRequest_BY_WORKER: workflow.ByWorker,
	workflowv1.ListDefectCountsRequest_BY_AIR: workflow.ByAir, workflowv1.ListDefectCountsRequest_BY_STAGE_KIND: workflow.ByStageKind,
}

// ListDefectCounts implements InspectionService. Unspecified counts by the kind of defect alone.
func (s *Server) ListDefectCounts(ctx context.Context, r *workflowv1.ListDefectCountsRequest) (*workflowv1.ListDefectCountsResponse, error) {
	from, to, err := between(r.FromTime, r.ToTime)
	if err != nil {
		return nil, err
	}
	counted := store.Counted{By: countBys[r.By], From: from, To: to}
	var after store.CountMark
	if err := page.Read(r.PageToken, &after); err != nil {
		return nil, err
	}
	size := page.Size(r.PageSize)
	var counts []workflow.DefectCount
	err = s.DB.View(ctx, func(q pg.Querier) (err error) {
		counts, err = store.New(q).DefectCounts(ctx, counted, after, size)
		return err
	})
	if err != nil {
		return nil, err
	}
	out := &workflowv1.ListDefectCountsResponse{NextPageToken: page.Next(counts, size, func(c workflow.DefectCount) any {
		return store.CountMark{Defects: c.Defects, Kind: c.Kind, Name: c.By, Key: c.Key}
	})}
	for _, c := range counts {
		out.Counts = append(out.Counts, &workflowv1.ListDefectCountsResponse_Count{DefectKind: c.Kind, By: c.By, Defects: c.Defects, Failed: c.Failed,
			Inspected: c.Inspected, ReworkTime: durationpb.New(c.Rework)})
	}
	return out, nil
}
