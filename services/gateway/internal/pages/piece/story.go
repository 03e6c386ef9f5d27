package piece

import (
	"context"
	"net/http"
	"net/url"
	"slices"

	"tackfree/pkg/clients"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/gateway/internal/web"
)

// shown is how much of the story stands on the piece's own page; perPage on a page of the whole.
const (
	shown   = 12
	perPage = 100
)

func storyOf(ctx context.Context, s *clients.Suite, piece string) ([]*workflowv1.ListPieceTimelineResponse_Happening, error) {
	return clients.All(ctx, func(ctx context.Context, token string) ([]*workflowv1.ListPieceTimelineResponse_Happening, string, error) {
		r, err := s.Floor.ListPieceTimeline(ctx, &workflowv1.ListPieceTimelineRequest{Piece: piece, PageSize: 1000, PageToken: token})
		return r.GetHappenings(), r.GetNextPageToken(), err
	})
}

// latest are the last of what happened, the newest first, and whether there is more.
func latest(all []*workflowv1.ListPieceTimelineResponse_Happening) ([]*workflowv1.ListPieceTimelineResponse_Happening, bool) {
	last := slices.Clone(all[max(len(all)-shown, 0):])
	slices.Reverse(last)
	return last, len(all) > shown
}

// told is a page of all that happened, the first first.
type told struct {
	Piece      *intakev1.Piece
	Path       string
	Happenings []*workflowv1.ListPieceTimelineResponse_Happening
	Next       string // the address of the next page; empty: this is the last
}

func story(w http.ResponseWriter, a *web.Asked) error {
	p, err := find(a)
	if err != nil {
		return err
	}
	r, err := a.Kit.Suite.Floor.ListPieceTimeline(a.Context(), &workflowv1.ListPieceTimelineRequest{Piece: p.Name, PageSize: perPage, PageToken: a.URL.Query().Get("after")})
	if err := unless(err, "PIECE_NOT_FOUND"); err != nil {
		return err
	}
	it := told{Piece: p, Path: pathOf(p), Happenings: r.GetHappenings()}
	if next := r.GetNextPageToken(); next != "" {
		it.Next = it.Path + "/story?after=" + url.QueryEscape(next)
	}
	return a.Show(w, "story", a.Voice.T("piece.story.title", p.Tag, p.Title), it)
}
