package server

import (
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/wire"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/workflow/internal/workflow"
)

var (
	splits = map[workflowv1.Batch_Split]workflow.BatchSplit{
		workflowv1.Batch_SPLIT_EQUAL: workflow.Equally, workflowv1.Batch_SPLIT_AREA: workflow.ByArea,
	}
	batchStates = map[workflow.BatchState]workflowv1.Batch_State{
		workflow.BatchOpen: workflowv1.Batch_STATE_OPEN, workflow.BatchFinished: workflowv1.Batch_STATE_FINISHED, workflow.BatchDissolved: workflowv1.Batch_STATE_DISSOLVED,
	}
)

func encodeBatch(b workflow.Batch) *workflowv1.Batch {
	out := &workflowv1.Batch{Name: id.Name("batches", b.ID), DisplayName: b.Name, State: batchStates[b.State], Split: key(splits, b.Split), StageKind: b.Kind,
		Product: productName(b.Product), ProductName: b.ProductName, CreateTime: wire.ToInstant(b.FormedAt), EndTime: wire.ToInstant(b.EndedAt)}
	for _, s := range b.Shares {
		out.Shares = append(out.Shares, &workflowv1.Batch_Share{Stage: id.Name("pieces", s.Piece, "stages", s.Stage), StageTitle: s.Title, PieceTag: s.Tag, Pass: s.Pass, Weight: s.Weight,
			LeftTime: wire.ToInstant(s.Left)})
	}
	return out
}

func batchFormed(b workflow.Batch) *eventsv1.BatchFormed {
	e := &eventsv1.BatchFormed{BatchId: b.ID.String(), DisplayName: b.Name}
	for _, s := range b.Shares {
		e.Shares = append(e.Shares, &eventsv1.BatchFormed_Share{PieceId: s.Piece.String(), StageId: s.Stage.String(), Weight: s.Weight})
	}
	return e
}

func encodeGroup(g workflow.BatchGroup, now time.Time) *workflowv1.ListBatchableResponse_Group {
	out := &workflowv1.ListBatchableResponse_Group{StageKind: g.Kind, ProductName: g.ProductName}
	for _, m := range g.Members {
		stage, _ := m.Plan.Stage(m.Stage) // of which it was made
		out.Stages = append(out.Stages, encodeStage(m.Plan, *stage, now))
		out.PieceTags = append(out.PieceTags, m.Plan.Piece.Tag)
	}
	return out
}
