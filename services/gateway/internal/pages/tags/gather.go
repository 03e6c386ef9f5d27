package tags

import (
	"context"
	"slices"
	"strconv"
	"time"

	"golang.org/x/sync/errgroup"

	"tackfree/pkg/fault"
	"tackfree/pkg/printed"
	"tackfree/pkg/printed/tagged"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/gateway/internal/sold"
	"tackfree/services/gateway/internal/web"
)

// tagsOf gathers what stands on the tags of pieces, by their numbers and in that order.
func tagsOf(a *web.Asked, numbers []string) ([]hangTag, error) {
	all := make([]hangTag, len(numbers))
	group, ctx := errgroup.WithContext(a.Context())
	group.SetLimit(6)
	promises := map[string]time.Time{}
	group.Go(func() (err error) { promises, err = promisesOf(ctx, a, len(numbers)); return err })
	for i, number := range numbers {
		group.Go(func() (err error) { all[i], err = tagOf(ctx, a, number); return err })
	}
	if err := group.Wait(); err != nil {
		return nil, err
	}
	for i := range all {
		all[i].Promise = promises[all[i].Piece.Name]
	}
	return all, nil
}

func tagOf(ctx context.Context, a *web.Asked, number string) (t hangTag, err error) {
	if t.Piece, err = pieceOf(ctx, a, number); err != nil {
		return t, err
	}
	tests, err := a.Kit.Suite.Tests.ListPartTests(ctx, &workflowv1.ListPartTestsRequest{Piece: t.Piece.Name})
	if err != nil && !fault.Is(err, "PIECE_NOT_FOUND") {
		return t, err
	}
	t.Presumed, t.Found = tagged.Leaded(t.Piece.Parts, tests.GetTests())
	t.Code, err = CodeOf(address(a) + "/pieces/" + number)
	return t, err
}

func pieceOf(ctx context.Context, a *web.Asked, number string) (*intakev1.Piece, error) {
	r, err := a.Kit.Suite.Intake.GetPiece(ctx, &intakev1.GetPieceRequest{Name: "pieces/tag:" + number})
	return r.GetPiece(), err
}

// promisesOf are the promises of the board, by piece; none where no tag is asked for.
func promisesOf(ctx context.Context, a *web.Asked, tags int) (map[string]time.Time, error) {
	out := map[string]time.Time{}
	for token, more := "", tags > 0; more; more = token != "" {
		r, err := a.Kit.Suite.Floor.ListBoard(ctx, &workflowv1.ListBoardRequest{PageSize: 1000, PageToken: token})
		if err != nil {
			return nil, err
		}
		for _, l := range r.Lines {
			if l.PromiseTime != nil {
				out[l.Piece] = l.PromiseTime.AsTime()
			}
		}
		token = r.NextPageToken
	}
	return out, nil
}

// inHand are the numbers of all pieces that were neither given up nor sold, in order. Faults: LABELS_TOO_MANY.
func inHand(a *web.Asked) ([]string, error) {
	tags, err := stocked(a)
	if err != nil {
		return nil, err
	}
	names := make([]string, 0, len(tags))
	for name := range tags {
		names = append(names, name)
	}
	gone, err := sold.Among(a.Context(), a.Kit.Suite.Sales, a.Kit.Suite.Floor, names)
	if err != nil {
		return nil, err
	}
	var kept []int32
	for name, tag := range tags {
		if !gone[name] {
			kept = append(kept, tag)
		}
	}
	if len(kept) > printed.MostLabels {
		return nil, printed.ErrTooMany
	}
	slices.Sort(kept)
	numbers := make([]string, len(kept))
	for i, tag := range kept {
		numbers[i] = strconv.Itoa(int(tag))
	}
	return numbers, nil
}

// stocked are the tags of all pieces that were not given up, by their names.
func stocked(a *web.Asked) (map[string]int32, error) {
	out := map[string]int32{}
	for token, more := "", true; more; more = token != "" {
		r, err := a.Kit.Suite.Intake.ListPieces(a.Context(), &intakev1.ListPiecesRequest{PageSize: 1000, PageToken: token})
		if err != nil {
			return nil, err
		}
		for _, p := range r.Pieces {
			if p.State == intakev1.Piece_STATE_IN_HAND {
				out[p.Name] = p.Tag
			}
		}
		token = r.NextPageToken
	}
	return out, nil
}
