package client

import (
	"context"
	"fmt"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// SwapsOf reads the offers to and from a person, the newest first.
func (s *Shop) SwapsOf(ctx context.Context, who *workflowv1.Person) ([]*workflowv1.Swap, error) {
	return All(ctx, func(ctx context.Context, token string) ([]*workflowv1.Swap, string, error) {
		r, err := s.Swaps.ListSwaps(ctx, &workflowv1.ListSwapsRequest{Person: who.Name, PageSize: page, PageToken: token})
		return r.GetSwaps(), r.GetNextPageToken(), err
	})
}

// Swap finds the resource name of an offer to or from a person by its id, as lists show it.
func (s *Shop) Swap(ctx context.Context, who *workflowv1.Person, ref string) (string, error) {
	all, err := s.SwapsOf(ctx, who)
	if err != nil {
		return "", err
	}
	for _, w := range all {
		if named(w.Name, ref) {
			return w.Name, nil
		}
	}
	return "", fmt.Errorf("there is no offer %s to or from %s; `shop swap list %s` lists what there is", ref, who.DisplayName, who.DisplayName)
}
