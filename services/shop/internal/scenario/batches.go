package scenario

import (
	"fmt"

	"google.golang.org/protobuf/types/known/timestamppb"

	materialsv1 "tackfree/proto/tackfree/materials/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

func form(s *Batch) (string, run) {
	return fmt.Sprintf("%d stages are run as one: %s", len(s.Stages), s.Name), func(p *player) error {
		known := &batch{}
		for _, ref := range s.Stages {
			stage, err := p.stage(ref)
			if err != nil {
				return err
			}
			known.stages = append(known.stages, stage)
		}
		resp, err := p.shop.Batches.FormBatch(p.ctx, &workflowv1.FormBatchRequest{RequestId: newRequest(), DisplayName: s.Name, Stages: known.stages,
			Split: workflowv1.Batch_Split(workflowv1.Batch_Split_value["SPLIT_"+s.Split])})
		known.name = resp.GetBatch().GetName()
		p.batches[s.Name] = known
		return err
	}
}

func (p *player) finishBatch(name string, at *timestamppb.Timestamp) error {
	b, err := p.batch(name)
	if err != nil {
		return err
	}
	_, err = p.shop.Batches.FinishBatch(p.ctx, &workflowv1.FinishBatchRequest{RequestId: newRequest(), Batch: b.name, FinishTime: at})
	return err
}

func issueToBatch(s *Issue, at *timestamppb.Timestamp) (string, run) {
	return fmt.Sprintf("%s %s of %s go to %s", s.Quantity.Value, s.Quantity.Unit, s.Product, s.Batch), func(p *player) error {
		product, err := p.product(s.Product)
		if err != nil {
			return err
		}
		b, err := p.batch(s.Batch)
		if err != nil {
			return err
		}
		_, err = p.shop.Materials.IssueToBatch(p.ctx, &materialsv1.IssueToBatchRequest{
			RequestId: newRequest(), Product: product, Quantity: s.Quantity.message(), Batch: b.name, IssueTime: at})
		return err
	}
}
