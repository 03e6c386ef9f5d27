package live

import (
	"context"

	"tackfree/pkg/clients"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

func followFloor(ctx context.Context, s *clients.Suite, position string, told func(string)) error {
	stream, err := s.Floor.WatchFloor(ctx, &workflowv1.WatchFloorRequest{Position: position})
	if err != nil {
		return err
	}
	for {
		r, err := stream.Recv()
		if err != nil {
			return err
		}
		told(r.Position) // also the first, which says no event: something may have happened before
	}
}

func followStock(ctx context.Context, s *clients.Suite, position string, told func(string)) error {
	stream, err := s.Restock.WatchAlerts(ctx, &materialsv1.WatchAlertsRequest{Position: position})
	if err != nil {
		return err
	}
	for {
		r, err := stream.Recv()
		if err != nil {
			return err
		}
		if r.Position != "" {
			position = r.Position
		}
		told(position)
	}
}

// followMoney has no positions: each answer is how the shop stands.
func followMoney(ctx context.Context, s *clients.Suite, _ string, told func(string)) error {
	stream, err := s.Answers.WatchShop(ctx, &costingv1.WatchShopRequest{})
	if err != nil {
		return err
	}
	for {
		if _, err := stream.Recv(); err != nil {
			return err
		}
		told("")
	}
}
