package client

import (
	"context"
	"fmt"
	"strings"

	intakev1 "tackfree/proto/tackfree/intake/v1"
)

// AllClients reads the clients as they were added; those who were retired only if they are wanted.
func (s *Shop) AllClients(ctx context.Context, retired bool) ([]*intakev1.Client, error) {
	return All(ctx, s.clients(retired))
}

func (s *Shop) clients(retired bool) func(context.Context, string) ([]*intakev1.Client, string, error) {
	return func(ctx context.Context, token string) ([]*intakev1.Client, string, error) {
		r, err := s.Clients.ListClients(ctx, &intakev1.ListClientsRequest{ShowRetired: retired, PageSize: page, PageToken: token})
		return r.GetClients(), r.GetNextPageToken(), err
	}
}

// Client finds a client by their number or their name.
func (s *Shop) Client(ctx context.Context, ref string) (*intakev1.Client, error) {
	ref = strings.TrimSpace(ref)
	return first(ctx, s.clients(true), func(c *intakev1.Client) bool {
		return named(c.Name, ref) || fmt.Sprint(c.Number) == ref
	}, fmt.Errorf("there is no client %s; `shop client list` lists them with their numbers", ref))
}

// AllCommissions reads the commissions of a state and a client, or all, the latest first.
func (s *Shop) AllCommissions(ctx context.Context, state intakev1.CommissionOrder_State, client string) ([]*intakev1.CommissionOrder, error) {
	return All(ctx, s.commissions(state, client))
}

func (s *Shop) commissions(state intakev1.CommissionOrder_State, client string) func(context.Context, string) ([]*intakev1.CommissionOrder, string, error) {
	return func(ctx context.Context, token string) ([]*intakev1.CommissionOrder, string, error) {
		r, err := s.Commissions.ListCommissions(ctx, &intakev1.ListCommissionsRequest{State: state, Client: client, PageSize: page, PageToken: token})
		return r.GetCommissions(), r.GetNextPageToken(), err
	}
}

// Commission finds a commission by its number or its name, with all versions of its estimate.
func (s *Shop) Commission(ctx context.Context, ref string) (*intakev1.CommissionOrder, error) {
	ref = strings.TrimSpace(ref)
	found, err := first(ctx, s.commissions(intakev1.CommissionOrder_STATE_UNSPECIFIED, ""), func(c *intakev1.CommissionOrder) bool {
		return named(c.Name, ref) || fmt.Sprint(c.Number) == ref
	}, fmt.Errorf("there is no commission %s; `shop commission list` lists them", ref))
	if err != nil {
		return nil, err
	}
	r, err := s.Commissions.GetCommission(ctx, &intakev1.GetCommissionRequest{Name: found.Name})
	return r.GetCommission(), err
}
