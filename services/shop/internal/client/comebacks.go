package client

import (
	"context"
	"fmt"

	intakev1 "tackfree/proto/tackfree/intake/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// AllComebacks reads what came back, the newest first; of all pieces where none is named.
func (s *Shop) AllComebacks(ctx context.Context, piece string, open bool) ([]*workflowv1.Comeback, error) {
	return All(ctx, func(ctx context.Context, token string) ([]*workflowv1.Comeback, string, error) {
		r, err := s.Comebacks.ListComebacks(ctx, &workflowv1.ListComebacksRequest{Piece: piece, OpenOnly: open, PageSize: page, PageToken: token})
		return r.GetComebacks(), r.GetNextPageToken(), err
	})
}

// Comeback finds the last time that a piece came back.
func (s *Shop) Comeback(ctx context.Context, p *intakev1.Piece) (*workflowv1.Comeback, error) {
	all, err := s.AllComebacks(ctx, p.Name, false)
	if err != nil {
		return nil, err
	}
	if len(all) == 0 {
		return nil, fmt.Errorf("piece %d never came back; `shop comeback list` lists what did", p.Tag)
	}
	return all[0], nil
}
