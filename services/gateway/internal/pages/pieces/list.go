package pieces

import (
	"cmp"
	"context"
	"errors"
	"slices"
	"strconv"
	"strings"

	"golang.org/x/sync/errgroup"

	"tackfree/pkg/clients"
	"tackfree/pkg/fault"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/gateway/internal/sold"
	"tackfree/services/gateway/internal/titles"
	"tackfree/services/gateway/internal/web"
)

// pageSize is how many pieces a page shows; atOnce the most that a service gives.
const (
	pageSize = 100
	atOnce   = 1000
)

func (p *pieces) list(a *web.Asked) (it list, err error) {
	it = list{Asked: askedOf(a.URL.Query()), All: -1, States: states}
	var stations map[string]string
	var board []*workflowv1.BoardLine
	var called map[string]titles.Piece
	reading, ctx := errgroup.WithContext(a.Context())
	reading.Go(func() (err error) {
		stations, err = stationsOf(ctx, a.Kit.Suite)
		return err
	})
	reading.Go(func() (err error) {
		if it.Searches() {
			board, called, err = p.find(ctx, a, &it)
		} else {
			board, called, err = p.page(ctx, a, &it)
		}
		return err
	})
	if err := reading.Wait(); err != nil {
		return it, err
	}
	names := make([]string, len(board))
	for i, l := range board {
		names[i] = l.Piece
	}
	gone, err := sold.Among(a.Context(), a.Kit.Suite.Sales, a.Kit.Suite.Floor, names)
	for _, l := range board {
		it.Lines = append(it.Lines, lineOf(a.Voice, l, called[l.Piece], stations, gone[l.Piece]))
	}
	return it, err
}

// page reads a page of the board, and what its pieces are called. Without intake they have no titles.
func (p *pieces) page(ctx context.Context, a *web.Asked, it *list) ([]*workflowv1.BoardLine, map[string]titles.Piece, error) {
	r, err := a.Kit.Suite.Floor.ListBoard(ctx, &workflowv1.ListBoardRequest{States: boardStates[it.State], PageSize: pageSize, PageToken: it.Token})
	if err != nil {
		return nil, nil, err
	}
	if r.NextPageToken != "" {
		it.Next = "/pieces?" + it.query(r.NextPageToken)
	}
	names := make([]string, len(r.Lines))
	for i, l := range r.Lines {
		names[i] = l.Piece
	}
	called, err := p.book.Of(ctx, a.Kit.Suite.Intake, names)
	if errors.Is(err, fault.Unavailable) {
		err = nil
	}
	return r.Lines, called, err
}

// find reads the whole board and every piece, and keeps what is looked for.
func (p *pieces) find(ctx context.Context, a *web.Asked, it *list) ([]*workflowv1.BoardLine, map[string]titles.Piece, error) {
	var board []*workflowv1.BoardLine
	var all []*intakev1.Piece
	reading, ctx := errgroup.WithContext(ctx)
	reading.Go(func() (err error) {
		board, err = clients.All(ctx, func(ctx context.Context, token string) ([]*workflowv1.BoardLine, string, error) {
			r, err := a.Kit.Suite.Floor.ListBoard(ctx, &workflowv1.ListBoardRequest{States: boardStates[it.State], PageSize: atOnce, PageToken: token})
			return r.GetLines(), r.GetNextPageToken(), err
		})
		return err
	})
	reading.Go(func() (err error) {
		all, err = p.book.All(ctx, a.Kit.Suite.Intake)
		return err
	})
	if err := reading.Wait(); err != nil {
		return nil, nil, err
	}
	called := map[string]titles.Piece{}
	for _, piece := range all {
		called[piece.Name] = titles.Of(piece)
	}
	return it.cut(it.sought(board, called)), called, nil
}

// sought keeps lines whose piece has all the words in its title, its kind, whose it is or its tag, and
// orders what was promised by when.
func (it *list) sought(board []*workflowv1.BoardLine, called map[string]titles.Piece) (out []*workflowv1.BoardLine) {
	words := it.words()
	for _, l := range board {
		if (!it.Promised || l.PromiseTime != nil) && has(l, called[l.Piece], words) {
			out = append(out, l)
		}
	}
	if it.Promised {
		slices.SortStableFunc(out, func(a, b *workflowv1.BoardLine) int {
			return cmp.Or(a.PromiseTime.AsTime().Compare(b.PromiseTime.AsTime()), cmp.Compare(a.PieceTag, b.PieceTag))
		})
	}
	return out
}

func has(l *workflowv1.BoardLine, p titles.Piece, words []string) bool {
	tag := strconv.Itoa(int(l.PieceTag))
	text := strings.ToLower(strings.Join([]string{p.Title, p.Kind, p.Client, p.Source}, " "))
	return !slices.ContainsFunc(words, func(word string) bool { return word != tag && !strings.Contains(text, word) })
}

// cut takes this page out of all that was found.
func (it *list) cut(all []*workflowv1.BoardLine) []*workflowv1.BoardLine {
	it.All = len(all)
	shown, err := strconv.Atoi(it.Token)
	if err != nil || shown < 0 {
		shown = 0
	}
	shown = min(shown, len(all))
	if to := shown + pageSize; to < len(all) {
		it.Next = "/pieces?" + it.query(strconv.Itoa(to))
	}
	return all[shown:min(shown+pageSize, len(all))]
}

func stationsOf(ctx context.Context, s *clients.Suite) (map[string]string, error) {
	r, err := s.Stations.ListStations(ctx, &workflowv1.ListStationsRequest{})
	if err != nil {
		return nil, err
	}
	out := map[string]string{}
	for _, st := range r.Stations {
		out[st.Name] = st.DisplayName
	}
	return out, nil
}
