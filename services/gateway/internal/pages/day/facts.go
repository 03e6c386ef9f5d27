package day

import (
	"context"
	"errors"
	"slices"
	"time"

	"tackfree/pkg/clients"
	"tackfree/pkg/fault"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/gateway/internal/sold"
	"tackfree/services/gateway/internal/titles"
	"tackfree/services/gateway/internal/web"
	"tackfree/services/gateway/internal/words"
)

// pageSize is the most that a service gives at once.
const pageSize = 1000

// boardOf reads the lines of all pieces that are not done, but for those that were sold as they are and are not here to
// be mended: nobody is to work on them.
func boardOf(ctx context.Context, s *clients.Suite) ([]*workflowv1.BoardLine, error) {
	lines, err := clients.All(ctx, func(ctx context.Context, token string) ([]*workflowv1.BoardLine, string, error) {
		r, err := s.Floor.ListBoard(ctx, &workflowv1.ListBoardRequest{PageSize: pageSize, PageToken: token})
		return r.GetLines(), r.GetNextPageToken(), err
	})
	if err != nil {
		return nil, err
	}
	gone, err := sold.Among(ctx, s.Sales, s.Floor, piecesOf(lines))
	return slices.DeleteFunc(lines, func(l *workflowv1.BoardLine) bool { return gone[l.Piece] }), err
}

// piecesOf are the pieces of lines, pieces/{id}.
func piecesOf(lines []*workflowv1.BoardLine) []string {
	names := make([]string, len(lines))
	for i, l := range lines {
		names[i] = l.Piece
	}
	return names
}

func peopleOf(ctx context.Context, s *clients.Suite) ([]*workflowv1.Person, error) {
	return clients.All(ctx, func(ctx context.Context, token string) ([]*workflowv1.Person, string, error) {
		r, err := s.People.ListPeople(ctx, &workflowv1.ListPeopleRequest{PageSize: pageSize, PageToken: token})
		return r.GetPeople(), r.GetNextPageToken(), err
	})
}

// called gives what pieces, pieces/{id}, are called. A day without titles is still a day: while intake is
// away there are none.
func (d *day) called(a *web.Asked, names []string) (map[string]titles.Piece, error) {
	got, err := d.book.Of(a.Context(), a.Kit.Suite.Intake, names)
	if errors.Is(err, fault.Unavailable) {
		return nil, nil
	}
	return got, err
}

// midnight is when the shop's day began.
func midnight(now time.Time, zone *time.Location) time.Time {
	y, m, d := now.In(zone).Date()
	return time.Date(y, m, d, 0, 0, 0, 0, zone)
}

// stageIn says a stage in the reader's language: the shop's own title in the first, and in another the
// word of its kind with the part in brackets.
func stageIn(v *words.Voice, kind, title string) string {
	return v.StageTitle(kind, title)
}

// atMost cuts a list, and says how many are left out.
func atMost[T any](list []T, most int) ([]T, int) {
	if len(list) <= most {
		return list, 0
	}
	return list[:most], len(list) - most
}
