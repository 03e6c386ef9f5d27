package client

import (
	"context"
	"fmt"
	"slices"
	"strconv"
	"strings"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// Station finds a station by its word or what people call it, however it is typed.
func (s *Shop) Station(ctx context.Context, ref string) (*workflowv1.Station, error) {
	r, err := s.Stations.ListStations(ctx, &workflowv1.ListStationsRequest{})
	if err != nil {
		return nil, err
	}
	var known []string
	for _, st := range r.Stations {
		word := strings.TrimPrefix(st.Name, "stations/")
		if st.Name == ref || alike(word, ref) || alike(st.DisplayName, ref) {
			return st, nil
		}
		known = append(known, word)
	}
	return nil, fmt.Errorf("there is no station %q; there are: %s", ref, list(known))
}

// AllBatches lists batches, the newest first; those that are no more only if they are asked for.
func (s *Shop) AllBatches(ctx context.Context, ended bool) ([]*workflowv1.Batch, error) {
	return All(ctx, func(ctx context.Context, token string) ([]*workflowv1.Batch, string, error) {
		r, err := s.Batches.ListBatches(ctx, &workflowv1.ListBatchesRequest{IncludeEnded: ended, PageSize: page, PageToken: token})
		return r.GetBatches(), r.GetNextPageToken(), err
	})
}

// Batch finds a batch by what people call it, however it is typed, or by its id: an open one,
// else the newest.
func (s *Shop) Batch(ctx context.Context, ref string) (*workflowv1.Batch, error) {
	all, err := s.AllBatches(ctx, true)
	if err != nil {
		return nil, err
	}
	var found *workflowv1.Batch
	var open []string
	for _, b := range all {
		running := b.State == workflowv1.Batch_STATE_OPEN
		if running {
			open = append(open, b.DisplayName)
		}
		switch {
		case named(b.Name, ref):
			return b, nil
		case alike(b.DisplayName, ref) && (found == nil || running && found.State != b.State):
			found = b
		}
	}
	if found == nil {
		return nil, fmt.Errorf("no batch is called %q; open are: %s", ref, list(open))
	}
	return found, nil
}

// AllOutside lists what is with others, and if it is asked for what was.
func (s *Shop) AllOutside(ctx context.Context, filter *workflowv1.ListOutsideWorkRequest) ([]*workflowv1.OutsideWork, error) {
	return All(ctx, func(ctx context.Context, token string) ([]*workflowv1.OutsideWork, string, error) {
		filter.PageSize, filter.PageToken = page, token
		r, err := s.Outside.ListOutsideWork(ctx, filter)
		return r.GetOutsideWork(), r.GetNextPageToken(), err
	})
}

// OutsideWork finds outside work by its id, as lists show it; or by its piece's tag number: the
// only one of the piece that is in one of these states, or where none is, the only one there was.
func (s *Shop) OutsideWork(ctx context.Context, ref string, states ...workflowv1.OutsideWork_State) (*workflowv1.OutsideWork, error) {
	all, err := s.AllOutside(ctx, &workflowv1.ListOutsideWorkRequest{IncludeBack: true})
	if err != nil {
		return nil, err
	}
	var found, others []*workflowv1.OutsideWork
	for _, w := range all {
		switch {
		case named(w.Name, ref):
			return w, nil
		case strconv.Itoa(int(w.PieceTag)) != ref:
		case slices.Contains(states, w.State):
			found = append(found, w)
		default:
			others = append(others, w)
		}
	}
	if len(found) == 0 {
		found = others
	}
	switch len(found) {
	case 0:
		return nil, fmt.Errorf("there is no outside work %s; `shop outside list --all` lists it", ref)
	case 1:
		return found[0], nil
	}
	return nil, fmt.Errorf("piece %s has several; say which by its id, which `shop outside list --all` shows", ref)
}

// Review finds the resource name of what the lead has to settle by its id, as lists show it.
func (s *Shop) Review(ctx context.Context, ref string) (string, error) {
	all, err := All(ctx, func(ctx context.Context, token string) ([]*workflowv1.ClockReview, string, error) {
		r, err := s.Reviews.ListClockReviews(ctx, &workflowv1.ListClockReviewsRequest{IncludeSettled: true, PageSize: page, PageToken: token})
		return r.GetClockReviews(), r.GetNextPageToken(), err
	})
	if err != nil {
		return "", err
	}
	for _, r := range all {
		if named(r.Name, ref) {
			return r.Name, nil
		}
	}
	return "", fmt.Errorf("there is no %s to settle; `shop clock review list` lists what there is", ref)
}

// StageOf finds a stage by the tag number of its piece and its title in one text, such as
// "14 sand (top)".
func (s *Shop) StageOf(ctx context.Context, ref string) (*workflowv1.Stage, error) {
	tag, title, both := strings.Cut(strings.TrimSpace(ref), " ")
	if !both {
		return nil, fmt.Errorf("%q is not a stage with its piece, such as '14 sand (top)'", ref)
	}
	p, err := s.Piece(ctx, tag)
	if err != nil {
		return nil, err
	}
	return s.Stage(ctx, p, strings.TrimSpace(title))
}

// named reports whether a reference is a resource name, or the id at its end.
func named(name, ref string) bool {
	return name == ref || strings.HasSuffix(name, "/"+strings.ToLower(ref))
}
