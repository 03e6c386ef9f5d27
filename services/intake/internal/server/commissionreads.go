package server

import (
	"context"

	"tackfree/pkg/id"
	"tackfree/pkg/page"
	"tackfree/pkg/pg"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	"tackfree/services/intake/internal/intake"
	"tackfree/services/intake/internal/store"
)

// GetCommission implements CommissionService.
func (s *Server) GetCommission(ctx context.Context, r *intakev1.GetCommissionRequest) (*intakev1.GetCommissionResponse, error) {
	commission, err := id.One("name", r.Name, "commissions")
	if err != nil {
		return nil, err
	}
	c, err := s.commission(ctx, commission)
	if err != nil {
		return nil, at(err, "COMMISSION_NOT_FOUND", "name")
	}
	return &intakev1.GetCommissionResponse{Commission: s.encodeCommission(c)}, nil
}

// commission reads one as it is now.
func (s *Server) commission(ctx context.Context, commission id.ID) (c intake.Commission, err error) {
	err = s.DB.Snapshot(ctx, func(q pg.Querier) (err error) {
		c, err = store.New(q).GetCommission(ctx, commission)
		return err
	})
	return c, err
}

// mostCommissions is how many a page has at most: each has an estimate of up to a hundred lines, and change orders.
const mostCommissions = 200

// ListCommissions implements CommissionService.
func (s *Server) ListCommissions(ctx context.Context, r *intakev1.ListCommissionsRequest) (*intakev1.ListCommissionsResponse, error) {
	want := store.CommissionsOf{State: commissionStates[r.State], Limit: min(page.Size(r.PageSize), mostCommissions)}
	if err := page.Read(r.PageToken, &want.Before); err != nil {
		return nil, err
	}
	var err error
	if r.Client != "" {
		if want.Client, err = id.One("client", r.Client, "clients"); err != nil {
			return nil, err
		}
	}
	if r.Piece != "" {
		if want.Piece, err = id.One("piece", r.Piece, "pieces"); err != nil {
			return nil, err
		}
	}
	var all []intake.Commission
	err = s.DB.Snapshot(ctx, func(q pg.Querier) (err error) {
		all, err = store.New(q).ListCommissions(ctx, want)
		return err
	})
	if err != nil {
		return nil, err
	}
	out := &intakev1.ListCommissionsResponse{NextPageToken: page.Next(all, want.Limit, func(c intake.Commission) any { return c.Number })}
	for _, c := range all {
		out.Commissions = append(out.Commissions, s.encodeCommission(c))
	}
	return out, nil
}
