package stock

import (
	"context"
	"maps"
	"slices"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/clients"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
)

func stamp(t time.Time) *timestamppb.Timestamp { return timestamppb.New(t) }

func sortedKeys(m map[string]string) []string { return slices.Sorted(maps.Keys(m)) }

func movements(ctx context.Context, s *clients.Suite, r *materialsv1.ListMovementsRequest) ([]*materialsv1.Movement, error) {
	return clients.All(ctx, func(ctx context.Context, token string) ([]*materialsv1.Movement, string, error) {
		r.PageToken = token
		some, err := s.Stock.ListMovements(ctx, r)
		return some.GetMovements(), some.GetNextPageToken(), err
	})
}

func lotsOf(ctx context.Context, s *clients.Suite, product string) ([]*materialsv1.Lot, error) {
	return clients.All(ctx, func(ctx context.Context, token string) ([]*materialsv1.Lot, string, error) {
		r, err := s.Materials.ListLots(ctx, &materialsv1.ListLotsRequest{Product: product, PageSize: many, PageToken: token})
		return r.GetLots(), r.GetNextPageToken(), err
	})
}

func expiring(ctx context.Context, s *clients.Suite, days int32) ([]*materialsv1.ExpiringLot, error) {
	return clients.All(ctx, func(ctx context.Context, token string) ([]*materialsv1.ExpiringLot, string, error) {
		r, err := s.Storage.ListExpiring(ctx, &materialsv1.ListExpiringRequest{Days: days, PageSize: many, PageToken: token})
		return r.GetLots(), r.GetNextPageToken(), err
	})
}

func needsOf(ctx context.Context, s *clients.Suite, product string) ([]*materialsv1.Need, error) {
	return clients.All(ctx, func(ctx context.Context, token string) ([]*materialsv1.Need, string, error) {
		r, err := s.Needs.ListNeeds(ctx, &materialsv1.ListNeedsRequest{Product: product, State: materialsv1.Need_STATE_OPEN, PageSize: many, PageToken: token})
		return r.GetNeeds(), r.GetNextPageToken(), err
	})
}

func openOrders(ctx context.Context, s *clients.Suite, product string) ([]*materialsv1.Order, error) {
	return clients.All(ctx, func(ctx context.Context, token string) ([]*materialsv1.Order, string, error) {
		r, err := s.Orders.ListOrders(ctx, &materialsv1.ListOrdersRequest{Product: product, OnlyOpen: true, PageSize: many, PageToken: token})
		return r.GetOrders(), r.GetNextPageToken(), err
	})
}

func openAlerts(ctx context.Context, s *clients.Suite, product string) ([]*materialsv1.Alert, error) {
	return clients.All(ctx, func(ctx context.Context, token string) ([]*materialsv1.Alert, string, error) {
		r, err := s.Restock.ListAlerts(ctx, &materialsv1.ListAlertsRequest{Product: product, PageSize: many, PageToken: token})
		return r.GetAlerts(), r.GetNextPageToken(), err
	})
}

// placeNames are what people call the places, by their names.
func placeNames(ctx context.Context, s *clients.Suite) (map[string]string, []*materialsv1.Place, error) {
	r, err := s.Storage.ListPlaces(ctx, &materialsv1.ListPlacesRequest{ShowRetired: true})
	if err != nil {
		return nil, nil, err
	}
	names := map[string]string{}
	for _, p := range r.Places {
		names[p.Name] = p.DisplayName
	}
	return names, r.Places, nil
}
