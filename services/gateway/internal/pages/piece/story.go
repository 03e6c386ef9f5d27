package piece

import (
	"cmp"
	"context"
	"net/http"
	"slices"
	"strconv"
	"time"

	"golang.org/x/sync/errgroup"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/clients"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/gateway/internal/bands"
	"tackfree/services/gateway/internal/story"
	"tackfree/services/gateway/internal/web"
)

// shown is how much of the story stands on the piece's own page; perPage on a page of the whole. late is how long after
// it happened something may be noted without a word.
const (
	shown   = 12
	perPage = 100
	late    = 2 * time.Minute
)

// happening is something that happened to the piece, in a sentence.
type happening struct {
	Time  *timestamppb.Timestamp
	Noted *timestamppb.Timestamp // when it was written down, if that was much later
	Text  string
	Actor string
}

// eventsOf are the events of all services about a piece, the first first. What a service that is away noted is not among
// them, and away says so.
func eventsOf(ctx context.Context, s *clients.Suite, piece string) (all []*eventsv1.Envelope, away bands.Missing, err error) {
	told := make([][]*eventsv1.Envelope, len(clients.Producers))
	missing := make([]bands.Missing, len(clients.Producers))
	group, ctx := errgroup.WithContext(ctx)
	for i, name := range clients.Producers {
		group.Go(func() (err error) {
			told[i], err = clients.All(ctx, func(ctx context.Context, token string) ([]*eventsv1.Envelope, string, error) {
				r, err := s.Logs[name].ListPieceEvents(ctx, &eventsv1.ListPieceEventsRequest{Piece: piece, PageSize: 1000, PageToken: token})
				return r.GetEvents(), r.GetNextPageToken(), err
			})
			return missing[i].Of(err)
		})
	}
	err = group.Wait()
	all = slices.Concat(told...)
	slices.SortStableFunc(all, func(a, b *eventsv1.Envelope) int {
		return cmp.Or(a.OccurredAt.AsTime().Compare(b.OccurredAt.AsTime()), a.RecordedAt.AsTime().Compare(b.RecordedAt.AsTime()))
	})
	return all, cmp.Or(missing...), err
}

// tell puts events into sentences, in their order.
func tell(t story.Teller, events []*eventsv1.Envelope) (out []happening) {
	for _, e := range events {
		h := happening{Time: e.OccurredAt, Text: t.Tell(e), Actor: t.Actor(e)}
		if e.RecordedAt != nil && e.RecordedAt.AsTime().Sub(e.OccurredAt.AsTime()) > late {
			h.Noted = e.RecordedAt
		}
		out = append(out, h)
	}
	return out
}

// latest are the last of what happened, the newest first, and whether there is more.
func latest(t story.Teller, all []*eventsv1.Envelope) ([]happening, bool) {
	last := tell(t, all[max(len(all)-shown, 0):])
	slices.Reverse(last)
	return last, len(all) > shown
}

// told is a page of all that happened, the first first.
type told struct {
	Piece      *intakev1.Piece
	Path       string
	Away       bands.Missing
	Happenings []happening
	Next       string // the address of the next page; empty: this is the last
}

func showStory(w http.ResponseWriter, a *web.Asked) error {
	p, err := find(a)
	if err != nil {
		return err
	}
	it := told{Piece: p, Path: pathOf(p)}
	all, away, err := eventsOf(a.Context(), a.Kit.Suite, p.Name)
	if err != nil {
		return err
	}
	r, err := a.Kit.Suite.Stages.ListStages(a.Context(), &workflowv1.ListStagesRequest{Piece: p.Name})
	if err := new(bands.Missing).Of(unless(err, "PIECE_NOT_FOUND")); err != nil {
		return err
	}
	it.Away = away
	from := min(pageFrom(a.URL.Query().Get("after")), len(all))
	if to := from + perPage; to < len(all) {
		it.Next = it.Path + "/story?after=" + strconv.Itoa(to)
		all = all[:to]
	}
	places, err := a.Kit.Suite.Stations.ListStations(a.Context(), &workflowv1.ListStationsRequest{})
	if err := new(bands.Missing).Of(err); err != nil {
		return err
	}
	it.Happenings = tell(story.New(a.Voice, p, r.GetStages()).At(places.GetStations()), all[from:])
	return a.Show(w, "story", a.Voice.T("piece.story.title", p.Tag, p.Title), it)
}

// pageFrom reads how many an address passes over; what is no number passes over none.
func pageFrom(text string) int {
	n, err := strconv.Atoi(text)
	if err != nil || n < 0 {
		return 0
	}
	return n
}
