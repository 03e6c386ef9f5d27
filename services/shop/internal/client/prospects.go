package client

import (
	"context"
	"fmt"
	"strings"

	intakev1 "tackfree/proto/tackfree/intake/v1"
)

// AllProspects reads the prospects of a state, or all, the latest first.
func (s *Shop) AllProspects(ctx context.Context, state intakev1.Prospect_State) ([]*intakev1.Prospect, error) {
	return All(ctx, s.prospects(state))
}

func (s *Shop) prospects(state intakev1.Prospect_State) func(context.Context, string) ([]*intakev1.Prospect, string, error) {
	return func(ctx context.Context, token string) ([]*intakev1.Prospect, string, error) {
		r, err := s.Prospects.ListProspects(ctx, &intakev1.ListProspectsRequest{State: state, PageSize: page, PageToken: token})
		return r.GetProspects(), r.GetNextPageToken(), err
	}
}

// Prospect finds a prospect by its number or its name.
func (s *Shop) Prospect(ctx context.Context, ref string) (*intakev1.Prospect, error) {
	ref = strings.TrimSpace(ref)
	return first(ctx, s.prospects(intakev1.Prospect_STATE_UNSPECIFIED), func(p *intakev1.Prospect) bool {
		return named(p.Name, ref) || fmt.Sprint(p.Number) == ref
	}, fmt.Errorf("there is no prospect %s; `shop prospect list` lists them", ref))
}
